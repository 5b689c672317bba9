package finish

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

// Holdings say how long sets last in a stand, by the same limits and the same
// joint probability as Check.
type Holdings struct {
	// Places are the roles that the stand takes, the work rolls first.
	Places []Holding
	// RolledKM is what each piece adds to a roll of the stand.
	RolledKM []float64
	// Predicted are the passes that have no force given.
	Predicted Predicted
}

// Holding is how long a set lasts in one place.
type Holding struct {
	Role mill.Role
	// Reach has for the set now in, and then for one freshly ground that goes in
	// before piece 0, 1, …, the first piece from the first one asked about, from 0,
	// that it must not roll; the number of pieces where it lasts. It never falls
	// from one fresh set to the next.
	Reach []int
	// Out says why the set now in must come out at once; empty where it may stay.
	Out []string
	// ByTest is true where passed tests would lift all that Out says.
	ByTest bool
	// Alone is the first piece that no fresh set can roll, −1 for none, and why.
	Alone    int
	AloneWhy string

	now, fresh *run
}

// Fresh are the sets that stand for those that will go in: ground, of the rate
// that is known of their sort. A place without rolls has none.
type Fresh struct{ Work, Intermediate, Backup Set }

// Of is the place of a role.
func (f *Fresh) Of(role mill.Role) *Set { return byRole(role, &f.Work, &f.Intermediate, &f.Backup) }

func (in *Input) of(role mill.Role) *Set {
	return byRole(role, &in.Work, &in.Intermediate, &in.Backup)
}

func byRole(role mill.Role, work, intermediate, backup *Set) *Set {
	switch role {
	case mill.Work:
		return work
	case mill.Intermediate:
		return intermediate
	}
	return backup
}

// Hold says how long the sets in a stand, and fresh ones, hold within every limit
// with the confidence given, which lies above 0.
//
// The probability is the joint one of all sets of the stand: as long as the sets
// behind the work rolls that are in may stay, a work set holds while
//
//	P(work set and those behind it hold up to here) ≥ confidence
//
// and beyond it, with sets yet to be named, while each holds with the root of it:
// what is shared between them only makes the joint probability greater than the
// product (positively associated factors: Esary, Proschan and Walkup, Annals of
// Mathematical Statistics 38, 1967).
//
// A piece that does not go through at all is refused with an error.
func Hold(in Input, fresh Fresh, confidence float64) (Holdings, error) {
	if in.FromPiece == 0 {
		in.FromPiece = 1
	}
	if err := in.check(); err != nil {
		return Holdings{}, err
	}
	if !(confidence > 0 && confidence < 1) {
		return Holdings{}, refusal.One("confidence", refusal.Number(confidence), "must lie between 0 and 1", "")
	}
	h, err := newHolder(&in, &fresh, confidence)
	if err != nil {
		return Holdings{}, err
	}
	out := Holdings{Predicted: h.now.predicted, RolledKM: make([]float64, h.now.n)}
	for i := range out.RolledKM {
		out.RolledKM[i] = h.now.km[i+1] - h.now.km[i]
	}
	behind := h.behindWork()
	out.Places = append([]Holding{h.work()}, behind...)
	return out, nil
}

// Lasts says up to which piece, from 0, a set of fresh holds that goes in at its
// place before piece from, and what ends it: as in Hold, for one set that is named
// and one moment.
func Lasts(in Input, fresh Fresh, role mill.Role, from int, confidence float64) (until int, why string, err error) {
	if in.FromPiece == 0 {
		in.FromPiece = 1
	}
	if err := in.check(); err != nil {
		return 0, "", err
	}
	h, err := newHolder(&in, &fresh, confidence)
	if err != nil {
		return 0, "", err
	}
	r := h.fresh[role]
	behind := h.behindWork()
	if role == mill.Work {
		until = h.workUntil(r, from, from, false)
	}
	for _, p := range behind {
		if p.Role == role {
			until = p.Reach[from+1]
		}
	}
	barred := r.barredPieces(role)
	if at := firstBarred(barred, from, until); at < until {
		return at, barred[at], nil
	}
	if until < h.n {
		why = r.ends(role, from, until+1)
	}
	return until, why, nil
}

// holder has the runs that the reaches are read from.
type holder struct {
	in *Input
	// all is the confidence asked of the stand, each what is asked of a set alone.
	all, each float64
	n         int
	now       *run // of the sets in the stand, fresh ones in empty places
	fresh     map[mill.Role]*run
	behind    int // the piece to which all sets now in but the work set may stay
}

// behindRoles are the roles behind the work rolls.
var behindRoles = []mill.Role{mill.Intermediate, mill.Backup}

