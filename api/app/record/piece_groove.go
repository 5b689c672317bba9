package record

import (
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

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
				c.Add(path, fmt.Sprint(pass.Groove), fmt.Sprintf("is not a groove of roll %s in %s, which has %d", r.Number, pass.Stand, len(r.Grooves)), "see its grooves", next.ShowRoll(r.Number))
			default:
				continue
			}
			break // the other roll of the pair would say the same
		}
	}
	return c.Err()
}

// siftGrooves refuses the pieces that do not fit the grooves of the work rolls
// that were in at their time, before any of them is kept.
func (in *ingest) siftGrooves(pieces []mill.Piece, good []int, answers []PieceAnswer) []int {
	var fitting []int
	for _, i := range good {
		err := checkGrooves(pieces[i], func(stand string) []roll.Roll {
			var rolls []roll.Roll
			for _, m := range in.MountedAt(stand, pieces[i].RolledAt) {
				if row, ok := in.Rolls[m.Roll]; ok && m.Position.Role() == mill.Work {
					rolls = append(rolls, row.State.Roll)
				}
			}
			return rolls
		})
		if err != nil {
			answers[i] = PieceAnswer{Status: PieceRefused, Err: port.Refused(err)}
			continue
		}
		fitting = append(fitting, i)
	}
	return fitting
}
