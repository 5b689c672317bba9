package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/changeplan"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// Usage in the planner is in whole units, so that reaching a limit exactly is
// never a matter of rounding: metres, kilograms, nanometres of wear.
const (
	metresPerKM = 1000
	kgPerT      = 1000
	nmPerUM     = 1000
)

// problem states the planning problem: per place what each piece uses up of
// each limit, at the confidence asked for.
func (p *changePlanner) problem(plan *Plan) (changeplan.Problem, error) {
	problem := changeplan.Problem{Pieces: len(p.campaign.Pieces)}
	for _, s := range p.campaign.Stops {
		problem.PlannedStops = append(problem.PlannedStops, s.BeforePiece-1)
	}
	// Before the first piece the mill stands anyway.
	problem.PlannedStops = append(problem.PlannedStops, 0)
	mostly := practice.Resolve(p.practices, practice.Scope{Mill: p.campaign.Mill, Role: mill.Work})
	problem.StopCost = mostly.Number(practice.StopCost)
	problem.PlannedStopCost = mostly.Number(practice.PlannedStopCost)
	for i := range p.places {
		stand, ok, err := p.usage(&p.places[i], plan)
		if err != nil {
			return problem, err
		}
		if ok {
			problem.Stands = append(problem.Stands, stand)
		}
	}
	return problem, nil
}

// typical is a roll to compute the usage of a place with: the one in it, else
// the first of the shop that serves the stand.
func (p *changePlanner) typical(at *place) (roll.State, bool) {
	if at.set != nil {
		return at.set.TopState, true
	}
	for _, v := range p.shop[at.role] {
		if gather.Misfit(v, at.stand) == "" {
			return v.TopState, true
		}
	}
	return roll.State{}, false
}

// usage computes what each piece uses up at one place.
func (p *changePlanner) usage(at *place, plan *Plan) (changeplan.Stand, bool, error) {
	state, ok := p.typical(at)
	if !ok {
		plan.Feasible = false
		plan.CannotMeet = append(plan.CannotMeet, fmt.Sprintf("%s has no %s set in it and none in the shop serves it; build one", at.stand.Name, at.role))
		return changeplan.Stand{}, false, nil
	}
	at.limits = practice.Resolve(p.practices, gather.CaseIn(state, at.stand))
	ahead, err := p.loads(*at, state)
	loads := ahead.uses
	if err != nil {
		plan.Feasible = false
		// What cannot be rolled between the work rolls is not said of their backup rolls again.
		stand := at.stand.Name + ": "
		if !slices.ContainsFunc(plan.CannotMeet, func(said string) bool { return strings.HasPrefix(said, stand) }) {
			plan.CannotMeet = append(plan.CannotMeet, stand+err.Error())
		}
		return changeplan.Stand{}, false, nil
	}
	s := changeplan.Stand{Name: at.name(), ChangeCost: at.limits.Number(practice.ChangeCost), UnusedCostPerUnit: at.limits.Number(practice.UnusedKMCost) / metresPerKM}
	start := p.startUsage(*at)
	long := p.longest(*at)
	s.Usage = column(loads, func(u duty.Usage) float64 { return long * u.RolledKM * metresPerKM })
	s.StartUsage = whole(start.RolledKM * metresPerKM)
	if km := at.limits.Value(practice.MaxCampaignKM); km.Set {
		s.Limit = int64(km.Number * metresPerKM)
	} else {
		// No limit in km: one that is never reached, and no charge for what is left of it.
		s.Limit, s.UnusedCostPerUnit = s.StartUsage+sum(s.Usage)+1, 0
	}
	if t := at.limits.Value(practice.MaxCampaignT); t.Set {
		s.Also = append(s.Also, changeplan.Criterion{Name: "tonnes", Limit: int64(t.Number * kgPerT), StartUsage: whole(start.TonnageT * kgPerT),
			Usage: column(loads, func(u duty.Usage) float64 { return u.TonnageT * kgPerT })})
	}
	s.Also = append(s.Also, p.wearCriteria(*at, state, loads)...)
	tired, err := p.fatigueCriteria(*at, ahead)
	if err != nil {
		return changeplan.Stand{}, false, err
	}
	s.Also = append(s.Also, tired...)
	if ahead.predicted > 0 && at.role == mill.Work {
		plan.Notes = append(plan.Notes, fmt.Sprintf("%s: no force was given for %d of the passes; it is predicted, and wear and fatigue hang on it", at.stand.Name, ahead.predicted))
	}
	kind, err := p.criteriaOfKind(*at, state, start, loads)
	if err != nil {
		return changeplan.Stand{}, false, err
	}
	s.Also = append(s.Also, kind...)
	if at.set == nil || at.barred != "" {
		s.MustChange = []int{0}
	}
	return s, true, nil
}

