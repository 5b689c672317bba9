package gather

import (
	"barrelbook/api/app/port"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/wear"
)

// GrooveState is a groove of a roll and what it has borne since all grooves
// were turned last.
type GrooveState struct {
	roll.Groove
	Borne wear.Groove
	Limit practice.Value // tonnes, by the practice
}

// GroovesOf gives what each groove has borne since all were turned last, nil
// for a plain barrel. It is the sum over the roll's mountings since its last
// grind, so that pieces that come late count where they belong.
func GroovesOf(r port.Reader, s roll.State) ([]wear.Groove, error) {
	if !s.Roll.Grooved() {
		return nil, nil
	}
	stays, err := StaysSinceGrind(r, s)
	if err != nil {
		return nil, err
	}
	grooves := make([]wear.Groove, len(s.Roll.Grooves))
	for _, m := range stays {
		for _, g := range m.Usage.Grooves {
			if s.Roll.HasGroove(g.Number) {
				grooves[g.Number-1].Tonnes += g.TonnageT
				grooves[g.Number-1].WornUM += g.WornUM
			}
		}
	}
	return grooves, nil
}

// GrooveStates gives the grooves of a roll with what they have borne and their
// limit, none for a plain barrel.
func GrooveStates(r port.Reader, s roll.State, p practice.InForce) ([]GrooveState, error) {
	borne, err := GroovesOf(r, s)
	if err != nil {
		return nil, err
	}
	states := make([]GrooveState, len(borne))
	for i, g := range borne {
		states[i] = GrooveState{Groove: s.Roll.Grooves[i], Borne: g, Limit: p.Value(practice.MaxGrooveT)}
	}
	return states, nil
}

// GrooveWorn is the deepest wear of a groove in whole micrometres, rounded up;
// 0 for a plain barrel.
func GrooveWorn(r port.Reader, s roll.State) (quantity.Micrometre, error) {
	grooves, err := GroovesOf(r, s)
	if err != nil || len(grooves) == 0 {
		return 0, err
	}
	return wear.LeastRedress(grooves, 0)
}

func depthsOf(grooves []roll.Groove) []float64 {
	var depths []float64
	for _, g := range grooves {
		depths = append(depths, g.Depth.MM())
	}
	return depths
}
