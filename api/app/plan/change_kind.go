package plan

import (
	"fmt"
	"math"

	"barrelbook/api/app/gather"
	"barrelbook/domain/changeplan"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/wear"
)

// criteriaOfKind are what ends a campaign in the mill's own kind beside tonnes,
// kilometres and wear: fire cracks, roughness, and the grooves of the set.
func (p *changePlanner) criteriaOfKind(at place, state roll.State, start duty.Usage, loads []duty.Usage) ([]changeplan.Criterion, error) {
	var list []changeplan.Criterion
	rate, limit := at.limits.Value(practice.FireCrackUMPerPiece), at.limits.Value(practice.MaxFireCrackUM)
	if rate.Set && limit.Set && at.role == mill.Work {
		list = append(list, changeplan.Criterion{Name: "fire cracks", Limit: int64(limit.Number * nmPerUM), StartUsage: whole(rate.Number * float64(start.Pieces) * nmPerUM),
			Usage: column(loads, func(u duty.Usage) float64 { return rate.Number * float64(u.Pieces) * nmPerUM })})
	}
	if km := roughLimitKM(at.limits, state); km > 0 && at.role == mill.Work {
		long := p.longest(at)
		list = append(list, changeplan.Criterion{Name: "roughness", Limit: int64(km * metresPerKM), StartUsage: whole(start.RolledKM * metresPerKM),
			Usage: column(loads, func(u duty.Usage) float64 { return long * u.RolledKM * metresPerKM })})
	}
	grooves, ok, err := p.grooveCriterion(at, state, loads)
	if ok {
		list = append(list, grooves)
	}
	return list, err
}

// roughLimitKM is how far a surface like that of the roll may run until its Ra
// comes down to the limit; 0 where it is not followed or never does.
func roughLimitKM(limits practice.InForce, state roll.State) float64 {
	limit, decay := limits.Value(practice.RoughnessLimitUM), wear.Roughness{StartUM: state.RoughnessUM, FloorUM: limits.Number(practice.RoughnessFloorUM), ScaleKM: limits.Number(practice.RoughnessScaleKM)}
	if !limit.Set || decay.StartUM == 0 || decay.ScaleKM == 0 {
		return 0
	}
	km, never, err := decay.KMUntil(limit.Number)
	if err != nil || never {
		return 0
	}
	return km
}

// grooveCriterion is the tonnes that all grooves of a set take one after the
// other, without a roll change. A piece cannot be split between two grooves, so
// each groove counts for as many of the heaviest pieces as it takes whole.
func (p *changePlanner) grooveCriterion(at place, state roll.State, loads []duty.Usage) (changeplan.Criterion, bool, error) {
	limit := at.limits.Value(practice.MaxGrooveT)
	if !limit.Set || !state.Roll.Grooved() {
		return changeplan.Criterion{}, false, nil
	}
	heaviest := 0.0
	through := func(u duty.Usage) (t float64) {
		for _, g := range u.Grooves {
			t += g.TonnageT
		}
		return t
	}
	for _, u := range loads {
		heaviest = max(heaviest, through(u))
	}
	if heaviest == 0 {
		return changeplan.Criterion{}, false, nil
	}
	takes := func(left float64) float64 { return math.Floor(max(0, left)/heaviest+1e-9) * heaviest }
	borne, err := p.groovesNow(at, state)
	if err != nil {
		return changeplan.Criterion{}, false, err
	}
	fresh, left := 0.0, 0.0
	for _, g := range borne {
		fresh += takes(limit.Number)
		left += takes(limit.Number - g.Tonnes)
	}
	return changeplan.Criterion{Name: "groove tonnes", Limit: int64(math.Round(fresh * kgPerT)), StartUsage: int64(math.Round((fresh - left) * kgPerT)),
		Usage: column(loads, func(u duty.Usage) float64 { return through(u) * kgPerT })}, true, nil
}

// groovesNow is what the grooves of the set in a place have borne; fresh ones
// where it is empty.
func (p *changePlanner) groovesNow(at place, state roll.State) ([]wear.Groove, error) {
	if at.set == nil {
		return make([]wear.Groove, len(state.Roll.Grooves)), nil
	}
	return gather.GroovesOf(p.r, state)
}

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