// loads is what each piece of the programme does to a roll at the place, by the
// models that the finish check uses.
func (p *changePlanner) loads(at place, state roll.State) (ahead programmeLoad, err error) {
	rolls, states, err := p.dutyRolls(at, state)
	if err != nil {
		return ahead, err
	}
	stand, err := duty.NewStand(at.stand, p.mill.Density(), rolls)
	if err != nil {
		return ahead, err
	}
	if ahead.added, err = p.useModels(stand, at, states); err != nil {
		return ahead, err
	}
	ahead.uses, ahead.share = make([]duty.Usage, len(p.campaign.Pieces)), make([]float64, len(p.campaign.Pieces))
	gap := 0.0 // minutes without rolling before the piece
	for i, piece := range p.campaign.Pieces {
		stand.Rest(gap + p.stopMinutes(i+1))
		gap = p.campaign.MinutesPerPiece
		for k, pass := range piece.Passes {
			if pass.Stand != at.stand.Name {
				continue
			}
			if why := stand.Unfit(piece, k); why != "" {
				return ahead, fmt.Errorf("piece %d (%s): %s", i+1, piece.ID, why)
			}
			load, err := stand.Take(piece, k)
			if err != nil {
				return ahead, fmt.Errorf("piece %d (%s): %w", i+1, piece.ID, err)
			}
			if load.Overload {
				return ahead, fmt.Errorf("piece %d (%s): force %.0f kN, limit of %s %.0f kN; lower it, or take the piece out of the programme", i+1, piece.ID, pass.ForceKN, at.stand.Name, at.stand.MaxForceKN)
			}
			if load.Predicted {
				ahead.predicted++
			}
			ahead.uses[i].Add(load.Rolls[0])
			ahead.share[i] += fatigueWeight(load.Rolls[0], gather.FatiguePolicy(p.practices, p.campaign.Mill).Exponent)
		}
	}
	stand.Settle()
	return ahead, nil
}

// dutyRolls are the rolls in the stand for the models and their states. The roll
// watched comes first, standing at its top place.
func (p *changePlanner) dutyRolls(at place, watch roll.State) (rolls []duty.Roll, in []roll.State, err error) {
	top, bottom := mill.PairPositions(at.role)
	add := func(s roll.State, position mill.Position) error {
		grade, err := p.r.Grade(s.Roll.Grade)
		if err != nil {
			return err
		}
		m := port.MountingRow{Roll: s.Roll.Number, Position: position, Diameter: s.Diameter}
		rolls = append(rolls, gather.DutyRoll(s, m, grade, practice.Resolve(p.practices, gather.CaseIn(s, at.stand))))
		in = append(in, s)
		return nil
	}
	if err := add(watch, top); err != nil {
		return nil, nil, err
	}
	numbers := []string{}
	for _, m := range p.mounted[at.stand.Name] {
		if m.Position != top && m.Position != bottom {
			numbers = append(numbers, m.Roll)
		}
	}
	states, err := gather.StatesOf(p.r, numbers)
	if err != nil {
		return nil, nil, err
	}
	for _, m := range p.mounted[at.stand.Name] {
		if s := states[m.Roll]; s != nil {
			if err := add(*s, m.Position); err != nil {
				return nil, nil, err
			}
		}
	}
	return rolls, in, nil
}

// startUsage is what the more used roll of the set in the place has borne.
func (p *changePlanner) startUsage(at place) duty.Usage {
	var most duty.Usage
	for _, m := range p.mounted[at.stand.Name] {
		if m.Position.Role() == at.role && m.Usage.RolledKM >= most.RolledKM {
			most = m.Usage
		}
	}
	return most
}

