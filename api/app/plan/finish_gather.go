package plan

import (
	"fmt"
	"math"
	"sort"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
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
	models    *gather.Models
	r         port.Reader
	in        FinishInput
	now       time.Time // the moment the answer holds for
	startsAt  time.Time // when the first piece asked about is rolled
	campaign  port.CampaignRow
	mill      mill.Mill
	stands    []mill.Stand
	practices []practice.Practice
	releases  *gather.Shop
	grades    map[string]port.Grade
	rate      func(roll.State, mill.Stand, practice.InForce) learn.WearRate

	mounted map[string][]port.MountingRow // by stand
	rows    map[string]roll.State         // by roll, as of now
	damage  map[string]*port.DamageRow    // by roll; nil as of a past moment
	with    *port.SetRow                  // the set named
	shop    []port.SetRow                 // sets out of the stands, by name
}

// gather reads the sets and rolls.
func (c *finishCheck) gather() error {
	c.startsAt = c.campaign.PieceTime(c.in.FromPiece)
	if c.startsAt.Before(c.now) {
		c.startsAt = c.now
	}
	names := make([]string, len(c.stands))
	for i, s := range c.stands {
		names[i] = s.Name
	}
	mountings, err := c.r.MountingsAt(names, c.now)
	if err != nil {
		return err
	}
	c.mounted = map[string][]port.MountingRow{}
	var numbers []string
	for _, m := range mountings {
		if m.MountedAt.After(c.now) {
			continue
		}
		c.mounted[m.Stand] = append(c.mounted[m.Stand], m)
		numbers = append(numbers, m.Roll)
	}
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
		if !s.BuiltAt.After(c.now) {
			c.shop = append(c.shop, s)
			numbers = append(numbers, s.Top, s.Bottom)
		}
	}
	if err := c.readRolls(numbers); err != nil {
		return err
	}
	if !c.in.AsOf.IsZero() {
		if err := c.usageAsOf(); err != nil {
			return err
		}
	}
	return c.placeSet()
}

// readRolls reads the states of the rolls at the moment of the answer.
func (c *finishCheck) readRolls(numbers []string) error {
	c.rows = map[string]roll.State{}
	sort.Strings(numbers)
	rows, err := c.r.RollsByNumber(numbers)
	if err != nil {
		return err
	}
	for _, row := range rows {
		state := row.State
		if !c.in.AsOf.IsZero() {
			if state, err = c.stateAsOf(row.State.Roll.Number); err != nil {
				return err
			}
		}
		c.rows[row.State.Roll.Number] = state
	}
	if c.in.AsOf.IsZero() {
		c.damage, err = gather.ReadDamage(c.r, rows)
	}
	return err
}

// placeSet finds the stand for the set named, or refuses it.
func (c *finishCheck) placeSet() error {
	if c.with == nil {
		return nil
	}
	if !c.with.BrokenAt.IsZero() && !c.with.BrokenAt.After(c.now) {
		return port.FailNext(next.ListSets(), port.Conflicting, "set %s was broken on %s; see the sets that there are", c.with.Name, port.Moment(c.with.BrokenAt))
	}
	view := gather.SetView{SetRow: *c.with, TopState: c.rows[c.with.Top], BottomState: c.rows[c.with.Bottom]}
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
	in := finish.Input{Stand: stand, DensityKGPerM3: c.mill.Density(), Pieces: c.campaign.Pieces, FromPiece: c.in.FromPiece, Stops: c.campaign.Stops, Explain: c.in.Explain}
	scope := practice.Resolve(c.practices, practice.Scope{Mill: c.mill.Name, Stand: stand.Name, Role: mill.Work})
	in.LengthCV, in.ForceCV = scope.Number(practice.LengthCV), scope.Number(practice.ForceCV)
	models, err := c.models.Of(c.mill, stand, c.practices)
	if err != nil {
		return in, err
	}
	models.Forecast = true
	if c.damage == nil {
		models.Kernel = nil
	}
	in.Models, in.MinutesPerPiece, in.LeastMargin = &models, c.campaign.MinutesPerPiece, scope.Value(practice.OverloadMarginMin)
	in.YesFrom, in.NoBelow = scope.Number(practice.FinishYesProbability), scope.Number(practice.FinishNoProbability)
	if in.Work, err = c.inPlace(stand, mill.Work); err != nil {
		return in, err
	}
	if in.Backup, err = c.inPlace(stand, mill.Backup); err != nil {
		return in, err
	}
	if err = c.limitsOfKind(&in); err != nil {
		return in, err
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
		view := gather.SetView{SetRow: row, TopState: c.rows[row.Top], BottomState: c.rows[row.Bottom]}
		if count[row.Role] == candidatesTried || (c.with != nil && row.Name == c.with.Name) || view.TopState.Stage == roll.StageMounted || gather.Misfit(view, stand) != "" {
			continue
		}
		if view.TopState.Set != row.Name || view.BottomState.Set != row.Name {
			continue // not yet built at that moment
		}
		tolerance := practice.Resolve(c.practices, gather.CaseIn(view.TopState, stand)).Micrometres(practice.PairToleranceUM)
		if roll.WithinTolerance(view.TopState, view.BottomState, tolerance) != nil {
			continue
		}
		set, err := c.setOutside(row, stand)
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
	if n := len(c.rows[row.Top].Stands); n > 0 {
		return n
	}
	return math.MaxInt
}
