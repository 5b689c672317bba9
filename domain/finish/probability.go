package finish

import (
	"math"

	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/standing"
)

// The uncertain factors, all log-normal with median 1 and independent:
//
//	E  of the length rolled over the length planned, one for the programme
//	F  of the force over the force planned, one for the programme
//	A  of the wear rate, one for the rolls of a set (same grade, same stand)
//	O  of the wear rate, each roll's own
//
// After a part of the programme a use stands at (package limit, Spread)
//
//	A·O·max over lines of (borne + Eᵉ·Fᶠ·added)
//
// with A and O only for uses by wear, and for these e = 1 and f = a, the exponent
// of force in wear. Given G = E·Fᵃ the two rolls of a set are a bivariate normal
// pair, and log E is normal. Every other use is a half-plane in (log E, log F):
// through log F = (log G − log E)/a a bound on log E from above where e > f/a,
// from below where e < f/a, and on G itself where they are equal. So one integral
// over G remains, done by Gauss and Legendre's rule. No random numbers: the same
// input gives the same probability. It is tested against counting a million
// draws. The exponent a is that of the rolls with the steepest one; a set of
// another exponent gets the doubt of the force a little wrong, not its wear.

// leastWearSD is how well a rate may be known at best: an entered spread of 0
// stands for it. Without it a probability would be a step.
const leastWearSD = 0.01

// wearSpread gives the two parts of the wear rate's spread.
func wearSpread(r *standing.Roll) (shared, own float64) {
	shared, own = limit.LogSD(r.SharedCV), limit.LogSD(r.OwnCV)
	if total := math.Hypot(shared, own); total < leastWearSD {
		return 0, leastWearSD
	}
	// A correlation of 1 is out of the bivariate rule's reach.
	return shared, max(own, 0.1*shared)
}

// risk is what a probability needs of the rolls, worked out once for a run, and
// room to work in.
type risk struct {
	sdE, sdF float64 // of log E and log F
	exponent float64 // a
	sdG      float64
	c, s     float64 // log E given G = e^(sdG·z): mean c·z, deviation s, in sdE
	rolls    []rollRisk
	panels   panels
	lines    []limit.Line
	planes   []halfPlane
}

type rollRisk struct {
	sd   float64 // of the log of its rate
	rho  float64 // with the roll before it in the set
	wear []rateUse
}

// rateUse are the lines of a use by wear and its bound.
type rateUse struct {
	from, to int // in risk.lines
	bound    float64
}

func (r *run) assess() {
	k := &r.risk
	*k = risk{sdE: limit.LogSD(r.in.LengthCV), sdF: limit.LogSD(r.ahead.ForceCV), rolls: make([]rollRisk, len(r.rolls()))}
	works := len(r.work().Rolls)
	for j, roll := range r.rolls() {
		if j < works || works == 0 {
			k.exponent = max(k.exponent, roll.WearExponent())
		}
		shared, own := wearSpread(roll)
		k.rolls[j] = rollRisk{sd: math.Hypot(shared, own)}
		if j > 0 && r.roleOf(j) == r.roleOf(j-1) {
			before, _ := wearSpread(r.rolls()[j-1])
			k.rolls[j].rho = shared * before / (k.rolls[j].sd * k.rolls[j-1].sd)
		}
	}
	k.sdG = math.Hypot(k.sdE, k.exponent*k.sdF)
	if k.sdG > 0 {
		k.c, k.s = k.sdE/k.sdG, k.exponent*k.sdF/k.sdG
	}
}

// probability is that of passing no limit while the rolls take the stretch, as
// answers before came true. With a role only the limits of its rolls are asked about.
func (r *run) probability(at stretch, only ...mill.Role) float64 {
	return r.in.Recalibration.Of(r.modelled(at, only...))
}

// modelled is the probability by the distributions above.
func (r *run) modelled(at stretch, only ...mill.Role) float64 {
	k := &r.risk
	if !r.lay(at, only) {
		return 0
	}
	atRisk := k.wearAtRisk()
	if k.sdG == 0 {
		return r.wearHolds(1)
	}
	if p, ok := k.apart(); ok && !atRisk {
		return p
	}
	k.layPanels()
	for j := range k.rolls {
		k.panels.step(math.Log(k.endOfWear(j))/k.sdG, k.rolls[j].sd/k.sdG)
	}
	p := k.panels.integrate(func(z float64) float64 {
		share := k.share(z)
		if share == 0 || !atRisk {
			return share
		}
		return share * r.wearHolds(math.Exp(k.sdG*z))
	})
	return min(max(p, 0), 1)
}

// lay works out the lines of all watches. It is false where a limit is passed
// for certain.
func (r *run) lay(at stretch, only []mill.Role) bool {
	k := &r.risk
	k.lines, k.planes = k.lines[:0], k.planes[:0]
	for j := range k.rolls {
		k.rolls[j].wear = k.rolls[j].wear[:0]
	}
	for i := range r.watches {
		w := &r.watches[i]
		role := r.roleOf(w.Roll)
		if len(only) > 0 && only[0] != role {
			continue
		}
		if _, wear := w.Growth.(limit.Along); wear && w.Spread.Rate && len(k.rolls[w.Roll].wear) > 0 {
			// The wear of the roll against another bound.
			use := &k.rolls[w.Roll].wear[0]
			use.bound = min(use.bound, w.Bound)
			continue
		}
		from := len(k.lines)
		k.lines = r.linesOf(w, k.lines, at.of(role))
		if w.Spread.Rate {
			k.rolls[w.Roll].wear = append(k.rolls[w.Roll].wear, rateUse{from, len(k.lines), w.Bound})
			continue
		}
		h := halfPlane{e: w.Spread.Length * k.sdE, f: w.Spread.Force * k.sdF}
		if h.e == 0 && h.f == 0 {
			if passes(k.lines[from:], w.Bound) {
				return false
			}
			continue
		}
		h.end = math.Log(roomOf(k.lines[from:], w.Bound))
		if h.end <= -beyond*(h.e+h.f) {
			return false
		}
		if h.end < beyond*(h.e+h.f) {
			k.planes = append(k.planes, h)
		}
	}
	return true
}