// longest is by what factor the rolled length may exceed the programme's at the
// confidence asked for: length is log-normal about the plan, as in the finish
// check.
func (p *changePlanner) longest(at place) float64 {
	return math.Exp(distuv.UnitNormal.Quantile(p.in.Confidence) * logSD(at.limits.Number(practice.LengthCV)))
}

// logSD is the standard deviation of the logarithm that goes with a coefficient
// of variation.
func logSD(cv float64) float64 { return math.Sqrt(math.Log1p(cv * cv)) }

// wearCriteria holds the wear of each station of the barrel against the limit,
// of both rolls of the set, at the upper edge of the rate and, for what is to
// come, of length and force: the probability asked for is shared between the two
// rolls. Stations whose wear never is the deepest are left out.
func (p *changePlanner) wearCriteria(at place, state roll.State, loads []duty.Usage) []changeplan.Criterion {
	limit := at.limits.Value(practice.MaxWearUM)
	if !limit.Set || limit.Number <= 0 {
		return nil
	}
	rolls := []roll.State{state}
	if at.set != nil {
		rolls = []roll.State{at.set.TopState, at.set.BottomState}
	}
	z := distuv.UnitNormal.Quantile(1 - (1-p.in.Confidence)/2)
	exponent := at.limits.Number(practice.WearForceExponent)
	ahead := math.Hypot(logSD(at.limits.Number(practice.LengthCV)), exponent*logSD(at.limits.Number(practice.ForceCV)))
	var criteria []changeplan.Criterion
	for _, s := range rolls {
		rate := learn.RateOf(p.rates, s, at.stand, at.limits)
		doubt, booked := math.Hypot(logSD(rate.SharedCV), logSD(rate.OwnCV)), nmPerUM*rate.OverBooked(at.limits)
		borne, more := booked*math.Exp(z*doubt), booked*math.Exp(z*math.Hypot(doubt, ahead))
		start := p.usageOf(at, s.Roll.Number)
		for station := range stationsOf(loads) {
			c := changeplan.Criterion{Name: "wear", Limit: int64(limit.Number * nmPerUM), Usage: make([]int64, len(loads))}
			if station < len(start.WearUM) {
				c.StartUsage = whole(start.WearUM[station] * borne)
			}
			for i, u := range loads {
				if station < len(u.WearUM) {
					c.Usage[i] = whole(u.WearUM[station] * more)
				}
			}
			criteria = append(criteria, c)
		}
	}
	return deepestOnly(criteria)
}

// usageOf is what a roll in the place has borne since it went in.
func (p *changePlanner) usageOf(at place, number string) duty.Usage {
	for _, m := range p.mounted[at.stand.Name] {
		if m.Roll == number && m.Position.Role() == at.role {
			return m.Usage
		}
	}
	return duty.Usage{}
}

func stationsOf(loads []duty.Usage) int {
	n := 0
	for _, u := range loads {
		n = max(n, len(u.WearUM))
	}
	return n
}

// deepestOnly drops criteria that another one covers: no less used at the start
// and by every piece.
func deepestOnly(criteria []changeplan.Criterion) []changeplan.Criterion {
	var kept []changeplan.Criterion
	for i, c := range criteria {
		covered := false
		for j, d := range criteria {
			if i != j && covers(d, c) && (j < i || !covers(c, d)) {
				covered = true
				break
			}
		}
		if !covered {
			kept = append(kept, c)
		}
	}
	return kept
}

func covers(d, c changeplan.Criterion) bool {
	if d.StartUsage < c.StartUsage {
		return false
	}
	for i := range c.Usage {
		if d.Usage[i] < c.Usage[i] {
			return false
		}
	}
	return true
}

func column(loads []duty.Usage, of func(duty.Usage) float64) []int64 {
	out := make([]int64, len(loads))
	for i, u := range loads {
		out[i] = whole(of(u))
	}
	return out
}

// whole rounds up: a limit is never passed by a rounding.
func whole(v float64) int64 { return int64(math.Ceil(v - 1e-9)) }

func sum(values []int64) int64 {
	total := int64(0)
	for _, v := range values {
		total += v
	}
	return total
}
