package heat

import (
	"math"

	"barrelbook/domain/refusal"
)

// CrownModel is how a rolling roll warms along its barrel. T is the mean over the
// radius, as growth g of the diameter in µm over what it is at the temperature of
// the coolant. Heat enters where the strip is, leaves over the whole barrel in
// proportion to g and runs along the roll; no heat passes the barrel's ends:
//
//	∂g/∂t = [c∞·s(x) − g]/τ + a·∂²g/∂x²,  s = 1 under the strip, 0 beside it
//
// with τ the time constant of rolling, or of resting where s = 0. It is the
// equation of a fin (Carslaw and Jaeger, Conduction of Heat in Solids, §4.2; any
// text on fins). Under a strip as wide as the barrel, g is even along it and
// follows c∞(1 − e^(−t/τ)); at rest the mean over the barrel falls as e^(−t/τ)
// whatever the shape. The fall beside the strip takes some ℓ = √(aτ), 120 mm for
// an iron roll and half an hour.
//
// Typical (no source): c∞ of 100 to 300 µm in hot mills, 20 to 80 in cold ones,
// time constants of 15 to 45 minutes. To be set per stand.
type CrownModel struct {
	// SteadyUM is c∞ ≥ 0, the growth under the middle of a wide strip in endless
	// rolling, µm on diameter.
	SteadyUM float64
	// RollingTauMin and IdleTauMin are the time constants, above 0.
	RollingTauMin, IdleTauMin float64
	// DiffusivityMM2PerS is a = k/(ρc); 0 for DefaultDiffusivityMM2PerS.
	DiffusivityMM2PerS float64
}

// DefaultDiffusivityMM2PerS is that of roll iron, k 30 W/mK over ρc 3.8e6 J/m³K;
// steel rolls lie at 7 to 11 (handbook values).
const DefaultDiffusivityMM2PerS = 7.9

// Strip is where the strip lies on a barrel, in mm from its middle.
type Strip struct{ FromMM, ToMM float64 }

// Modes is how many cosines stand for the growth along a barrel. With 48 the
// growth is within 0.3 % of c∞ on a barrel of 1.9 m and 0.7 % on one of 4.2 m
// (tested).
const Modes = 48

// Growth is the thermal growth of a diameter along a barrel, µm, as coefficients
// of cos(nπ(x/L + ½)); the zero value is a cold roll. Each cosine warms and cools
// by itself, so that a Growth is all that need be kept of a roll's history.
type Growth [Modes]float64

// Roll is the growth after some minutes more under a strip, and Rest after as
// many without. Splitting a time in two changes nothing, so either can be stepped
// piece by piece. barrelMM > 0, minutes ≥ 0; the part of the strip that lies
// beside the barrel brings no heat. Refuses a model that is none.
func (m CrownModel) Roll(g Growth, barrelMM float64, s Strip, minutes float64) (Growth, error) {
	var c refusal.Check
	m.check(&c, barrelMM, minutes)
	if c.Finite("from_mm", s.FromMM) && c.Finite("to_mm", s.ToMM) && s.ToMM < s.FromMM {
		c.Add("to_mm", refusal.Number(s.ToMM), "must not be below from_mm "+refusal.Number(s.FromMM), "")
	}
	if err := c.Err(); err != nil {
		return Growth{}, err
	}
	g.step(m, barrelMM, m.RollingTauMin, minutes, m.sources(barrelMM, s))
	return g, nil
}

// Rest is described at [CrownModel.Roll].
func (m CrownModel) Rest(g Growth, barrelMM, minutes float64) (Growth, error) {
	var c refusal.Check
	m.check(&c, barrelMM, minutes)
	if err := c.Err(); err != nil {
		return Growth{}, err
	}
	g.step(m, barrelMM, m.IdleTauMin, minutes, Growth{})
	return g, nil
}

func (m CrownModel) check(c *refusal.Check, barrelMM, minutes float64) {
	c.NotNegative("steady_crown_um", m.SteadyUM)
	c.Positive("rolling_time_constant_min", m.RollingTauMin)
	c.Positive("idle_time_constant_min", m.IdleTauMin)
	c.NotNegative("diffusivity_mm2_per_s", m.DiffusivityMM2PerS)
	c.Positive("barrel_length_mm", barrelMM)
	c.NotNegative("minutes", minutes)
}

func (m CrownModel) diffusivityMM2PerMin() float64 {
	if m.DiffusivityMM2PerS > 0 {
		return 60 * m.DiffusivityMM2PerS
	}
	return 60 * DefaultDiffusivityMM2PerS
}

// sources are the coefficients of c∞·s(x): with the middle of the strip at u and
// its half-width w, both as parts of the barrel's length, c∞·2w for n = 0 and
//
//	c∞·(4/nπ)·cos(nπ(u + ½))·sin(nπw)
//
// the sines and cosines of multiples by Chebyshev's recurrence.
func (m CrownModel) sources(barrelMM float64, s Strip) (f Growth) {
	from, to := max(s.FromMM/barrelMM, -0.5), min(s.ToMM/barrelMM, 0.5)
	if to <= from {
		return f
	}
	middle, half := math.Pi*((from+to)/2+0.5), math.Pi*(to-from)/2
	f[0] = m.SteadyUM * (to - from)
	cos0, cos1, turnCos := 1.0, math.Cos(middle), 2*math.Cos(middle)
	sin0, sin1, turnSin := 0.0, math.Sin(half), 2*math.Cos(half)
	for n := 1; n < Modes; n++ {
		f[n] = m.SteadyUM * 4 / (math.Pi * float64(n)) * cos1 * sin1
		cos0, cos1 = cos1, turnCos*cos1-cos0
		sin0, sin1 = sin1, turnSin*sin1-sin0
	}
	return f
}

// step lets each cosine go its exact way to its end: with the rate λₙ = 1/τ +
// a(nπ/L)², the steady value is fₙ/(τλₙ). The exponentials of n² come one from
// the other by multiplication.
func (g *Growth) step(m CrownModel, barrelMM, tauMin, minutes float64, f Growth) {
	spread := m.diffusivityMM2PerMin() * math.Pi * math.Pi / (barrelMM * barrelMM) // a(π/L)², 1/min
	left := math.Exp(-minutes / tauMin)
	ratio := math.Exp(-minutes * spread)
	turn := ratio * ratio
	for n := range g {
		target := f[n] / (1 + tauMin*spread*float64(n*n))
		g[n] = target + (g[n]-target)*left
		left *= ratio
		ratio *= turn
	}
}

// CrownUM is the growth of the middle over that of the two ends, µm.
func (g *Growth) CrownUM() float64 {
	var at [3]float64
	ends.Along(g, at[:])
	return at[1] - (at[0]+at[2])/2
}

var ends = NewStations(3)

// Stations are places along a barrel, evenly spaced from end to end.
type Stations struct {
	count  int
	cosine []float64 // of kπ/(count−1)
}

// NewStations prepares count ≥ 2 places.
func NewStations(count int) Stations {
	s := Stations{count: count, cosine: make([]float64, 2*(count-1))}
	for k := range s.cosine {
		s.cosine[k] = math.Cos(math.Pi * float64(k) / float64(count-1))
	}
	return s
}

// Along puts the growth at each station into the slice, µm on diameter.
func (s Stations) Along(g *Growth, into []float64) {
	for j := range into[:s.count] {
		sum, k := 0.0, 0
		for _, a := range g {
			sum += a * s.cosine[k]
			if k += j; k >= len(s.cosine) {
				k -= len(s.cosine)
			}
		}
		into[j] = sum
	}
}
