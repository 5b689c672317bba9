package rollforce

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// kgfPerMM2 is one kgf/mm² in MPa; Ekelund's coefficients are in kgf, mm, s.
const kgfPerMM2 = 9.80665

// ekelundHottestC is where Ekelund's resistance falls to nothing.
const ekelundHottestC = 1400

// ekelund is the formula for bars, billets and cogging, which takes the
// resistance from temperature and analysis:
//
//	F = B·√(RΔh)·[1 + (1.6μ√(RΔh) − 1.2Δh)/(h₁+h₂)]·[σ + 2ηv√(Δh/R)/(h₁+h₂)]
//	σ = (14 − 0.01T)(1.4 + C + Mn + 0.3Cr)   kgf/mm²
//	η = 0.01(14 − 0.01T)·c_v                 kgf·s/mm²
//	μ = (1.05 − 0.0005T)·{1 steel, 0.8 iron roll}
//
// with v in mm/s, T in °C, the analysis in weight per cent, and c_v = 1, 0.8,
// 0.65, 0.6 from 0, 6, 10 and 15 m/s (a step, as tabled: the force jumps down
// by the rate term's share at each bound). T must be below 1400 °C, where the
// resistance is zero. The friction bracket is positive for every draft below
// the roll diameter, as μ is then above 0.28.
//
// S. Ekelund, Jernkontorets Annaler 1927; every coefficient as in a published
// worked example (seen), which is reproduced to 2e-4 (tested). The ranges are
// quoted from memory.
func (in Input) ekelund(radius float64) (outcome, error) {
	draft, sum := in.draft(), in.EntryThicknessMM+in.ExitThicknessMM
	contact := math.Sqrt(radius * draft)
	spread := 1 + (1.6*in.ekelundFriction()*contact-1.2*draft)/sum
	soft := 14 - 0.01*in.TemperatureC
	static := soft * (1.4 + in.CarbonPct + in.ManganesePct + 0.3*in.ChromiumPct)
	viscosity := 0.01 * soft * ekelundSpeedFactor(in.SpeedMPerS)
	rate := 2 * 1000 * in.SpeedMPerS * math.Sqrt(draft/radius) / sum // 1/s
	return outcome{
		force:  kgfPerMM2 * in.WidthMM * contact * spread * (static + viscosity*rate),
		torque: math.NaN(),
	}, nil
}

func ekelundSpeedFactor(mPerS float64) float64 {
	switch {
	case mPerS < 6:
		return 1
	case mPerS < 10:
		return 0.8
	case mPerS < 15:
		return 0.65
	}
	return 0.6
}

func (in Input) ekelundFriction() float64 {
	mu := 1.05 - 0.0005*in.TemperatureC
	if in.RollSurface == IronSurface {
		mu *= 0.8
	}
	return mu
}

func (in Input) checkEkelund(c *refusal.Check) {
	if c.Finite("temperature_c", in.TemperatureC) &&
		(in.TemperatureC < -273.15 || in.TemperatureC >= ekelundHottestC) {
		c.Add("temperature_c", refusal.Number(in.TemperatureC),
			"must be below 1400, where ekelund's resistance falls to nothing, and above absolute zero", "")
	}
	c.Within("carbon_pct", in.CarbonPct, 0, 100)
	c.Within("manganese_pct", in.ManganesePct, 0, 100)
	c.Within("chromium_pct", in.ChromiumPct, 0, 100)
	if in.RollSurface != SteelSurface && in.RollSurface != IronSurface {
		c.Add("roll_surface", string(in.RollSurface), "must be steel or iron", "")
	}
}

// ekelundWarnings names the inputs outside the formula's range.
func (in Input) ekelundWarnings() []string {
	var w []string
	say := func(name string, v, low, high float64) {
		if v < low || v > high {
			w = append(w, fmt.Sprintf("%s %g is outside ekelund's range %g to %g: the resistance is extrapolated", name, v, low, high))
		}
	}
	say("temperature_c", in.TemperatureC, 800, 1300)
	say("carbon_pct", in.CarbonPct, 0, 1.5)
	say("manganese_pct", in.ManganesePct, 0, 1)
	say("chromium_pct", in.ChromiumPct, 0, 3)
	say("speed_m_per_s", in.SpeedMPerS, 0, 20)
	return w
}
