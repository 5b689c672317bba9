package plan

import (
	"fmt"
	"math"
	"sort"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// candidatesTried is how many ready sets of a role are tried per stand.
const candidatesTried = 6

// finishCheck gathers what a finish check needs from the store.
type finishCheck struct {
	*gather.Standing
	ahead    ahead
	rates    port.WearRates
	r        port.Reader
	in       FinishInput
	campaign port.ProgrammeRow
	mill     mill.Mill
	stands   []mill.Stand
	with     *port.SetRow  // the set named
	shop     []port.SetRow // sets out of the stands, by name
}

// gather reads the sets and rolls.
func (c *finishCheck) gather() error {
	if at := c.campaign.PieceTime(c.in.FromPiece); at.After(c.Now) {
		c.StartsAt = at
	}
	var numbers []string
	if c.in.WithSet != "" {
		row, err := c.r.Set(c.in.WithSet)
		if err != nil {
			return err
		}
		c.with = &row
		numbers = append(numbers, row.Top, row.Bottom)
	}
	sets, err := port.Drain(func(p port.Page) ([]port.SetRow, string, error) {
		return c.r.Sets(port.SetFilter{Mill: c.mill.Name}, p)
	})
	if err != nil {
		return err
	}
	for _, s := range sets {
		if !s.BuiltAt.After(c.Now) {
			c.shop = append(c.shop, s)
			numbers = append(numbers, s.Top, s.Bottom)
		}
	}
	if err := c.Read(c.stands, numbers...); err != nil {
		return err
	}
	return c.placeSet()
}

// placeSet finds the stand for the set named, or refuses it.
func (c *finishCheck) placeSet() error {
	if c.with == nil {
		return nil
	}
	if !c.with.BrokenAt.IsZero() && !c.with.BrokenAt.After(c.Now) {
		return port.FailNext(next.ListSets(), port.Conflicting, "set %s was broken on %s; see the sets that there are", c.with.Name, port.Moment(c.with.BrokenAt))
	}
	view := gather.SetView{SetRow: *c.with, TopState: c.States[c.with.Top], BottomState: c.States[c.with.Bottom]}
	var serves []mill.Stand
	why := "does not serve any stand of mill " + c.mill.Name
	for _, s := range c.stands {
		if wrong := gather.Misfit(view, s); wrong == "" {
			serves = append(serves, s)
		} else if c.in.Stand != "" {
			why = wrong
		}
	}
	switch {
	case len(serves) == 0:
		return port.Refused(refusal.One("with_set", c.with.Name, why, "see the sets that are ready", next.ListReadySets()))
	case len(serves) > 1:
		return port.Refused(refusal.One("stand", "", fmt.Sprintf("is needed: set %s serves %s and others", c.with.Name, serves[0].Name), "name the stand the set would go in"))
	}
	c.stands = serves
	return nil
}

// input states the question for one stand.
func (c *finishCheck) input(stand mill.Stand) (finish.Input, error) {
	in, err := c.ahead.question(c.Standing, c.mill, stand, c.campaign)
	if err != nil {
		return in, err
	}
	in.FromPiece, in.Explain, in.Course = c.in.FromPiece, c.in.Explain, c.in.Course
	if c.with != nil {
		if place := map[mill.Role]*finish.Set{mill.Work: &in.Work, mill.Intermediate: &in.Intermediate, mill.Backup: &in.Backup}[c.with.Role]; place != nil && place.Name != c.with.Name {
			if *place, err = c.Outside(*c.with, stand); err != nil {
				return in, err
			}
		}
	}
	in.Candidates, err = c.candidates(stand)
	return in, err
}

// candidates are ready sets that serve the stand, those that serve the fewest
// stands first, so that a set good for many is kept.
func (c *finishCheck) candidates(stand mill.Stand) ([]finish.Set, error) {
	var list []finish.Set
	count := map[mill.Role]int{}
	shop := append([]port.SetRow(nil), c.shop...)
	sort.SliceStable(shop, func(i, j int) bool { return c.serves(shop[i]) < c.serves(shop[j]) })
	for _, row := range shop {
		view := gather.SetView{SetRow: row, TopState: c.States[row.Top], BottomState: c.States[row.Bottom]}
		if count[row.Role] == candidatesTried || (c.with != nil && row.Name == c.with.Name) || view.TopState.Stage == roll.StageMounted || gather.Misfit(view, stand) != "" {
			continue
		}
		if view.TopState.Set != row.Name || view.BottomState.Set != row.Name {
			continue // not yet built at that moment
		}
		tolerance := practice.Resolve(c.Practices, gather.CaseIn(view.TopState, stand)).Micrometres(practice.PairToleranceUM)
		if roll.WithinTolerance(view.TopState, view.BottomState, tolerance) != nil {
			continue
		}
		set, err := c.Outside(row, stand)
		if err != nil {
			return nil, err
		}
		if len(set.Blocks) > 0 {
			continue
		}
		count[row.Role]++
		list = append(list, set)
	}
	return list, nil
}

// serves is how many stands a set may go in; those open to all count most.
func (c *finishCheck) serves(row port.SetRow) int {
	if n := len(c.States[row.Top].Stands); n > 0 {
		return n
	}
	return math.MaxInt
}
