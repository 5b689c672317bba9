package heat

import (
	"math"

	"barrelbook/domain/refusal"
)

// CrownModel is the thermal crown of a roll as a first-order response: it
// rises towards SteadyUM while rolling and falls to nothing in gaps. Crown is
// on diameter, the middle of the barrel over its edges.
//
// Typical (no source): 100 to 300 µm in hot mills, 20 to 80 in cold ones,
// time constants of 15 to 45 minutes. To be set per stand.
type CrownModel struct {
	// SteadyUM is the crown of endless rolling, c∞ ≥ 0.
	SteadyUM float64
	// RollingTauMin and IdleTauMin are the time constants, above 0.
	RollingTauMin, IdleTauMin float64
}

// After is the crown once the roll has rolled, or stood idle, for some
// minutes more:
//
//	rolling: c∞ + (c − c∞)·e^(−t/τ)
//	idle:    c·e^(−t/τ_idle)
//
// It needs no history but the crown now, and splitting a time in two changes
// nothing, so it can be stepped piece by piece. crownUM may be any finite
// number (a roll can go in warmer or colder than its mate); minutes ≥ 0. The
// answer lies between the crown now and the one it tends to.
func (m CrownModel) After(crownUM, minutes float64, rolling bool) (float64, error) {
	var c refusal.Check
	c.NotNegative("steady_crown_um", m.SteadyUM)
	c.Positive("rolling_time_constant_min", m.RollingTauMin)
	c.Positive("idle_time_constant_min", m.IdleTauMin)
	c.Finite("crown_um", crownUM)
	c.NotNegative("minutes", minutes)
	if err := c.Err(); err != nil {
		return 0, err
	}
	target, tau := 0.0, m.IdleTauMin
	if rolling {
		target, tau = m.SteadyUM, m.RollingTauMin
	}
	left := math.Exp(-minutes / tau)
	return target*(1-left) + crownUM*left, nil
}
