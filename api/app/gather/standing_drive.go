package gather

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/standing"
)

// Drive is the block of stands that a stand shares its motor with, nil where it
// has one of its own.
func (g *Standing) Drive(stand mill.Stand) (*standing.Drive, error) {
	if stand.DriveBlock == "" {
		return nil, nil
	}
	drive := &standing.Drive{Block: stand.DriveBlock}
	all, err := port.Drain(func(p port.Page) ([]mill.Stand, string, error) { return g.r.Stands(g.mill.Name, p) })
	if err != nil {
		return nil, err
	}
	var block []mill.Stand
	for _, s := range all {
		if s.DriveBlock == stand.DriveBlock {
			block = append(block, s)
		}
	}
	for i, s := range block {
		if s.Name != stand.Name {
			continue
		}
		for _, k := range []int{i - 1, i + 1} {
			if k >= 0 && k < len(block) {
				diameter, err := g.meanWorkDiameter(block[k].Name)
				if err != nil {
					return nil, err
				}
				drive.Neighbours = append(drive.Neighbours, standing.Neighbour{Stand: block[k], DiameterMM: diameter})
			}
		}
	}
	return drive, nil
}

// meanWorkDiameter is that of the work rolls in a stand, 0 where there are none.
func (g *Standing) meanWorkDiameter(stand string) (float64, error) {
	rows, ok := g.Mounted[stand]
	if !ok {
		var err error
		if rows, err = g.r.MountingsAt([]string{stand}, g.standing()); err != nil {
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
