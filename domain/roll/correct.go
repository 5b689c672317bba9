package roll

import (
	"fmt"
	"slices"

	"barrelbook/domain/next"
)

// Effective is the book with its corrections applied, in the order in which
// things happened. Things of the same moment keep the order of writing. What a
// correction put in the place of an entry has the number and the time of writing
// of the correction: it is the one to correct next, and what it says was not
// known before.
func Effective(entries []Entry) ([]Entry, error) {
	lines := make([]line, len(entries))
	for i, e := range entries {
		if e.Number != int64(i)+1 {
			return nil, fmt.Errorf("roll %s: entry %d of the book is missing", e.Roll, i+1)
		}
		c, ok := e.Body.(Corrected)
		if !ok {
			lines[i] = line{stands: e, first: i}
			continue
		}
		if c.Entry < 1 || c.Entry >= e.Number {
			return nil, conflict(0, State{}, e, fmt.Sprintf("a correction names entry %d, which is not in the book before it", c.Entry), "see the book", next.ShowBook(e.Roll))
		}
		first := lines[c.Entry-1].first
		corrected, err := lines[first].correct(e, c)
		if err != nil {
			return nil, err
		}
		lines[first], lines[i].first = corrected, first
	}
	effective := make([]Entry, 0, len(entries))
	for i, l := range lines {
		if l.first == i && l.stands.Body != nil {
			effective = append(effective, l.stands)
		}
	}
	byMoment := func(a, b Entry) int { return a.At.Compare(b.At) }
	if !slices.IsSortedFunc(effective, byMoment) {
		slices.SortStableFunc(effective, byMoment)
	}
	return effective, nil
}

// line is a place of the book: what stands there now, without a body when it
// was withdrawn, and the index of the entry that it began with.
type line struct {
	stands Entry
	first  int
}

// correct gives the line after one more correction.
func (l line) correct(e Entry, c Corrected) (line, error) {
	kind := l.kind()
	switch {
	case l.stands.Number != c.Entry:
		return l, conflict(l.stands.Number, State{}, e, fmt.Sprintf("entry %d has been corrected already", c.Entry), fmt.Sprintf("correct entry %d instead", l.stands.Number))
	case l.stands.Body == nil:
		return l, conflict(c.Entry, State{}, e, fmt.Sprintf("entry %d withdrew another one", c.Entry), "record that again as a new entry")
	case c.With == nil && kind == KindReceived:
		return l, conflict(c.Entry, State{}, e, "the receipt opens the book and cannot be withdrawn", "scrap the roll, or receive it under the right number")
	case c.With != nil && c.With.Kind() != kind:
		return l, conflict(c.Entry, State{}, e, fmt.Sprintf("entry %d is %q and cannot be replaced by %q", c.Entry, kind, c.With.Kind()), "withdraw it, and record what happened as a new entry")
	}
	if err := reasoned(State{}, e); err != nil {
		return l, err
	}
	l.stands.Number, l.stands.RecordedAt, l.stands.Body = e.Number, e.RecordedAt, c.With
	if !c.At.IsZero() {
		l.stands.At = c.At
	}
	return l, nil
}

func (l line) kind() Kind {
	if l.stands.Body == nil {
		return KindCorrected
	}
	return l.stands.Body.Kind()
}