// setOf are the rolls of one set among those of the stand.
type setOf struct{ from, to int }

// sets are those of the stand, from the strip outward; empty for an empty place.
func (r *run) sets() [3]setOf {
	works := len(r.work().Rolls)
	backups := works + len(r.stand.Intermediate.Rolls)
	return [3]setOf{{0, works}, {works, backups}, {backups, len(r.rolls())}}
}

func (r *run) roleOf(j int) mill.Role {
	switch {
	case j < len(r.work().Rolls):
		return mill.Work
	case j < len(r.work().Rolls)+len(r.stand.Intermediate.Rolls):
		return mill.Intermediate
	}
	return mill.Backup
}

// halfPlane bounds e·x + f·y ≤ end, x and y the standard normal deviates of
// length and force.
type halfPlane struct{ e, f, end float64 }

// apart is the probability that all half-planes hold where each bounds length
// or force alone; ok is false where one bounds both.
func (k *risk) apart() (p float64, ok bool) {
	x, y := math.Inf(1), math.Inf(1)
	for _, h := range k.planes {
		switch {
		case h.f == 0:
			x = min(x, h.end/h.e)
		case h.e == 0:
			y = min(y, h.end/h.f)
		default:
			return 0, false
		}
	}
	return cdf(x) * cdf(y), true
}

// given turns the half-plane into a bound on ξ, where x = c·z + s·ξ and
// y = s·z − c·ξ are length and force at G = e^(sdG·z): slope·ξ ≤ at(z).
func (h halfPlane) given(k *risk) (slope, perZ float64) {
	return h.e*k.s - h.f*k.c, h.e*k.c + h.f*k.s
}

// parallel is how small a slope counts as none.
const parallel = 1e-12

func (h halfPlane) parallel(slope float64) bool { return math.Abs(slope) <= parallel*(h.e+h.f) }

// layPanels puts the panels where the bounds make a step, up to where a bound on
// G ends them.
func (k *risk) layPanels() {
	upper := math.Inf(1)
	for _, h := range k.planes {
		if slope, perZ := h.given(k); h.parallel(slope) {
			upper = min(upper, h.end/perZ)
		}
	}
	k.panels.reset(upper)
	for _, h := range k.planes {
		if slope, perZ := h.given(k); !h.parallel(slope) {
			k.panels.step(h.end/perZ, math.Abs(slope/perZ))
		}
	}
}

// share is the probability that all half-planes hold, given G.
func (k *risk) share(z float64) float64 {
	highest, lowest := math.Inf(1), math.Inf(-1)
	for _, h := range k.planes {
		slope, perZ := h.given(k)
		switch at := h.end - perZ*z; {
		case h.parallel(slope):
			if at < 0 {
				return 0
			}
		case slope > 0:
			highest = min(highest, at/slope)
		default:
			lowest = max(lowest, at/slope)
		}
	}
	return max(0, cdf(highest)-cdf(lowest))
}

// deviations is how many standard deviations s of its logarithm a use must be
// off to come from its median to the room there is.
func deviations(room, use, s float64) float64 {
	switch {
	case use <= 0:
		return math.Inf(1)
	case room <= 0:
		return math.Inf(-1)
	}
	return math.Log(room/use) / s
}

// wearAtRisk is false where no wear limit comes within reach of any roll.
func (k *risk) wearAtRisk() bool {
	for j := range k.rolls {
		for _, u := range k.rolls[j].wear {
			if worn := limit.Greatest(k.lines[u.from:u.to], 1); worn > 0 && worn*math.Exp(beyond*(k.rolls[j].sd+k.sdG)) > u.bound {
				return true
			}
		}
	}
	return false
}

// endOfWear is the factor G at which roll j comes to its wear limit at its
// median rate; +Inf where it never does.
func (k *risk) endOfWear(j int) float64 {
	least := math.Inf(1)
	for _, u := range k.rolls[j].wear {
		least = min(least, roomOf(k.lines[u.from:u.to], u.bound))
	}
	return least
}

// wearHolds is the probability that no roll passes its wear limit, given G.
func (r *run) wearHolds(factor float64) float64 {
	p := 1.0
	for _, set := range r.sets() {
		p *= r.pairHolds(set.from, set.to, factor)
	}
	return p
}

// pairHolds is that of the rolls from up to but not to, one set.
func (r *run) pairHolds(from, to int, factor float64) float64 {
	k := &r.risk
	switch to - from {
	case 0:
		return 1
	case 1:
		return cdf(k.wearRoom(from, factor))
	}
	return bivariate(k.wearRoom(from, factor), k.wearRoom(from+1, factor), k.rolls[from+1].rho)
}

// wearRoom is how many standard deviations of its rate roll j is from its wear
// limit.
func (k *risk) wearRoom(j int, factor float64) float64 {
	room := math.Inf(1)
	for _, u := range k.rolls[j].wear {
		room = min(room, deviations(u.bound, limit.Greatest(k.lines[u.from:u.to], factor), k.rolls[j].sd))
	}
	return room
}
