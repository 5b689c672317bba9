package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"barrelbook/api/app/gather"
	"barrelbook/domain/changeplan"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
)

// metresPerKM makes whole units of the kilometres that are charged for.
const metresPerKM = 1000

// problem states the planning problem: up to which piece the sets in each place,
// and fresh ones, hold by the finish check's own limits and probability.
func (p *changePlanner) problem(plan *Plan) (changeplan.Problem, error) {
	problem := changeplan.Problem{Pieces: len(p.campaign.Pieces)}
	for _, s := range p.campaign.Stops {
		problem.PlannedStops = append(problem.PlannedStops, s.BeforePiece-1)
	}
	// Before the first piece the mill is stopped anyway.
	problem.PlannedStops = append(problem.PlannedStops, 0)
	mostly := practice.Resolve(p.Practices, practice.Scope{Mill: p.campaign.Mill, Role: mill.Work})
	problem.StopCost = mostly.Number(practice.StopCost)
	problem.PlannedStopCost = mostly.Number(practice.PlannedStopCost)
	for _, stand := range p.stands {
		places := p.placesOf(stand)
		holdings, ok, err := p.hold(stand, places, plan)
		if err != nil {
			return problem, err
		}
		for i := range holdings.Places {
			if !ok {
				break
			}
			places[i].holding = &holdings.Places[i]
			problem.Stands = append(problem.Stands, p.priced(places[i], holdings))
		}
	}
	return problem, nil
}

func (p *changePlanner) placesOf(stand mill.Stand) []*place {
	var list []*place
	for i := range p.places {
		if p.places[i].stand.Name == stand.Name {
			list = append(list, &p.places[i])
		}
	}
	return list
}

// hold asks how long sets last in a stand. ok is false where there is no answer,
// which the plan then says.
func (p *changePlanner) hold(stand mill.Stand, places []*place, plan *Plan) (holdings finish.Holdings, ok bool, err error) {
	in, err := p.ahead.question(p.Standing, p.mill, stand, p.campaign)
	if err != nil {
		return holdings, false, err
	}
	asked := &standQuestion{in: in}
	fresh := &asked.fresh
	for _, at := range places {
		at.asked = asked
		set, found, err := p.typical(at)
		if err != nil {
			return holdings, false, err
		}
		if !found {
			plan.cannot(fmt.Sprintf("%s has no %s set in it and none in the shop serves it; build one", stand.Name, at.role))
			return holdings, false, nil
		}
		at.limits = practice.Resolve(p.Practices, gather.CaseIn(p.States[set.Rolls[0].Number], stand))
		*fresh.Of(at.role) = set
	}
	if holdings, err = finish.Hold(in, *fresh, p.in.Confidence); err != nil {
		plan.cannot(stand.Name + ": " + err.Error())
		return holdings, false, nil
	}
	for _, h := range holdings.Places {
		if h.Alone >= 0 && h.Alone >= h.Reach[0] {
			plan.cannot(fmt.Sprintf("%s: piece %d (%s): %s; take it out of the programme or change the limit",
				stand.Name, h.Alone+1, p.campaign.Pieces[h.Alone].ID, h.AloneWhy))
			return holdings, false, nil
		}
	}
	for _, said := range holdings.Predicted.Says(stand) {
		plan.Notes = append(plan.Notes, stand.Name+": "+said)
	}
	return holdings, true, nil
}

// standQuestion is what was asked of a stand, to be asked again of the sets that
// are chosen for it.
type standQuestion struct {
	in    finish.Input
	fresh finish.Fresh
}

// lasts says of each set that the plan puts in how far it lasts itself, where that
// is not as far as the plan keeps it: the plan was made with a fresh one of its
// sort.
func (p *changePlanner) lasts(plan *Plan) error {
	for i, stop := range plan.Stops {
		for _, c := range stop.Changes {
			at, set, ok, err := p.goesIn(c)
			if err != nil {
				return err
			}
			if !ok {
				continue
			}
			fresh := at.asked.fresh
			*fresh.Of(c.Role) = set
			until, why, err := finish.Lasts(at.asked.in, fresh, c.Role, stop.BeforePiece-1, p.in.Confidence)
			if err != nil {
				return err
			}
			if kept := plan.nextChange(i, c, len(p.campaign.Pieces)); until < kept {
				plan.CannotMeet = append(plan.CannotMeet, fmt.Sprintf("%s: set %s, which goes in before piece %d, passes a limit at piece %d (%g %% confidence) and is kept to piece %d: %s",
					c.Stand, c.SetIn, stop.BeforePiece, until+1, 100*p.in.Confidence, kept, why))
			}
		}
	}
	return nil
}

