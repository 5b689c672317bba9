package learn

import (
	"fmt"
	"math"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/offplan"
)

const (
	// programmesKept is how many of the last programmes say how the next is rolled.
	programmesKept = 24
	// overAfter is how long after its planned end a programme is taken for over: late
	// pieces are in by then.
	overAfter = 12 * time.Hour
)

// compared is a programme against what was rolled of it.
type compared struct {
	campaigns []offplan.Campaign
	over      bool
}

// OffPlan is how the next programme at each stand of a mill will be rolled beside
// what it says, from the last that were up to a moment. What programmes that are
// over say is kept: an answer reads no more than what is still under way.
func (l *Learner) OffPlan(r port.Reader, m mill.Mill, now time.Time, prior offplan.Prior) (map[string]offplan.Expected, error) {
	page := port.Page{Limit: programmesKept}
	var names []port.ProgrammeSummary
	for len(names) < programmesKept {
		list, next, err := r.Campaigns(m.Name, page)
		if err != nil {
			return nil, err
		}
		for _, c := range list {
			if !c.StartsAt.After(now) {
				names = append(names, c)
			}
		}
		if page.After = next; next == "" {
			break
		}
	}
	var all []offplan.Campaign
	for _, c := range names[:min(len(names), programmesKept)] {
		one, err := l.comparedTo(r, m, c, now)
		if err != nil {
			return nil, err
		}
		all = append(all, one...)
	}
	return offplan.Expect(all, prior), nil
}

func (l *Learner) comparedTo(r port.Reader, m mill.Mill, c port.ProgrammeSummary, now time.Time) ([]offplan.Campaign, error) {
	l.programmes.Lock()
	kept, known := l.programmes.of[c.Name]
	l.programmes.Unlock()
	if known && kept.over {
		return kept.campaigns, nil
	}
	whole, err := r.Campaign(c.Name)
	if err != nil {
		return nil, err
	}
	ends := whole.PieceTime(len(whole.Pieces) + 1).Add(overAfter)
	until := ends
	if until.After(now) {
		until = now.Add(time.Microsecond)
	}
	rolled, err := port.Drain(func(p port.Page) ([]mill.Piece, string, error) {
		return r.PiecesBetween(m.Name, c.StartsAt.Add(-time.Hour), until, p)
	})
	if err != nil {
		return nil, err
	}
	kept = compared{offplan.Compare(whole.Programme, rolled, m.Density()), now.After(ends)}
	if kept.over {
		l.programmes.Lock()
		defer l.programmes.Unlock()
		if len(l.programmes.of) > 20*programmesKept {
			clear(l.programmes.of) // of mills and moments that nobody asks about any more
		}
		l.programmes.of[c.Name] = kept
	}
	return kept.campaigns, nil
}

// OffPlanWords say what a stand's answers take its programmes for.
func OffPlanWords(stand string, e offplan.Expected) string {
	percent := func(f float64) string { return fmt.Sprintf("%+.1f %%", 100*(f-1)) }
	return fmt.Sprintf("%s: of what a programme says, lengths are taken %s ± %.1f %% (%.1f %% of the pieces are not rolled) and forces %s ± %.1f %%, as in its last %d programmes",
		stand, percent(e.Length), 100*math.Abs(e.LengthCV), 100*e.Left, percent(e.Force), 100*e.ForceCV, e.Campaigns)
}
