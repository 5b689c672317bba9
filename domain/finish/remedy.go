package finish

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
)

// What is the sort of a remedy.
type What string

// The remedies.
const (
	OtherSet      What = "other_set"
	ChangeAtPiece What = "change_at_piece"
	ChangeAtStop  What = "change_at_stop"
	ChangeGroove  What = "change_groove"
	MoveBlock     What = "move_block"
	RestrictForce What = "restrict_force"
	TestFirst     What = "test_first"
)

// Remedy is a way out, checked by the same models as the answer itself.
type Remedy struct {
	What        What
	Sentence    string
	Set         string // that goes in, empty when none does
	Groove      int    // to go to, 0 when none
	BeforePiece int    // from 1, 0 when at once
	Verdict     Verdict
	Probability float64
	Cost        int64 // minor units of money
}

// remediesShown is how many are given at most.
const remediesShown = 6

// remedies tries the ways out for the role that limits the stand. Costs are
// the practice's; where nothing is lost or stopped the cost is 0.
func (r *run) remedies(bars []bar, a *Answer) ([]Remedy, error) {
	role := r.limitingRole(bars, a)
	others, err := r.alternatives(role)
	if err != nil {
		return nil, err
	}
	list := r.testFirst(bars)
	spare, err := r.changeGroove(bars, a)
	if err != nil {
		return nil, err
	}
	list = append(list, spare...)
	list = append(list, r.otherSets(others, a)...)
	if len(bars) == 0 || a.More.Pieces > 0 {
		list = append(list, r.changes(others, a)...)
	}
	if len(bars) == 0 {
		list = append(list, r.moveBlocks(others, a)...)
	}
	list = append(list, r.restrictForce(bars, a)...)
	better := list[:0]
	for _, m := range list {
		if m.Verdict == Yes || (m.Verdict == Marginal && m.Probability > a.Probability+0.05) {
			better = append(better, m)
		}
	}
	sort.SliceStable(better, func(i, j int) bool {
		if yi, yj := better[i].Verdict == Yes, better[j].Verdict == Yes; yi != yj {
			return yi
		}
		return better[i].Cost < better[j].Cost
	})
	return better[:min(len(better), remediesShown)], nil
}

func (r *run) limitingRole(bars []bar, a *Answer) mill.Role {
	if len(bars) > 0 {
		return bars[0].role
	}
	if a.Limiting != nil {
		return r.roleNamed(a.Limiting.Roll)
	}
	return mill.Work
}

// alternative is a candidate set in place of the one asked about.
type alternative struct {
	set  *Set
	run  *run
	bars []bar
}

// enough is how many candidates that would do are worth computing.
const enough = 3

// alternatives runs the candidates of a role, until enough of them would see
// the whole programme through.
func (r *run) alternatives(role mill.Role) ([]alternative, error) {
	var list []alternative
	good := 0
	for i := range r.in.Candidates {
		c := &r.in.Candidates[i]
		if c.Role != role || c.Name == r.current(role).Name {
			continue
		}
		other, err := r.with(c)
		if err != nil {
			return nil, err
		}
		_, bars := other.checkBeforehand()
		list = append(list, alternative{set: c, run: other, bars: bars})
		if _, v := other.verdict(bars, other.all()); v == Yes {
			if good++; good == enough {
				break
			}
		}
	}
	return list, nil
}

// current is the set of the role that is asked about.
func (r *run) current(role mill.Role) *Set {
	switch role {
	case mill.Backup:
		return r.backup()
	case mill.Intermediate:
		return &r.stand.Intermediate
	}
	return r.work()
}

// changeCost is that of changing sets before piece k of those asked about,
// from 0: the change, the stop, and the kilometres given up. Before the first
// piece of the programme the mill is stopped anyway, as at a planned stop.
func (r *run) changeCost(out *Set, in *Set, k int, givenUpKM float64) (cost float64, stop *mill.PlannedStop) {
	cost = in.Costs.Change
	if !out.Mounted && k == 0 {
		return 0, nil // neither set is in yet: another goes in instead
	}
	if stop = r.stopBefore(k); stop != nil || r.in.FromPiece+k == 1 {
		cost += in.Costs.PlannedStop
	} else {
		cost += in.Costs.Stop
	}
	return cost + max(0, givenUpKM)*in.Costs.UnusedPerKM, stop
}

// stopBefore is the planned stop before piece k of those asked about, from 0.
func (r *run) stopBefore(k int) *mill.PlannedStop {
	for i := range r.in.Stops {
		if r.in.Stops[i].BeforePiece == r.in.FromPiece+k {
			return &r.in.Stops[i]
		}
	}
	return nil
}

func (r *run) otherSets(others []alternative, a *Answer) (list []Remedy) {
	for _, o := range others {
		p, v := o.run.verdict(o.bars, o.run.all())
		cost, _ := r.changeCost(r.current(o.set.Role), o.set, 0, a.More.RolledKM)
		list = append(list, Remedy{What: OtherSet, Set: o.set.Name, Verdict: v, Probability: p, Cost: money(cost),
			Sentence: fmt.Sprintf("%s: put %s set %s in before piece %d: %s sure to finish", r.in.Stand.Name, o.set.Role, o.set.Name, r.in.FromPiece, percent(p))})
	}
	return list
}