// goesIn is the set of a change as it will go in, ground where it is not ready.
func (p *changePlanner) goesIn(c PlanChange) (*place, standing.Set, bool, error) {
	for i := range p.places {
		at := &p.places[i]
		if at.stand.Name != c.Stand || at.role != c.Role || at.asked == nil {
			continue
		}
		for _, v := range p.shop[c.Role] {
			if v.Name != c.SetIn {
				continue
			}
			set, err := p.Outside(v.SetRow, at.stand)
			if set.Blocks = nil; !v.Fitness.MayGoIn() {
				set = set.AfterGrind()
			}
			return at, set, err == nil, err
		}
	}
	return nil, standing.Set{}, false, nil
}

// nextChange is how many pieces are rolled before the place of a change is changed
// again.
func (plan *Plan) nextChange(after int, c PlanChange, pieces int) int {
	for _, stop := range plan.Stops[after+1:] {
		for _, d := range stop.Changes {
			if d.Stand == c.Stand && d.Role == c.Role {
				return stop.BeforePiece - 1
			}
		}
	}
	return pieces
}

// cannot says once what makes a plan impossible.
func (plan *Plan) cannot(why string) {
	plan.Feasible = false
	if !slices.Contains(plan.CannotMeet, why) {
		plan.CannotMeet = append(plan.CannotMeet, why)
	}
}

// typical is the set that stands for those that will go into a place: one that
// is ready for it, else the one in it, else any that serves it, freshly ground.
func (p *changePlanner) typical(at *place) (standing.Set, bool, error) {
	var other *gather.SetView
	for i := range p.shop[at.role] {
		v := &p.shop[at.role][i]
		if gather.Misfit(*v, at.stand) != "" {
			continue
		}
		if v.Fitness.MayGoIn() {
			set, err := p.Outside(v.SetRow, at.stand)
			if err != nil {
				return set, false, err
			}
			return p.Fresh(set, at.stand), true, nil
		}
		if other == nil {
			other = v
		}
	}
	if at.set != nil {
		set, err := p.InPlace(at.stand, at.role)
		return p.Fresh(set, at.stand), err == nil && len(set.Rolls) > 0, err
	}
	if other == nil {
		return standing.Set{}, false, nil
	}
	set, err := p.Outside(other.SetRow, at.stand)
	return p.Fresh(set, at.stand), err == nil, err
}

// priced is one place for the planner: how far its sets reach, and what a
// kilometre given up costs where the practice limits a campaign's kilometres.
func (p *changePlanner) priced(at *place, holdings finish.Holdings) changeplan.Stand {
	s := changeplan.Stand{Name: at.name(), ChangeCost: at.limits.Number(practice.ChangeCost), UnusedCostPerUnit: at.limits.Number(practice.UnusedKMCost) / metresPerKM,
		Reach: at.holding.Reach, Usage: make([]int64, len(holdings.RolledKM))}
	sum := 0.0
	for i, km := range holdings.RolledKM {
		// Rounded as a sum, so that no metre is made or lost.
		s.Usage[i] = int64(math.Round((sum+km)*metresPerKM)) - int64(math.Round(sum*metresPerKM))
		sum += km
	}
	for _, m := range p.Mounted[at.stand.Name] {
		if m.Position.Role() == at.role {
			s.StartUsage = max(s.StartUsage, int64(math.Round(m.Usage.RolledKM*metresPerKM)))
		}
	}
	if km := at.limits.Value(practice.MaxCampaignKM); km.Set {
		s.Limit = int64(math.Round(km.Number * metresPerKM))
	} else {
		// No limit in km: no charge for what is left of it.
		s.Limit, s.UnusedCostPerUnit = s.StartUsage+int64(math.Round(sum*metresPerKM)), 0
	}
	if at.set == nil || len(at.holding.Out) > 0 {
		s.MustChange = []int{0}
	}
	return s
}

// whyOut says why the set in a place must come out at once, empty where it may
// stay.
func whyOut(h *finish.Holding) string {
	said := strings.Join(h.Out, ", ")
	if h.ByTest {
		said += " (if the tests are passed before, it may stay)"
	}
	return said
}
