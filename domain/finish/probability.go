package finish

import (
	"math"
)

// The uncertain factors, all log-normal with median 1 and independent:
//
//	E  of the length rolled over the length planned, one for the programme
//	F  of the force over the force planned, one for the programme
//	A  of the wear rate, one for the rolls of a set (same grade, same stand)
//	O  of the wear rate, each roll's own
//
// After a part of the programme a roll stands at
//
//	km         km₀ + E·Δkm
//	pressure   p·√F
//	wear       A·O·max over x of (w₀(x) + G·Δw(x)),   G = E·Fᵃ
//	fatigue    as in tired, E·F^(m/2)
//
// with w₀ the wear so far, computed at the same rate and so with the same doubt.
// Given G the two rolls of a set are a bivariate normal pair, and log E is
// normal with kilometres bounding it from above and pressure and fatigue, through
// log F = (log G − log E)/a, from below. So one integral over G remains, done by
// Gauss and Legendre's rule. No random numbers: the same input gives the same probability.
// It is tested against counting a million draws. The exponent a is that of the
// rolls with the steepest one; a set of another exponent gets the doubt of the
// force a little wrong, not its wear.

// leastWearSD is how well a rate may be known at best: an entered spread of 0
// stands for it. Without it a probability would be a step.
const leastWearSD = 0.01

// spread is the standard deviation of the logarithm that goes with a
// coefficient of variation.
func spread(cv float64) float64 { return math.Sqrt(math.Log1p(cv * cv)) }

// wearSpread gives the two parts of the wear rate's spread.
func (r *Roll) wearSpread() (shared, own float64) {
	shared, own = spread(r.SharedCV), spread(r.OwnCV)
	if total := math.Hypot(shared, own); total < leastWearSD {
		return 0, leastWearSD
	}
	// A correlation of 1 is out of the bivariate rule's reach.
	return shared, max(own, 0.1*shared)
}

// wearLimit is the depth at which the roll must come out: the practice's, or
// what is left above the scrap limit. 0 where there is neither.
func (r *Roll) wearLimit() float64 {
	limit := math.Inf(1)
	if r.MaxWearUM.Set {
		limit = r.MaxWearUM.Number
	}
	if r.ScrapDiameterMM > 0 {
		limit = min(limit, 1000*(r.DiameterMM-r.ScrapDiameterMM))
	}
	return limit
}

// risk is what a probability needs of the rolls, worked out once for a run.
type risk struct {
	sdE, sdF float64 // of log E and log F
	exponent float64
	halfM    float64 // m/2 of fatigue
	sdG      float64
	c, s     float64 // log E given G = e^(sdG·z): mean c·z, deviation s, in sdE
	rolls    []rollRisk
	panels   panels
}

type rollRisk struct {
	limit float64 // of wear, µm
	sd    float64 // of the log of its rate
	rho   float64 // with the roll before it in the set
}

func (r *run) assess() {
	k := risk{sdE: spread(r.in.LengthCV), sdF: spread(r.in.ForceCV), rolls: make([]rollRisk, len(r.rolls))}
	if r.in.Models != nil && r.in.Models.Kernel != nil {
		k.halfM = r.in.Models.Kernel.Policy().Exponent / 2
	}
	for j, roll := range r.rolls {
		if j < len(r.work.Rolls) || len(r.work.Rolls) == 0 {
			k.exponent = max(k.exponent, roll.exponent())
		}
		shared, own := roll.wearSpread()
		k.rolls[j] = rollRisk{limit: roll.wearLimit(), sd: math.Hypot(shared, own)}
		if j > 0 {
			before, _ := r.rolls[j-1].wearSpread()
			k.rolls[j].rho = shared * before / (k.rolls[j].sd * k.rolls[j-1].sd)
		}
	}
	k.sdG = math.Hypot(k.sdE, k.exponent*k.sdF)
	if k.sdG > 0 {
		k.c, k.s = k.sdE/k.sdG, k.exponent*k.sdF/k.sdG
	}
	r.risk = k
}

// probability is that of passing no soft limit while the spans are rolled.
func (r *run) probability(spans ...span) float64 {
	u := r.gather(spans...)
	e := r.bounds(u)
	k := &r.risk
	atRisk := r.wearAtRisk(u)
	switch {
	case e.length <= -beyond || e.force <= -beyond || math.IsInf(e.fatigue, -1):
		return 0
	case k.sdG == 0 && e.fatigue < 0:
		return 0
	case k.sdG == 0:
		return r.wearHolds(u, 1)
	case !atRisk && e.fatigue > beyond*(k.sdE+k.halfM*k.sdF):
		return cdf(e.length) * cdf(e.force)
	}
	k.lay(e)
	for j := range r.rolls {
		k.panels.step(math.Log(r.endOfWear(u, j, k.rolls[j].limit))/k.sdG, k.rolls[j].sd/k.sdG)
	}
	p := k.panels.integrate(func(z float64) float64 {
		share := k.share(z, e)
		if share == 0 || !atRisk {
			return share
		}
		return share * r.wearHolds(u, math.Exp(k.sdG*z))
	})
	return min(max(p, 0), 1)
}

// ends are how far the factors may go before a limit other than wear is passed:
// E and F in standard deviations, E·F^(m/2) as a logarithm. ±Inf where none is
// or all do.
type ends struct{ length, force, fatigue float64 }