// changes are a change at the latest planned stop the set comes to, and one
// before the first piece it cannot be sure of.
func (r *run) changes(others []alternative, a *Answer) (list []Remedy) {
	last := min(a.More.Pieces, r.n-1) // pieces before the change at the latest
	stop := 0
	for _, s := range r.in.Stops {
		if k := s.BeforePiece - r.in.FromPiece; k > 0 && k <= last {
			stop = max(stop, k)
		}
	}
	for _, k := range []int{stop, last} {
		if k <= 0 || (k == stop && len(list) > 0) {
			continue
		}
		if m, ok := r.changeBefore(others, k, a); ok {
			list = append(list, m)
		}
	}
	return list
}

// changeBefore changes sets after k pieces. The two stretches share length and
// force factors, so that their chances rise and fall together: the product of
// the probabilities is a lower bound of both (independent factors are
// associated, as Esary, Proschan and Walkup have it, Annals of Mathematical
// Statistics 38, 1967).
func (r *run) changeBefore(others []alternative, k int, a *Answer) (Remedy, bool) {
	until := r.probability(both(span(0, k)))
	best, found := Remedy{}, false
	for _, o := range others {
		if blockedFrom(o.bars, k) {
			continue
		}
		p := until * o.run.probability(both(span(k, r.n)))
		cost, stop := r.changeCost(r.current(o.set.Role), o.set, k, a.More.RolledKM-r.km[k])
		if found && (p <= best.Probability || best.Verdict == Yes) {
			continue
		}
		found = true
		best = Remedy{What: ChangeAtPiece, Set: o.set.Name, BeforePiece: r.in.FromPiece + k, Probability: p, Verdict: r.in.verdictOf(p), Cost: money(cost)}
		where := fmt.Sprintf("before piece %d (%s)", best.BeforePiece, r.pieces[k].ID)
		if stop != nil {
			best.What = ChangeAtStop
			where = fmt.Sprintf("at the planned stop %s before piece %d", stop.Name, best.BeforePiece)
		}
		best.Sentence = fmt.Sprintf("%s: change to set %s %s: %s sure to finish", r.in.Stand.Name, o.set.Name, where, atLeast(p))
	}
	return best, found
}

// blockedFrom says whether bars are in the way of rolling from piece k on,
// from 0.
func blockedFrom(bars []bar, k int) bool {
	for _, b := range bars {
		if b.piece == 0 || b.piece > k {
			return true
		}
	}
	return false
}

// testFirst asks what the answer would be once the tests owed are passed.
func (r *run) testFirst(bars []bar) []Remedy {
	var left []bar
	for _, b := range bars {
		if !b.byTest {
			left = append(left, b)
		}
	}
	if len(left) == len(bars) {
		return nil
	}
	p, v := r.verdict(left, r.all())
	return []Remedy{{What: TestFirst, Verdict: v, Probability: p,
		Sentence: fmt.Sprintf("%s: do the tests owed first; if they pass it is %s sure to finish", r.in.Stand.Name, percent(p))}}
}

// leastRestriction is how far forces may be brought down at most: what a
// schedule can give by smaller drafts, common practice, no source.
const leastRestriction = 0.75

// restrictForce looks for the greatest share of the planned forces at which
// the answer is a yes, where force bears on what limits the set.
func (r *run) restrictForce(bars []bar, a *Answer) []Remedy {
	for _, b := range bars {
		if b.kind != limit.Force && b.kind != limit.Torque {
			return nil
		}
	}
	if len(bars) == 0 && (a.Limiting == nil || a.Limiting.kind.Unforced) {
		return nil
	}
	try := func(share float64) (float64, Verdict) {
		r.restrict = share
		defer func() { r.restrict = 1 }()
		if most := r.in.Stand.MaxForceKN; most > 0 && share*r.greatestKN() > most*(1+1e-9) {
			return 0, Blocked
		}
		if most := r.in.Stand.MaxTorqueKNM; most > 0 && share*slices.Max(r.ahead.TorqueKNM) > most*(1+1e-9) {
			return 0, Blocked
		}
		return r.verdict(nil, r.all())
	}
	if _, v := try(leastRestriction); v != Yes {
		return nil
	}
	low, high := leastRestriction, 1.0
	for high-low > 1e-4 {
		if mid := (low + high) / 2; second(try(mid)) == Yes {
			low = mid
		} else {
			high = mid
		}
	}
	share := math.Floor(low*100) / 100
	p, v := try(share)
	if v != Yes {
		return nil
	}
	return []Remedy{{What: RestrictForce, Verdict: v, Probability: p,
		Sentence: fmt.Sprintf("%s: keep forces at %.0f %% of the planned ones (greatest %s kN): %s sure to finish", r.in.Stand.Name, 100*share,
			limit.Grouped(share*r.greatestKN(), 0), percent(p))}}
}

// greatestKN is the greatest force given in the programme.
func (r *run) greatestKN() float64 { return slices.Max(r.ahead.ForceKN) }

func second(_ float64, v Verdict) Verdict { return v }

func money(v float64) int64 { return int64(math.Round(v)) }
