package gap

import (
	"math"

	"barrelbook/domain/refusal"
)

// Cross is the crossing of a pair of work rolls, each turned by the angle in the
// plane of the strip, one each way.
type Cross struct {
	AngleDeg   float64
	DiameterMM float64 // of the work rolls
}

// mostCrossDeg bounds the angle: mills cross their rolls up to about 1.5°, common
// practice, no source.
const mostCrossDeg = 2

func (x Cross) check(c *refusal.Check) {
	if c.Within("pair_cross_deg", x.AngleDeg, 0, mostCrossDeg) && x.AngleDeg > 0 {
		c.Positive("diameter_mm", x.DiameterMM)
	}
}

// AtUM is how much wider crossed rolls stand apart at x than in the middle of
// the mill, µm, for angles from 0 to 2°. There the axes lie 2x·tan θ apart in the plane of
// the strip, so that, for a strip thin against the rolls,
//
//	g(x) = √(D² + (2x·tan θ)²) − D ≈ 2x²·tan²θ/D
//
// Geometry of two crossed cylinders; over a width B it comes to B²·tan²θ/(2D),
// which is the equivalent roll crown quoted for pair cross mills (from memory).
// Left out is that the strip meets the rolls at a slant, a share of θ²/2 of the
// gap, below 1e-3.
func (x Cross) AtUM(at float64) float64 {
	if x.AngleDeg == 0 {
		return 0
	}
	apart := 2 * at * math.Tan(x.AngleDeg*math.Pi/180)
	return 1000 * apart * apart / (math.Hypot(x.DiameterMM, apart) + x.DiameterMM)
}

// CrownUM is the same over a width: the crown that the gap gains by crossing,
// negative as the gap widens towards the edges.
func (x Cross) CrownUM(widthMM float64) float64 { return -x.AtUM(widthMM / 2) }
