package finish

import (
	"math"
	"sort"
)

// soft is one criterion of one roll with its own distribution.
type soft struct {
	margin Margin
	// use is expected after the first m pieces, every factor at its median.
	use func(m int) float64
	// holds is the probability that the limit is not passed by then.
	holds func(m int) float64
	// at is the use that stays below with probability p.
	at func(m int, p float64) float64
	// falls is true where the limit is passed on the way down.
	falls bool
}

// softs lists the soft criteria that apply.
func (r *run) softs() []soft {
	var list []soft
	for j, roll := range r.rolls {
		if roll.MaxCampaignT.Set {
			list = append(list, r.tonnage(roll))
		}
		if roll.MaxCampaignKM.Set {
			list = append(list, r.kilometres(roll))
		}
		list = append(list, r.grooves(roll)...)
		if s, ok := r.fireCracks(roll); ok {
			list = append(list, s)
		}
		if s, ok := r.rough(roll); ok {
			list = append(list, s)
		}
		if (roll.MaxWearUM.Set || roll.ScrapDiameterMM > 0) && r.wearKnown(j) {
			list = append(list, r.wears(j)...)
		}
		if s, ok := r.fatigued(j); ok {
			list = append(list, s)
		}
		if roll.MaxPeakPressureMPa.Set && r.gather(r.first(r.n)...).pressure > 0 {
			list = append(list, r.pressed(roll))
		}
	}
	return list
}

func (r *run) wearKnown(j int) bool {
	return r.rolls[j].WornUM != nil || r.wear[j].sums != nil
}

func (r *run) tonnage(roll *Roll) soft {
	use := func(m int) float64 { return roll.Campaign.TonnageT + r.gather(r.first(m)...).tonnes }
	return soft{
		margin: Margin{Roll: roll.Number, Criterion: CampaignTonnage, Unit: "t", Limit: roll.MaxCampaignT.Number, Now: roll.Campaign.TonnageT,
			Source: "limit: " + roll.MaxCampaignT.Source + "; use: pieces rolled and masses of the programme, taken as exact"},
		use:   use,
		holds: func(m int) float64 { return certain(use(m) <= roll.MaxCampaignT.Number) },
		at:    func(m int, _ float64) float64 { return use(m) },
	}
}

func certain(holds bool) float64 {
	if holds {
		return 1
	}
	return 0
}

func (r *run) kilometres(roll *Roll) soft {
	s, limit := spread(r.in.LengthCV), roll.MaxCampaignKM.Number
	ahead := func(m int) float64 { return r.gather(r.first(m)...).km }
	return soft{
		margin: Margin{Roll: roll.Number, Criterion: CampaignKM, Unit: "km", Limit: limit, Now: roll.Campaign.RolledKM,
			Source: "limit: " + roll.MaxCampaignKM.Source + "; use: pieces rolled, and masses, widths and thicknesses of the programme" + cvSource("length_cv", r.in.LengthCV)},
		use:   func(m int) float64 { return roll.Campaign.RolledKM + ahead(m) },
		holds: func(m int) float64 { return cdf(deviations(limit-roll.Campaign.RolledKM, ahead(m), s)) },
		at:    func(m int, p float64) float64 { return roll.Campaign.RolledKM + ahead(m)*math.Exp(s*quantile(p)) },
	}
}

func (r *run) pressed(roll *Roll) soft {
	s, limit := spread(r.in.ForceCV)/2, roll.MaxPeakPressureMPa.Number
	use := func(m int) float64 { return r.gather(r.first(m)...).pressure }
	return soft{
		margin: Margin{Roll: roll.Number, Criterion: PeakPressure, Unit: "MPa", Limit: limit, Now: roll.Campaign.MaxPeakPressureMPa,
			Source: "limit: " + roll.MaxPeakPressureMPa.Source + "; use: forces of the programme and the diameters as ground" + cvSource("force_cv", r.in.ForceCV)},
		use:   use,
		holds: func(m int) float64 { return cdf(deviations(limit, use(m), s)) },
		at:    func(m int, p float64) float64 { return use(m) * math.Exp(s*quantile(p)) },
	}
}

