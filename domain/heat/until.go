package heat

import "barrelbook/domain/refusal"

// Place is which temperature of the barrel is meant.
type Place string

// The places asked about: the mean decides the diameter, the surface is what
// a thermometer on the barrel reads, the centre is the last to cool.
const (
	Mean    Place = "mean"
	Surface Place = "surface"
	Centre  Place = "centre"
)

// MinutesUntil is the time from withdrawal until the place is within withinK
// of ambient, to 1e-9 of itself and never short of it; 0 when it is so from
// the start. withinK > 0: ambient itself is only reached in the limit.
//
// A shop's usual rule is 5 K before grinding (common practice, no source).
// Refusals as in Cool.
func MinutesUntil(c Cylinder, at Place, withinK float64) (float64, error) {
	var r refusal.Check
	c.check(&r)
	r.Positive("within_k", withinK)
	var of func(profile) float64
	switch at {
	case Mean:
		of = func(p profile) float64 { return p.mean }
	case Surface:
		of = func(p profile) float64 { return p.surface }
	case Centre:
		of = func(p profile) float64 { return p.centre }
	default:
		r.Add("place", string(at), "must be mean, surface or centre", "")
	}
	if err := r.Err(); err != nil {
		return 0, err
	}
	excess := c.StartC - c.AmbientC
	if excess < 0 {
		excess = -excess
	}
	if excess <= withinK {
		return 0, nil
	}
	target := withinK / excess
	s := series{bi: c.Biot()}
	z := root(1, s.bi)
	// One time constant is a good first step: the profile falls by e in each.
	low, high := 0.0, 1/(z*z)
	for of(s.at(high)) > target {
		low, high = high, 2*high
	}
	for high-low > 1e-9*high {
		if middle := low + (high-low)/2; of(s.at(middle)) > target {
			low = middle
		} else {
			high = middle
		}
	}
	return high / c.fourierPerMin(), nil
}
