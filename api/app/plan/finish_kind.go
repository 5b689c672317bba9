package plan

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/wear"
)

// limitsOfKind adds what the mill's own kind is judged by to the question of one
// stand: reduction, and the block it shares a drive with.
func (c *finishCheck) limitsOfKind(in *finish.Input) error {
	scope := practice.Resolve(c.practices, practice.Scope{Mill: c.mill.Name, Stand: in.Stand.Name, Role: mill.Work})
	in.MaxReductionPct = scope.Value(practice.MaxReductionPct)
	if in.Stand.DriveBlock == "" {
		return nil
	}
	in.Drive = &finish.Drive{Block: in.Stand.DriveBlock, TolerancePct: scope.Value(practice.DriveRatioTolerancePct)}
	all, err := port.Drain(func(p port.Page) ([]mill.Stand, string, error) { return c.r.Stands(c.mill.Name, p) })
	if err != nil {
		return err
	}
	var block []mill.Stand
	for _, s := range all {
		if s.DriveBlock == in.Stand.DriveBlock {
			block = append(block, s)
		}
	}
	for i, s := range block {
		if s.Name != in.Stand.Name {
			continue
		}
		for _, k := range []int{i - 1, i + 1} {
			if k >= 0 && k < len(block) {
				diameter, err := c.meanWorkDiameter(block[k].Name)
				if err != nil {
					return err
				}
				in.Drive.Neighbours = append(in.Drive.Neighbours, finish.Neighbour{Stand: block[k], DiameterMM: diameter})
			}
		}
	}
	return nil
}

// meanWorkDiameter is that of the work rolls in a stand, 0 where there are none.
func (c *finishCheck) meanWorkDiameter(stand string) (float64, error) {
	rows, ok := c.mounted[stand]
	if !ok {
		var err error
		if rows, err = c.r.MountingsAt([]string{stand}, c.now); err != nil {
			return 0, err
		}
	}
	sum, n := 0.0, 0.0
	for _, m := range rows {
		if m.Position.Role() == mill.Work {
			sum, n = sum+m.Diameter.MM(), n+1
		}
	}
	if n == 0 {
		return 0, nil
	}
	return sum / n, nil
}

// surface adds what a roll's grooves and surface are judged by. since is what it
// has borne since its last grind.
func (c *finishCheck) surface(one *finish.Roll, state roll.State, since duty.Usage, p practice.InForce) {
	one.SinceGrind = finish.SinceGrind{RolledKM: since.RolledKM, Pieces: float64(since.Pieces)}
	one.FireCrackUMPerPiece, one.MaxFireCrackUM = p.Value(practice.FireCrackUMPerPiece), p.Value(practice.MaxFireCrackUM)
	one.RoughnessLimitUM = p.Value(practice.RoughnessLimitUM)
	one.Roughness = wear.Roughness{StartUM: state.RoughnessUM, FloorUM: p.Number(practice.RoughnessFloorUM), ScaleKM: p.Number(practice.RoughnessScaleKM)}
	if one.RoughnessLimitUM.Set && (one.Roughness.StartUM == 0 || one.Roughness.ScaleKM == 0) {
		one.Unknowns = append(one.Unknowns, "its roughness cannot be followed without a reading after the grind and the practice's roughness_scale_km")
	}
	one.MaxGrooveT = p.Value(practice.MaxGrooveT)
	if !state.Roll.Grooved() {
		return
	}
	if since.Stated {
		one.Unknowns = append(one.Unknowns, "tonnes stated by hand are in none of its grooves")
	}
	one.GrooveT = make([]float64, len(state.Roll.Grooves))
	for _, g := range since.Grooves {
		if state.Roll.HasGroove(g.Number) {
			one.GrooveT[g.Number-1] = g.TonnageT
		}
	}
}
