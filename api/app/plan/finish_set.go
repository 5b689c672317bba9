package plan

import (
	"fmt"
	"sort"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// inPlace is the set of a role asked about: the one named, or the one in the
// stand.
func (c *finishCheck) inPlace(stand mill.Stand, role mill.Role) (finish.Set, error) {
	if !stand.Arrangement.Takes(role) {
		return finish.Set{}, nil
	}
	var mounted []port.MountingRow
	for _, m := range c.mounted[stand.Name] {
		if m.Position.Role() == role {
			mounted = append(mounted, m)
		}
	}
	if c.with != nil && c.with.Role == role && (len(mounted) == 0 || mounted[0].Set != c.with.Name) {
		return c.setOutside(*c.with, stand)
	}
	if len(mounted) == 0 {
		return finish.Set{Role: role}, nil
	}
	sort.Slice(mounted, func(i, j int) bool { return mounted[i].Position > mounted[j].Position }) // top_… before bottom_…
	set := finish.Set{Name: mounted[0].Set, Role: role, Mounted: true}
	return set, c.fill(&set, stand, mounted)
}

// setOutside is a set that is not in the stand, as it would be there.
func (c *finishCheck) setOutside(row port.SetRow, stand mill.Stand) (finish.Set, error) {
	set := finish.Set{Name: row.Name, Role: row.Role}
	rows := make([]port.MountingRow, 0, 2)
	for i, number := range []string{row.Top, row.Bottom} {
		state := c.rows[number]
		if state.Stage == roll.StageMounted {
			set.Blocks = append(set.Blocks, finish.Block{Why: fmt.Sprintf("set %s is in %s", row.Name, state.Stand)})
		}
		rows = append(rows, port.MountingRow{Roll: number, Stand: stand.Name, Position: gather.PositionOf(row.Role, i == 0), Set: row.Name, Diameter: state.Diameter})
	}
	if len(set.Blocks) == 2 {
		set.Blocks = set.Blocks[:1]
	}
	return set, c.fill(&set, stand, rows)
}

// fill completes a set from its rolls' mountings, made up where it is outside.
func (c *finishCheck) fill(set *finish.Set, stand mill.Stand, rows []port.MountingRow) error {
	for _, m := range rows {
		one, err := c.roll(m, stand)
		if err != nil {
			return err
		}
		state := c.rows[m.Roll]
		p := practice.Resolve(c.practices, gather.CaseIn(state, stand))
		blocks, unknowns, err := c.blocks(state)
		if err != nil {
			return err
		}
		one.Unknowns = append(one.Unknowns, unknowns...)
		set.Rolls = append(set.Rolls, one)
		set.Blocks = append(set.Blocks, blocks...)
		set.PairTolerance = p.Value(practice.PairToleranceUM)
		set.Costs = finish.Costs{Stop: p.Number(practice.StopCost), PlannedStop: p.Number(practice.PlannedStopCost), Change: p.Number(practice.ChangeCost)}
		if p.Value(practice.MaxCampaignKM).Set {
			set.Costs.UnusedPerKM = p.Number(practice.UnusedKMCost)
		}
	}
	if len(rows) == 2 {
		a, b := c.rows[rows[0].Roll], c.rows[rows[1].Roll]
		set.MismatchUM = float64(roll.Mismatch(a, b))
	}
	return nil
}

// roll is one roll with its limits at the stand.
func (c *finishCheck) roll(m port.MountingRow, stand mill.Stand) (finish.Roll, error) {
	state := c.rows[m.Roll]
	grade, err := c.grade(state.Roll.Grade)
	if err != nil {
		return finish.Roll{}, err
	}
	p := practice.Resolve(c.practices, gather.CaseIn(state, stand))
	rate := c.rate(state, stand, p)
	one := finish.Roll{Roll: gather.DutyRoll(state, m, grade, p), Campaign: m.Usage,
		SharedCV: rate.SharedCV, OwnCV: rate.OwnCV, RateSource: rate.Source,
		MaxCampaignT: p.Value(practice.MaxCampaignT), MaxCampaignKM: p.Value(practice.MaxCampaignKM),
		MaxWearUM: p.Value(practice.MaxWearUM), MaxPeakPressureMPa: p.Value(practice.MaxPeakPressureMPa),
		NormalStockMM: p.Value(practice.NormalStockMM), Unknowns: rollUnknowns(state, p)}
	var scrap quantity.Micrometre
	scrap, one.ScrapLimit = state.ScrapLimit()
	one.ScrapDiameterMM = scrap.MM()
	since, err := c.sinceGrind(state, m)
	if err != nil {
		return finish.Roll{}, err
	}
	c.surface(&one, state, since, p)
	c.inside(&one, state, grade, stand, p)
	worn := since.WearUM
	// Wear was booked at the practice's rate; a better one holds for it as well.
	scale := 1.0
	if booked := one.Rate.UmPerKmAt10; booked > 0 {
		scale = rate.UMPerKM / booked
	}
	for i := range worn {
		worn[i] *= scale
	}
	one.WornUM, one.Rate.UmPerKmAt10 = worn, rate.UMPerKM
	return one, nil
}

// inside is what the models start from: the roll as a beam, its heat and its
// fatigue.
func (c *finishCheck) inside(one *finish.Roll, state roll.State, grade port.Grade, stand mill.Stand, p practice.InForce) {
	one.Condition = gather.ConditionOf(state, grade, nil, p)
	if c.damage == nil {
		return
	}
	one.MaxDamage = p.Value(practice.MaxDamage)
	row := c.damage[state.Roll.Number]
	if row == nil {
		return
	}
	one.Damage = &row.Field
	if state.Stage != roll.StageMounted || state.Stand != stand.Name || row.ThermalAt.IsZero() {
		return
	}
	models, err := c.models.Of(c.mill, stand, c.practices)
	if err != nil {
		return // the question of the stand fails on it
	}
	one.Condition.Thermal = gather.CooledTo(c.startsAt, row, state, models)
}

// sinceGrind is what a roll has borne since its last grind: in this mounting
// and, where a roll goes back without a grind, in those before.
func (c *finishCheck) sinceGrind(state roll.State, m port.MountingRow) (duty.Usage, error) {
	var since duty.Usage
	since.Add(m.Usage)
	if state.CampaignsSinceGrind == 0 {
		return since, nil
	}
	rows, _, err := c.r.Mountings(state.Roll.Number, port.Page{Limit: state.CampaignsSinceGrind + 1})
	if err != nil {
		return duty.Usage{}, err
	}
	for _, before := range rows {
		if before.ID != m.ID && !before.MountedAt.Before(state.GroundAt) && !before.WithdrawnAt.IsZero() && !before.WithdrawnAt.After(c.now) {
			since.Add(before.Usage)
		}
	}
	return since, nil
}

func (c *finishCheck) grade(name string) (port.Grade, error) {
	if g, ok := c.grades[name]; ok {
		return g, nil
	}
	g, err := c.r.Grade(name)
	c.grades[name] = g
	return g, err
}

// rollUnknowns names measurements that the book does not have. None is assumed.
func rollUnknowns(s roll.State, p practice.InForce) []string {
	var list []string
	if s.Hardness == 0 {
		list = append(list, "no hardness reading")
	}
	if (p.Value(practice.RoughnessMinUM).Set || p.Value(practice.RoughnessMaxUM).Set) && s.RoughnessUM == 0 {
		list = append(list, "no roughness reading")
	}
	return list
}

// blocks is what keeps a roll from running: of one in the shop everything that
// keeps it from being released, of one in the stand a hold, a failed test or one
// owed after a mishap. What of a mounted roll was not looked at is an unknown.
func (c *finishCheck) blocks(s roll.State) (blocks []finish.Block, unknowns []string, err error) {
	v, err := c.releases.Judge(s, nil, c.startsAt)
	if err != nil {
		return nil, nil, err
	}
	if s.Stage == roll.StageMounted {
		for _, missing := range v.MissingReasons {
			unknowns = append(unknowns, "not released: "+missing)
		}
		return bookBlocks(s), unknowns, nil
	}
	if v.MayGoIn() {
		return nil, nil, nil
	}
	owed := map[string]bool{}
	for _, o := range s.Owed {
		owed[o.Sentence()] = true
	}
	for _, reason := range v.Reasons {
		blocks = append(blocks, finish.Block{Why: s.Roll.Number + ": " + reason, ByTest: owed[reason]})
	}
	return blocks, nil, nil
}

// bookBlocks is what bars a roll from running, mounted or not: a hold, a test
// that failed, a test that is owed.
func bookBlocks(s roll.State) (list []finish.Block) {
	number := s.Roll.Number
	if s.HeldFor != "" {
		list = append(list, finish.Block{Why: fmt.Sprintf("%s is held: %s", number, s.HeldFor)})
	}
	for _, f := range s.Failed {
		list = append(list, finish.Block{Why: fmt.Sprintf("%s: the %s test failed on %s", number, f.Kind.Words(), port.Moment(f.At))})
	}
	for _, o := range s.Owed {
		if o.Due {
			list = append(list, finish.Block{Why: number + ": " + o.Sentence(), ByTest: true})
		}
	}
	return list
}