func newHolder(in *Input, fresh *Fresh, confidence float64) (*holder, error) {
	filled, places := *in, 1.0
	for _, role := range []mill.Role{mill.Work, mill.Intermediate, mill.Backup} {
		if len(in.of(role).Rolls) == 0 {
			*filled.of(role) = *fresh.Of(role)
		}
		if role != mill.Work && in.Stand.Arrangement.Takes(role) {
			places++
		}
	}
	h := &holder{in: in, all: confidence, each: math.Pow(confidence, 1/places), n: len(in.Pieces) - in.FromPiece + 1, fresh: map[mill.Role]*run{}}
	var err error
	if h.now, err = newRun(&filled, &filled.Work, &filled.Backup); err != nil {
		return nil, err
	}
	for i, why := range h.now.misfit {
		if why != "" {
			return nil, fmt.Errorf("piece %d (%s): %s", in.FromPiece+i, h.now.pieces[i].ID, why)
		}
	}
	for _, role := range append([]mill.Role{mill.Work}, behindRoles...) {
		if role != mill.Work && !in.Stand.Arrangement.Takes(role) {
			continue
		}
		set := *fresh.Of(role)
		set.Role = role
		if h.fresh[role], err = h.now.with(&set); err != nil {
			return nil, err
		}
		h.fresh[role].plan()
	}
	h.now.plan()
	h.behind = h.n
	return h, nil
}

// plan watches what a planner may still act on within a limit, such as going on
// through another groove, in place of the limit itself.
func (r *run) plan() { r.watches = limit.Planned(r.ahead) }

// behindWork works out the places behind the work rolls. They come first: how
// long the sets now in may stay bears on the work rolls.
func (h *holder) behindWork() (places []Holding) {
	// Together with the work set now in they may do better than each alone.
	together := h.last(0, h.n, func(n int) bool { return h.now.probability(both(span(0, n))) >= h.all })
	for _, role := range behindRoles {
		fresh := h.fresh[role]
		if fresh == nil {
			continue
		}
		alone := func(r *run, l, n int) bool {
			return r.surely(stretch{backup: []limit.Span{span(l, n)}}, h.each, role)
		}
		p := h.place(role, fresh)
		first := h.last(0, h.n, func(n int) bool { return alone(h.now, 0, n) })
		p.reach(h, max(first, together), func(l, from int) int {
			return h.last(from, h.n, func(n int) bool { return alone(fresh, l, n) })
		})
		if h.behind = min(h.behind, p.Reach[0]); len(p.Out) > 0 {
			h.behind = 0
		}
		places = append(places, p)
	}
	return places
}

func (h *holder) work() Holding {
	fresh := h.fresh[mill.Work]
	p := h.place(mill.Work, fresh)
	p.reach(h, h.workUntil(h.now, 0, 0, true), func(l, from int) int { return h.workUntil(fresh, l, from, false) })
	return p
}

// workUntil is the first piece that a work set in from piece l must not roll,
// known to be no earlier than from.
func (h *holder) workUntil(r *run, l, from int, exact bool) int {
	with := func(n int) bool {
		at := stretch{work: []limit.Span{span(l, n)}, backup: []limit.Span{span(0, n)}}
		if exact {
			return r.probability(at) >= h.all
		}
		return r.surely(at, h.all)
	}
	if from < h.behind {
		if n := h.last(from, h.behind, with); n < h.behind {
			return n
		}
	}
	return h.last(max(from, h.behind), h.n, func(n int) bool {
		return r.surely(stretch{work: []limit.Span{span(l, n)}}, h.each, mill.Work)
	})
}

// last is the greatest number from low up to high for which holds is true of it
// and, as is taken for granted, of all before; low where it is true of none. It
// looks near low first.
func (h *holder) last(low, high int, holds func(n int) bool) int {
	step := 1
	for low < high && holds(min(low+step, high)) {
		low, step = min(low+step, high), 2*step
	}
	if low == high {
		return high
	}
	top := min(low+step, high) // does not hold
	return low + sort.Search(top-low-1, func(i int) bool { return !holds(low + i + 1) })
}

// place starts a place with what is known beforehand.
func (h *holder) place(role mill.Role, fresh *run) Holding {
	p := Holding{Role: role, Alone: -1, ByTest: true, now: h.now, fresh: fresh}
	now := h.now
	if len(h.in.of(role).Rolls) == 0 {
		p.Out, p.ByTest = []string{"no set is in it"}, false
	}
	_, bars := now.checkBeforehand()
	for _, b := range bars {
		if b.piece == 0 && b.role == role && len(p.Out) < maxOut {
			p.Out = append(p.Out, b.why)
			p.ByTest = p.ByTest && b.byTest
		}
	}
	p.ByTest = p.ByTest && len(p.Out) > 0
	return p
}

// maxOut is how many reasons are given at most.
const maxOut = 4

