package wear

import (
	"math"

	"barrelbook/domain/refusal"
)

// Roughness is the decay of a ground or textured surface in cold and temper
// rolling, where it ends a campaign before wear does:
//
//	Ra(l) = Ra∞ + (Ra₀ - Ra∞)·exp(-l/l₀)
//
// Common practice, no source; l₀ is the mill's own, from readings. Ra₀ below
// Ra∞ describes a surface that roughens, and is allowed.
type Roughness struct {
	// StartUM is Ra₀ as ground, µm.
	StartUM float64
	// FloorUM is Ra∞, which the surface tends to, µm.
	FloorUM float64
	// ScaleKM is l₀, the km over which the difference falls to 37 %.
	ScaleKM float64
}

func (r Roughness) check(c *refusal.Check) {
	c.NotNegative("roughness_start_um", r.StartUM)
	c.NotNegative("roughness_floor_um", r.FloorUM)
	c.Positive("roughness_scale_km", r.ScaleKM)
}

// At is Ra after km rolled. The decay has no memory: going on from At(l) with
// the same floor and scale is the same as never having stopped.
func (r Roughness) At(km float64) (float64, error) {
	var c refusal.Check
	r.check(&c)
	c.NotNegative("rolled_km", km)
	if err := c.Err(); err != nil {
		return 0, err
	}
	// A weighted mean: exactly the start at 0 km, exactly the floor far out.
	left := math.Exp(-km / r.ScaleKM)
	return r.StartUM*left + r.FloorUM*(1-left), nil
}

// KMUntil is the inverse of At: how many km until Ra comes to the limit,
//
//	l = l₀·ln((Ra₀ - Ra∞)/(limit - Ra∞))
//
// 0 when the surface starts at the limit or past it (smoother for a decaying
// surface, rougher for a roughening one). never is true, and km 0, when the
// limit lies at or beyond the floor, or when start and floor are equal and the
// limit is elsewhere.
func (r Roughness) KMUntil(limitUM float64) (km float64, never bool, err error) {
	var c refusal.Check
	r.check(&c)
	c.NotNegative("roughness_limit_um", limitUM)
	if err := c.Err(); err != nil {
		return 0, false, err
	}
	start, limit := r.StartUM-r.FloorUM, limitUM-r.FloorUM
	if start < 0 {
		start, limit = -start, -limit
	}
	switch {
	case start == 0:
		return 0, limit != 0, nil
	case limit >= start:
		return 0, false, nil
	case limit <= 0:
		return 0, true, nil
	}
	km, err = finite("roughness_scale_km", r.ScaleKM, r.ScaleKM*math.Log(start/limit))
	return km, false, err
}
