package finish

import (
	"fmt"

	"barrelbook/domain/duty"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
)

// Predicted are the passes of a programme whose force was not given: how many,
// the greatest figures, and what the force model says of those it was not made
// for.
type Predicted struct {
	Passes        int
	KN, TorqueKNM float64
	Doubtful      int
	// Doubt is the first thing said, of the piece Piece.
	Doubt, Piece string
	// weakest is the least margin of strength under them and whose it is, least
	// what the practice asks for.
	weakest, least float64
	roll           string
	// cv is what the doubt of the predictions adds to the spread of the force of
	// the whole programme: it is one doubt, as they come from one model.
	cv float64
}

// sureOfDoubt is within how many standard deviations the doubt of a force is
// told: 90 % of them, common practice, no source.
const sureOfDoubt = 1.645

// share spreads the doubt over all the passes of the stand, those with a force
// too.
func (p *Predicted) share(passes int) {
	if passes > 0 {
		p.cv /= float64(passes)
	}
}

func (p *Predicted) add(piece string, load duty.Load, rolls []*Roll) {
	p.Passes++
	p.cv += load.ForceDoubt / sureOfDoubt
	p.KN, p.TorqueKNM = max(p.KN, load.ForceKN), max(p.TorqueKNM, load.TorqueKNM)
	for _, s := range load.Strengths {
		if p.roll == "" || s.Margin < p.weakest {
			p.weakest, p.roll = s.Margin, rolls[s.Roll].Number
		}
	}
	if len(load.Doubts) == 0 {
		return
	}
	if p.Doubtful++; p.Doubt == "" {
		p.Doubt, p.Piece = load.Doubts[0], piece
	}
}

// Says tells what an answer that rests on them should say; nothing where every
// force was given.
func (p Predicted) Says(stand mill.Stand) (list []string) {
	if p.Passes == 0 {
		return nil
	}
	said := fmt.Sprintf("%d passes of the programme have no force: it is predicted, at most %s kN", p.Passes, limit.Grouped(p.KN, 0))
	if most := stand.MaxForceKN; most > 0 && p.KN > most {
		said += fmt.Sprintf(", which is over the limit %s kN of %s", limit.Grouped(most, 0), stand.Name)
	}
	if most := stand.MaxTorqueKNM; most > 0 && p.TorqueKNM > most {
		said += fmt.Sprintf("; the torque with it is at most %s kNm, which is over the limit %s kNm of %s", limit.Grouped(p.TorqueKNM, 0), limit.Grouped(most, 0), stand.Name)
	}
	list = append(list, said+"; wear, pressure and fatigue depend on it")
	if p.roll != "" && p.weakest < p.least {
		list = append(list, fmt.Sprintf("under the forces predicted %s has a margin of strength of %.0f %%, below the %.0f %% entered", p.roll, 100*p.weakest, 100*p.least))
	}
	if p.Doubtful > 0 {
		list = append(list, fmt.Sprintf("%d of the forces predicted lie outside what their method was made for; first of piece %s: %s", p.Doubtful, p.Piece, p.Doubt))
	}
	return list
}