// reach fills the reaches: that of the set now in, and of fresh ones by until,
// which is told where the one before ended.
func (p *Holding) reach(h *holder, first int, until func(l, from int) int) {
	p.Reach = make([]int, h.n+1)
	barred := p.fresh.barredPieces(p.Role)
	p.Reach[0] = firstBarred(h.now.barredPieces(p.Role), 0, first)
	wavers := slices.ContainsFunc(p.fresh.watches, func(w limit.Watch) bool { return w.Wavers() })
	free := 0
	for l := range h.n {
		if free = max(free, l); wavers {
			free = l
		}
		free = until(l, free)
		at := firstBarred(barred, l, free)
		if at == l && p.Alone < 0 {
			p.Alone, p.AloneWhy = l, barred[l]
			if p.AloneWhy == "" {
				p.AloneWhy = "alone passes a limit of a fresh set: " + p.fresh.ends(p.Role, l, l+1)
			}
		}
		p.Reach[l+1] = at
	}
	// One that goes in later is never said to last less far.
	for l := h.n - 1; l > 0; l-- {
		p.Reach[l] = min(p.Reach[l], p.Reach[l+1])
	}
}

// firstBarred is the first barred piece from one up to but not to another, the
// latter where there is none.
func firstBarred(barred []string, from, to int) int {
	for i := from; i < to; i++ {
		if barred[i] != "" {
			return i
		}
	}
	return to
}

// barredPieces says of each piece why the rolls of a role cannot roll it.
func (r *run) barredPieces(role mill.Role) []string {
	barred := make([]string, r.n)
	for _, f := range limit.FixedOf(r.ahead) {
		for i, v := range f.PerPiece {
			name := f.Roll
			if f.Rolls != nil {
				name = f.Rolls[i]
			}
			if !math.IsNaN(v) && f.Passed(v) && r.roleNamed(name) == role && !f.Informs && barred[i] == "" {
				barred[i] = fmt.Sprintf("%s, limit of %s %s", f.Words+" "+f.Value(v), r.in.Stand.Name, f.Value(f.Limit))
			}
		}
	}
	return barred
}

// Ends says which limit ends the stay of a set at the place: of the one now in
// where since is below 0, else of a fresh one that goes in before piece since. It
// is empty where none does within the programme.
func (p *Holding) Ends(since int) string {
	n := p.Reach[since+1]
	r := p.fresh
	if since < 0 {
		r = p.now
	}
	if n >= len(p.Reach)-1 {
		return ""
	}
	if why := r.barredPieces(p.Role)[n]; why != "" {
		return why
	}
	return r.ends(p.Role, max(since, 0), n+1)
}

// ends names the limit that is the least sure to be kept by the rolls of a role
// from a piece up to but not to another.
func (r *run) ends(role mill.Role, from, to int) string {
	least, said := 2.0, ""
	for i := range r.watches {
		w := &r.watches[i]
		if r.roleOf(w.Roll) != role {
			continue
		}
		s := r.soft(i)
		lines := r.linesOf(w, nil, []limit.Span{span(from, to)})
		if p := s.below(lines, w.Bound); p < least {
			least = p
			number := r.rolls()[w.Roll].Number
			said = w.Reaches(number, w.Limit, w.Groove)
			if w.Past() {
				said = w.IsPast(number, w.Limit, w.Now(), w.Groove)
			}
		}
	}
	return said
}

// surely says whether the probability is at least p, by bounds where they tell:
// no more than that of any limit or any pair of rolls alone, and no less than the
// product of all of them, as whatever makes one likelier makes no other less
// likely.
func (r *run) surely(at stretch, p float64, only ...mill.Role) bool {
	if !r.lay(at, only) {
		return false
	}
	most, least, known := r.risk.within(r.sets())
	switch {
	case most < p-bivariateError:
		return false
	case known && least >= p+bivariateError:
		return true
	}
	return r.probability(at, only...) >= p
}

// bivariateError is more than what the bivariate rule is off at the correlations
// there are.
const bivariateError = 2e-4

// within bounds the probability of what was laid. known is false where rolls are
// worn already: for these there is no closed form.
func (k *risk) within(sets [3]setOf) (most, least float64, known bool) {
	most, least, known = 1, 1, true
	take := func(p float64) { most, least = min(most, p), least*p }
	for _, h := range k.planes {
		take(cdf(h.end / math.Hypot(h.e, h.f)))
	}
	for _, set := range sets {
		var room, sd [2]float64
		for j := set.from; j < set.to; j++ {
			i := j - set.from
			sd[i] = math.Hypot(k.rolls[j].sd, k.sdG)
			room[i] = math.Inf(1)
			for _, u := range k.rolls[j].wear {
				lines := k.lines[u.from:u.to]
				if limit.Greatest(lines, 0) > 0 {
					known = false
					continue
				}
				room[i] = min(room[i], deviations(u.bound, limit.Greatest(lines, 1), sd[i]))
			}
		}
		switch set.to - set.from {
		case 1:
			take(cdf(room[0]))
		case 2:
			a, b := &k.rolls[set.from], &k.rolls[set.from+1]
			take(bivariate(room[0], room[1], (b.rho*a.sd*b.sd+k.sdG*k.sdG)/(sd[0]*sd[1])))
		}
	}
	return most, least, known
}
