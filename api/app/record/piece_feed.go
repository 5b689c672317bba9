package record

import (
	"slices"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
)

// eachPiece gives the pieces of mills that were rolled in one of the mill's
// spans, all by time.
func eachPiece(r port.Reader, byMill map[string][]span, do func(mill.Piece) error) error {
	var feeds []*feed
	for name, spans := range byMill {
		f := &feed{r: r, mill: name, spans: joined(spans)}
		if err := f.fill(); err != nil {
			return err
		}
		feeds = append(feeds, f)
	}
	for {
		var first *feed
		for _, f := range feeds {
			if len(f.pieces) > 0 && (first == nil || f.pieces[0].RolledAt.Before(first.pieces[0].RolledAt)) {
				first = f
			}
		}
		if first == nil {
			return nil
		}
		if err := do(first.pieces[0]); err != nil {
			return err
		}
		first.pieces = first.pieces[1:]
		if err := first.fill(); err != nil {
			return err
		}
	}
}

// joined are the spans of a mill as times that do not overlap, oldest first.
func joined(spans []span) []span {
	slices.SortFunc(spans, func(x, y span) int { return x.from.Compare(y.from) })
	var list []span
	for _, s := range spans {
		if n := len(list); n > 0 && (list[n-1].until.IsZero() || !s.from.After(list[n-1].until)) {
			list[n-1].until = later(list[n-1].until, s.until)
			continue
		}
		list = append(list, s)
	}
	return list
}

// feed reads the pieces of one mill page by page.
type feed struct {
	r      port.Reader
	mill   string
	spans  []span
	after  string
	pieces []mill.Piece
}

func (f *feed) fill() error {
	for len(f.pieces) == 0 && len(f.spans) > 0 {
		var err error
		f.pieces, f.after, err = f.r.PiecesBetween(f.mill, f.spans[0].from, f.spans[0].until, port.Page{Limit: 1000, After: f.after})
		if err != nil {
			return err
		}
		if f.after == "" {
			f.spans = f.spans[1:]
		}
	}
	return nil
}