// wears are the deepest wear against the practice, and the diameter it leaves
// against the scrap limit.
func (r *run) wears(j int) []soft {
	roll := r.rolls[j]
	w := wearDistribution{run: r, j: j}
	now := 0.0
	for _, um := range roll.WornUM {
		now = max(now, um)
	}
	source := "; use: computed from pieces rolled and to come, rate " + number(roll.Rate.UmPerKmAt10) + " µm/km at 10 kN/mm ± " +
		number(100*math.Hypot(roll.SharedCV, roll.OwnCV)) + " % from " + roll.RateSource
	var list []soft
	if roll.MaxWearUM.Set {
		limit := roll.MaxWearUM.Number
		list = append(list, soft{
			margin: Margin{Roll: roll.Number, Criterion: Wear, Unit: "µm", Limit: limit, Now: now, Source: "limit: " + roll.MaxWearUM.Source + source},
			use:    w.median, holds: func(m int) float64 { return w.below(m, limit) }, at: w.quantile,
		})
	}
	if roll.ScrapDiameterMM > 0 {
		room := 1000 * (roll.DiameterMM - roll.ScrapDiameterMM)
		list = append(list, soft{
			margin: Margin{Roll: roll.Number, Criterion: ScrapDiameter, Unit: "mm", Limit: roll.ScrapDiameterMM, Now: roll.DiameterMM - now/1000,
				Source: "limit: " + roll.ScrapLimit + " of the roll; diameter as ground less the deepest wear" + source},
			use:   func(m int) float64 { return roll.DiameterMM - w.median(m)/1000 },
			holds: func(m int) float64 { return w.below(m, room) },
			at:    func(m int, p float64) float64 { return roll.DiameterMM - w.quantile(m, 1-p)/1000 },
			falls: true,
		})
	}
	return list
}

// wearDistribution is the deepest wear of roll j by itself:
// A·O·max over x of (w₀ + G·Δw) with G = E·Fᵃ.
type wearDistribution struct {
	*run
	j int
}

func (w wearDistribution) median(m int) float64 { return w.deepest(w.gather(w.first(m)...), w.j, 1) }

func (w wearDistribution) sdOfG() float64 {
	return math.Hypot(w.risk.sdE, w.rolls[w.j].exponent()*w.risk.sdF)
}

func (w wearDistribution) below(m int, limit float64) float64 {
	u, k := w.gather(w.first(m)...), &w.risk
	s, sd := w.sdOfG(), k.rolls[w.j].sd
	if s == 0 {
		return cdf(deviations(limit, w.deepest(u, w.j, 1), sd))
	}
	k.panels.reset(math.Inf(1))
	k.panels.step(math.Log(w.endOfWear(u, w.j, limit))/s, sd/s)
	p := k.panels.integrate(func(z float64) float64 {
		return cdf(deviations(limit, w.deepest(u, w.j, math.Exp(s*z)), sd))
	})
	return min(max(p, 0), 1)
}

// quantile is the depth that is not passed with probability p: by the secant
// method on the normal deviate of the probability, which is nearly a straight
// line in the logarithm of the depth, and by halves where a step leaves the
// bracket.
func (w wearDistribution) quantile(m int, p float64) float64 {
	median := w.median(m)
	if median == 0 {
		return 0
	}
	z, sd := quantile(p), w.risk.rolls[w.j].sd
	reach := beyond * (sd + w.sdOfG())
	low, high := math.Log(median)-reach, math.Log(median)+reach
	off := func(x float64) float64 {
		return quantile(min(max(w.below(m, math.Exp(x)), 1e-12), 1-1e-12)) - z
	}
	x, slope := math.Log(median)+z*sd, sd
	for at, tries := off(x), 0; math.Abs(at) > 1e-7 && tries < 60; tries++ {
		if at < 0 {
			low = x
		} else {
			high = x
		}
		next := x - at*slope
		if next <= low || next >= high {
			next = (low + high) / 2
		}
		then := off(next)
		if then != at {
			slope = max((next-x)/(then-at), sd/2)
		}
		x, at = next, then
	}
	return math.Exp(x)
}

// sure is how sure the early of the two places where a limit is reached is.
const sure = 0.90

// judge fills the margin at the end of the programme and finds where the limit
// is reached.
func (s soft) judge(r *run) Margin {
	m := s.margin
	m.AtEnd, m.Probability = s.use(r.n), s.holds(r.n)
	m.AtEndLow, m.AtEndHigh = s.at(r.n, 0.05), s.at(r.n, 0.95)
	passed := func(count int) bool {
		if s.falls {
			return s.use(count) < m.Limit
		}
		return s.use(count) > m.Limit
	}
	if passed(r.n) {
		m.Reached = r.reached(1 + sort.Search(r.n-1, func(i int) bool { return passed(i + 1) }))
	}
	if m.Probability < sure {
		m.ReachedP10 = r.reached(1 + sort.Search(r.n-1, func(i int) bool { return s.holds(i+1) < sure }))
	}
	if !r.in.Explain {
		m.Source = ""
	}
	return m
}

// reached is the place of the count-th piece asked about.
func (r *run) reached(count int) *Reached {
	return &Reached{Piece: r.in.FromPiece + count - 1, PieceID: r.pieces[count-1].ID, TonnageT: r.tonnes[count], RolledKM: r.km[count], pastStart: count}
}
