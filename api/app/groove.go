package app

import (
	"fmt"
	"math"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
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

// groovesOf gives what each groove has borne since all were turned last, nil
// for a plain barrel. It is the sum over the roll's mountings since its last
// grind, so that pieces that come late count where they belong.
func groovesOf(r Reader, s roll.State) ([]wear.Groove, error) {
	if !s.Roll.Grooved() {
		return nil, nil
	}
	stretches, err := stretchesSinceGrind(r, s)
	if err != nil {
		return nil, err
	}
	grooves := make([]wear.Groove, len(s.Roll.Grooves))
	for _, m := range stretches {
		for _, g := range m.Usage.Grooves {
			if s.Roll.HasGroove(g.Number) {
				grooves[g.Number-1].Tonnes += g.TonnageT
				grooves[g.Number-1].WornUM += g.WornUM
			}
		}
	}
	return grooves, nil
}

func grooveStates(r Reader, s roll.State, p practice.InForce) ([]GrooveState, error) {
	borne, err := groovesOf(r, s)
	if err != nil {
		return nil, err
	}
	states := make([]GrooveState, len(borne))
	for i, g := range borne {
		states[i] = GrooveState{Groove: s.Roll.Grooves[i], Borne: g, Limit: p.Value(practice.MaxGrooveT)}
	}
	return states, nil
}

// grooveWorn is the deepest wear of a groove in whole micrometres, rounded up;
// 0 for a plain barrel.
func grooveWorn(r Reader, s roll.State) (quantity.Micrometre, error) {
	grooves, err := groovesOf(r, s)
	if err != nil || len(grooves) == 0 {
		return 0, err
	}
	return wear.LeastRedress(grooves, 0)
}

// checkGrooves refuses a piece whose passes do not fit the grooves of the work
// rolls mounted at its time. A stand without rolls is passed over.
func checkGrooves(piece mill.Piece, mounted func(stand string) []roll.Roll) error {
	var c refusal.Check
	for i, pass := range piece.Passes {
		path := fmt.Sprintf("passes/%d/groove", i)
		for _, r := range mounted(pass.Stand) {
			switch {
			case pass.Groove == 0 && r.Grooved():
				c.Add(path, "", fmt.Sprintf("is missing: the rolls in %s are grooved (roll %s has %d)", pass.Stand, r.Number, len(r.Grooves)),
					"name the groove; a piece rolled flat, such as strip, does not go through this stand")
			case pass.Groove > 0 && !r.Grooved():
				c.Add(path, fmt.Sprint(pass.Groove), fmt.Sprintf("is not a groove of roll %s in %s, which has a plain barrel", r.Number, pass.Stand), "leave it out")
			case pass.Groove > 0 && !r.HasGroove(pass.Groove):
				c.Add(path, fmt.Sprint(pass.Groove), fmt.Sprintf("is not a groove of roll %s in %s, which has %d", r.Number, pass.Stand, len(r.Grooves)), "see them with: barrelbook roll show "+r.Number)
			default:
				continue
			}
			break // the other roll of the pair would say the same
		}
	}
	return c.Err()
}

func depthsOf(grooves []roll.Groove) []float64 {
	var depths []float64
	for _, g := range grooves {
		depths = append(depths, g.Depth.MM())
	}
	return depths
}

// grooveParts adds what the deepest worn groove needs below the found diameter.
// Redressing turns all grooves by the same cut.
func (a *App) grooveParts(r Reader, s roll.State, advice *Advice, deepest float64, rule string) (float64, string, error) {
	worn, err := grooveWorn(r, s)
	if err != nil {
		return 0, "", err
	}
	need := math.Max(0, float64(worn-(s.Diameter-advice.Found)))
	advice.Parts = append(advice.Parts, StockPart{"groove", need, "deepest groove wear computed from the tonnes through it, less what the collars have lost; all grooves are turned by the same cut"})
	if need > deepest {
		return need, "the deepest worn groove", nil
	}
	return deepest, rule, nil
}

// siftGrooves refuses the pieces that do not fit the grooves of the work rolls
// that were in at their time, before any of them is kept.
func (in *ingest) siftGrooves(pieces []mill.Piece, good []int, answers []PieceAnswer) []int {
	var fitting []int
	for _, i := range good {
		err := checkGrooves(pieces[i], func(stand string) []roll.Roll {
			var rolls []roll.Roll
			for _, m := range in.mountedAt(stand, pieces[i].RolledAt) {
				if row, ok := in.rolls[m.Roll]; ok && m.Position.Role() == mill.Work {
					rolls = append(rolls, row.State.Roll)
				}
			}
			return rolls
		})
		if err != nil {
			answers[i] = PieceAnswer{Status: PieceRefused, Err: impossible(err)}
			continue
		}
		fitting = append(fitting, i)
	}
	return fitting
}
