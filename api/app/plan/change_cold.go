package plan

import (
	"fmt"
	"strings"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// coldNotes say where a demanding piece is among those that still warm the rolls
// of a change.
func (p *changePlanner) coldNotes(plan *Plan) (notes []string) {
	usual := map[string]int{}
	for _, at := range p.places {
		usual[at.name()] = int(at.limits.Number(practice.WarmUpPieces))
	}
	for _, stop := range plan.Stops {
		stands := map[int][]string{} // by the piece that comes too soon
		for _, c := range stop.Changes {
			if c.Role != mill.Work {
				continue
			}
			if piece, cold := p.campaign.Cold(stop.BeforePiece, usual[c.Stand]); cold {
				stands[piece] = append(stands[piece], c.Stand)
			}
		}
		for piece := stop.BeforePiece; piece <= len(p.campaign.Pieces); piece++ {
			if names := stands[piece]; len(names) > 0 {
				notes = append(notes, fmt.Sprintf("the change at %s before piece %d leaves its rolls cold for piece %d (%s), which asks for warm ones: roll %s first that may be rolled on cold rolls, or change earlier",
					strings.Join(names, ", "), stop.BeforePiece, piece, p.campaign.Pieces[piece-1].ID, many(p.campaign.WarmUpPieces(usual[names[0]]), "piece")))
			}
		}
	}
	return notes
}
