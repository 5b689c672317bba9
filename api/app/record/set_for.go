package record

import (
	"cmp"
	"context"
	"slices"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/release"
)

// SetFor is a set held against a stand: whether a roll change with it would be
// recorded now, and why not.
type SetFor struct {
	gather.SetView
	Reasons []string // why it may not go in; none where it may
}

// SetsFor holds every standing set of a role and of the stand's mill against the
// rules by which a roll change is recorded. Those that may go in come first.
func (a *Recorder) SetsFor(ctx context.Context, standName string, role mill.Role) (list []SetFor, err error) {
	if err := a.planner.Learn(ctx); err != nil {
		return nil, err
	}
	err = a.store.Read(ctx, func(r port.Reader) error {
		list = nil
		stand, err := r.Stand(standName)
		if err != nil {
			return err
		}
		known, err := r.Settings()
		if err != nil {
			return err
		}
		for page := (port.Page{Limit: 500}); ; {
			rows, next, err := r.Sets(port.SetFilter{Role: role, Mill: stand.Mill}, page)
			if err != nil {
				return err
			}
			views, err := a.setViews(r, rows)
			if err != nil {
				return err
			}
			for _, v := range views {
				list = append(list, SetFor{SetView: v, Reasons: whyNot(v, stand, known.Practices)})
			}
			if page.After = next; next == "" {
				break
			}
		}
		slices.SortStableFunc(list, func(x, y SetFor) int {
			return cmp.Or(cmp.Compare(place(x, stand), place(y, stand)), cmp.Compare(x.Name, y.Name))
		})
		return nil
	})
	return list, err
}

// whyNot is nothing for a set with which a roll change would be recorded.
func whyNot(v gather.SetView, stand mill.Stand, practices []practice.Practice) []string {
	goesIn, isOut := maySetGoIn(v, stand, practices), released(v)
	switch {
	case goesIn == nil && isOut == nil:
		return nil
	case v.Stand != "":
		return []string{"it is in " + v.Stand}
	case gather.Misfit(v, stand) != "":
		return []string{"it " + gather.Misfit(v, stand)}
	case isOut != nil && v.Fitness.Word == release.NotReleased:
		return v.Fitness.MissingReasons
	case isOut != nil:
		return v.Fitness.Reasons
	}
	return []string{goesIn.Error()}
}

// place is where a set stands in the list: what may go in, what could after
// something is done, what does not belong in the stand.
func place(f SetFor, stand mill.Stand) int {
	switch {
	case len(f.Reasons) == 0:
		return 0
	case f.Stand == "" && gather.Misfit(f.SetView, stand) == "":
		return 1
	}
	return 2
}
