package gather

import (
	"fmt"
	"sort"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/standing"
)

// InPlace is the set of a role in a stand, without rolls where it is empty.
func (g *Standing) InPlace(stand mill.Stand, role mill.Role) (standing.Set, error) {
	if !stand.Arrangement.Takes(role) {
		return standing.Set{}, nil
	}
	var mounted []port.Stay
	for _, m := range g.Mounted[stand.Name] {
		if m.Position.Role() == role {
			mounted = append(mounted, m)
		}
	}
	if len(mounted) == 0 {
		return standing.Set{Role: role}, nil
	}
	sort.Slice(mounted, func(i, j int) bool { return mounted[i].Position > mounted[j].Position }) // top_… before bottom_…
	set := standing.Set{Name: mounted[0].Set, Role: role, Mounted: true}
	return set, g.fill(&set, stand, mounted)
}

// Outside is a set that is not in the stand, as it would be there.
func (g *Standing) Outside(row port.SetRow, stand mill.Stand) (standing.Set, error) {
	set := standing.Set{Name: row.Name, Role: row.Role}
	rows := make([]port.Stay, 0, 2)
	for i, number := range []string{row.Top, row.Bottom} {
		state := g.States[number]
		if state.Stage == roll.StageMounted {
			set.Blocks = append(set.Blocks, standing.Block{Why: fmt.Sprintf("set %s is in %s", row.Name, state.Stand)})
		}
		rows = append(rows, port.Stay{Roll: number, Stand: stand.Name, Position: PositionOf(row.Role, i == 0), Set: row.Name, Diameter: state.Diameter})
	}
	if len(set.Blocks) == 2 {
		set.Blocks = set.Blocks[:1]
	}
	return set, g.fill(&set, stand, rows)
}

// fill completes a set from its rolls' mountings, made up where it is outside.
func (g *Standing) fill(set *standing.Set, stand mill.Stand, rows []port.Stay) error {
	for _, m := range rows {
		one, err := g.Roll(m, stand)
		if err != nil {
			return err
		}
		set.Rolls = append(set.Rolls, one)
		state := g.States[m.Roll]
		p := practice.Resolve(g.Practices, CaseIn(state, stand))
		blocks, unknowns, err := g.blocks(state)
		if err != nil {
			return err
		}
		set.Blocks = append(set.Blocks, blocks...)
		last := &set.Rolls[len(set.Rolls)-1]
		last.Unknowns = append(last.Unknowns, unknowns...)
		set.Costs = standing.Costs{Stop: p.Number(practice.StopCost), PlannedStop: p.Number(practice.PlannedStopCost), Change: p.Number(practice.ChangeCost)}
		if p.Value(practice.MaxCampaignKM).Set {
			set.Costs.UnusedPerKM = p.Number(practice.UnusedKMCost)
		}
	}
	if len(rows) == 2 {
		a, b := g.States[rows[0].Roll], g.States[rows[1].Roll]
		set.MismatchUM = float64(roll.Mismatch(a, b))
	}
	return nil
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
func (g *Standing) blocks(s roll.State) (blocks []standing.Block, unknowns []string, err error) {
	v, err := g.Judge(s, nil, g.StartsAt)
	if err != nil {
		return nil, nil, err
	}
	if s.Stage == roll.StageMounted {
		for _, missing := range v.MissingReasons {
			unknowns = append(unknowns, "not released: "+missing)
		}
		return BookBlocks(s), unknowns, nil
	}
	if v.MayGoIn() {
		return nil, nil, nil
	}
	owed := map[string]bool{}
	for _, o := range s.Owed {
		owed[o.Sentence()] = true
	}
	for _, reason := range v.Reasons {
		blocks = append(blocks, standing.Block{Why: s.Roll.Number + ": " + reason, ByTest: owed[reason]})
	}
	return blocks, nil, nil
}

// BookBlocks is what bars a roll from running, mounted or not: a hold, a test
// that failed, a test that is owed.
func BookBlocks(s roll.State) (list []standing.Block) {
	number := s.Roll.Number
	if s.HeldFor != "" {
		list = append(list, standing.Block{Why: fmt.Sprintf("%s is held: %s", number, s.HeldFor)})
	}
	for _, f := range s.Failed {
		list = append(list, standing.Block{Why: fmt.Sprintf("%s: the %s test failed on %s", number, f.Kind.Words(), port.Moment(f.At))})
	}
	for _, o := range s.Owed {
		if o.Due {
			list = append(list, standing.Block{Why: number + ": " + o.Sentence(), ByTest: true})
		}
	}
	return list
}
