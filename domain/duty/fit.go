package duty

import (
	"fmt"
	"math"

	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

// Unfit says why pass k of a piece, from 0, cannot go through the work rolls in
// the stand at all: it reaches over the end of a barrel, asks for a groove that
// is not there, or for none of grooved rolls. Empty when it can. A micrometre
// over the end is allowed, as the same barrel in inches and in millimetres is
// not the same float.
func (s *Stand) Unfit(piece mill.Piece, k int) string {
	pass := piece.Passes[k]
	for i := range s.rolls {
		r := &s.rolls[i]
		if r.Position.Role() != mill.Work {
			continue
		}
		at := pass.LateralOffsetMM - pass.RollOffsetMM(r.Position)
		if math.Abs(at)+pass.WidthMM/2 > r.BarrelLengthMM/2+0.001 {
			where := ""
			if at != 0 {
				where = fmt.Sprintf(" at %s mm from the middle", refusal.Number(at))
			}
			return fmt.Sprintf("%s mm wide, does not lie on the barrel of %s, %s mm%s",
				refusal.Number(pass.WidthMM), r.Number, refusal.Number(r.BarrelLengthMM), where)
		}
		switch n := len(r.GrooveDepthMM); {
		case pass.Groove > 0 && n == 0:
			return fmt.Sprintf("asks for groove %d and %s has a plain barrel", pass.Groove, r.Number)
		case pass.Groove > n:
			return fmt.Sprintf("asks for groove %d and %s has %d", pass.Groove, r.Number, n)
		case pass.Groove == 0 && n > 0:
			return fmt.Sprintf("names no groove and %s has %d", r.Number, n)
		}
	}
	return ""
}
