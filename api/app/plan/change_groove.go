package plan

import (
	"fmt"

	"barrelbook/api/app/gather"
	"barrelbook/domain/practice"
	"barrelbook/domain/wear"
)

// grooveNotes say when the pieces go on to another groove of the same rolls, up
// to the roll change that the plan has for the place.
func (p *changePlanner) grooveNotes(plan *Plan) error {
	for _, at := range p.places {
		if at.set == nil || !at.set.TopState.Roll.Grooved() {
			continue
		}
		limit := at.limits.Value(practice.MaxGrooveT)
		if !limit.Set {
			continue
		}
		borne, err := gather.GroovesOf(p.r, at.set.TopState)
		if err != nil {
			return err
		}
		plan.Notes = append(plan.Notes, p.grooveChanges(at, borne, limit.Number, p.firstChange(plan, at))...)
	}
	return nil
}

// firstChange is the piece before which the plan changes the rolls of a place,
// from 1; past the programme where it does not.
func (p *changePlanner) firstChange(plan *Plan, at place) int {
	for _, stop := range plan.Stops {
		for _, c := range stop.Changes {
			if c.Stand == at.stand.Name && c.Role == at.role {
				return stop.BeforePiece
			}
		}
	}
	return len(p.campaign.Pieces) + 1
}

func (p *changePlanner) grooveChanges(at place, borne []wear.Groove, limit float64, until int) (notes []string) {
	goesTo := map[int]int{} // from the groove planned to the one in use
	for i, piece := range p.campaign.Pieces[:until-1] {
		for _, pass := range piece.Passes {
			if pass.Stand != at.stand.Name || pass.Groove < 1 || pass.Groove > len(borne) {
				continue
			}
			in := pass.Groove
			if to, ok := goesTo[in]; ok {
				in = to
			}
			if borne[in-1].Tonnes+piece.MassT > limit {
				next := roomiest(borne, limit, piece.MassT)
				if next == 0 {
					return notes // the planner has counted whole pieces: not reached within its limits
				}
				goesTo[pass.Groove], in = next, next
				notes = append(notes, fmt.Sprintf("%s: go to groove %d before piece %d (%s), without a roll change", at.stand.Name, next, i+1, piece.ID))
			}
			borne[in-1].Tonnes += piece.MassT
		}
	}
	return notes
}

// roomiest is the groove that has borne the least and takes the piece, from 1; 0
// when none does.
func roomiest(borne []wear.Groove, limit, massT float64) int {
	best := 0
	for i, g := range borne {
		if g.Tonnes+massT <= limit && (best == 0 || g.Tonnes < borne[best-1].Tonnes) {
			best = i + 1
		}
	}
	return best
}