// lay puts the panels where the integrand has its steps.
func (k *risk) lay(e ends) {
	k.panels.reset(math.Inf(1))
	switch {
	case k.s == 0: // E is all there is of G
		k.panels.reset(min(e.length, e.fatigue/k.sdG))
	case k.c == 0: // F is
		k.panels.reset(min(e.force, e.fatigue/(k.halfM*k.sdF+1e-300)))
	default:
		k.panels.step(e.length/k.c, k.s/k.c)
		k.panels.step(e.force/k.s, k.c/k.s)
		if ratio := k.halfM / k.exponent; ratio != 1 {
			slope := ratio*k.sdG/(k.sdE*(ratio-1)) - k.c
			k.panels.step(e.fatigue/(k.sdE*(ratio-1)*slope), math.Abs(k.s/slope))
		} else {
			k.panels.reset(min(beyond, e.fatigue/k.sdG))
		}
	}
}

// share is the probability that length, force and fatigue stay below their
// ends, given G.
func (k *risk) share(z float64, e ends) float64 {
	if k.s == 0 || k.c == 0 {
		return 1 // the end of z says it
	}
	highest, lowest := e.length, math.Inf(-1)
	if !math.IsInf(e.force, 1) {
		// F at its end is E at (sdG·z − a·sdF·end)/sdE.
		lowest = (z - k.s*e.force) / k.c
	}
	// E·F^(m/2) is E^(1−m/2a)·G^(m/2a).
	if ratio := k.halfM / k.exponent; !math.IsInf(e.fatigue, 1) {
		at := (e.fatigue - ratio*k.sdG*z) / (k.sdE * (1 - ratio))
		switch {
		case ratio > 1:
			lowest = max(lowest, at)
		case ratio < 1:
			highest = min(highest, at)
		}
	}
	return max(0, cdf((highest-k.c*z)/k.s)-cdf((lowest-k.c*z)/k.s))
}

// bounds are where a limit on kilometres, tonnes, pressure or fatigue is passed.
func (r *run) bounds(u *usage) ends {
	endE, endF, fatigue := math.Inf(1), math.Inf(1), math.Inf(1)
	sE, sF := r.risk.sdE, r.risk.sdF
	for j, roll := range r.rolls {
		fatigue = min(fatigue, r.endOfDamage(u, j))
		if roll.MaxCampaignT.Set && u.tonnes > 0 && roll.Campaign.TonnageT+u.tonnes > roll.MaxCampaignT.Number {
			return ends{math.Inf(-1), endF, fatigue}
		}
		if roll.groovePassed(u) || roll.cracksPassed(u) {
			return ends{math.Inf(-1), endF, fatigue}
		}
		if km := roll.roughKM(); !math.IsInf(km, 1) {
			endE = min(endE, deviations(km-roll.SinceGrind.RolledKM, u.km, sE))
		}
		if roll.MaxCampaignKM.Set {
			endE = min(endE, deviations(roll.MaxCampaignKM.Number-roll.Campaign.RolledKM, u.km, sE))
		}
		if roll.MaxPeakPressureMPa.Set {
			endF = min(endF, deviations(roll.MaxPeakPressureMPa.Number, u.pressure, sF/2))
		}
	}
	return ends{endE, endF, fatigue}
}

// deviations is how many standard deviations s of its logarithm a use must be
// off to come from its median to the room there is.
func deviations(room, use, s float64) float64 {
	switch {
	case use <= 0:
		return math.Inf(1)
	case room <= 0:
		return math.Inf(-1)
	case s == 0 && use <= room:
		return math.Inf(1)
	case s == 0:
		return math.Inf(-1)
	}
	return math.Log(room/use) / s
}

// wearAtRisk is false where no wear limit comes within reach of any roll.
func (r *run) wearAtRisk(u *usage) bool {
	for j, k := range r.risk.rolls {
		if deepest := r.deepest(u, j, 1); deepest > 0 && deepest*math.Exp(beyond*(k.sd+r.risk.sdG)) > k.limit {
			return true
		}
	}
	return false
}

// deepest is max over x of (w₀(x) + factor·Δw(x)) of roll j, µm.
func (r *run) deepest(u *usage, j int, factor float64) float64 {
	deepest := 0.0
	for _, l := range u.lines[j] {
		deepest = max(deepest, l.worn+factor*l.added)
	}
	return deepest
}

// endOfWear is the factor G at which the deepest wear of roll j comes to the
// limit at its median rate; +Inf where it never does.
func (r *run) endOfWear(u *usage, j int, limit float64) float64 {
	least := math.Inf(1)
	for _, l := range u.lines[j] {
		if l.added > 0 {
			least = min(least, max(0, limit-l.worn)/l.added)
		}
	}
	return least
}

// wearHolds is the probability that no roll passes its wear limit, given G.
func (r *run) wearHolds(u *usage, factor float64) float64 {
	return r.pairHolds(u, 0, len(r.work.Rolls), factor) * r.pairHolds(u, len(r.work.Rolls), len(r.rolls), factor)
}

// pairHolds is that of the rolls from up to but not to, one set.
func (r *run) pairHolds(u *usage, from, to int, factor float64) float64 {
	switch to - from {
	case 0:
		return 1
	case 1:
		return cdf(r.wearRoom(u, from, factor))
	}
	return bivariate(r.wearRoom(u, from, factor), r.wearRoom(u, from+1, factor), r.risk.rolls[from+1].rho)
}

// wearRoom is how many standard deviations of its rate roll j is from its wear
// limit.
func (r *run) wearRoom(u *usage, j int, factor float64) float64 {
	return deviations(r.risk.rolls[j].limit, r.deepest(u, j, factor), r.risk.rolls[j].sd)
}
