package rollload

import (
	"math"
	"sort"

	"barrelbook/domain/refusal"
)

// Points is a curve through points, straight between them. XMM rises strictly.
// Empty means no curve.
type Points struct {
	XMM, Value []float64
}

// Polynomial is a ground contour as deviation of the diameter in µm: the factors
// c₀ to c₅ of u⁰ to u⁵, u = 2x/L from −1 to 1 along the barrel.
type Polynomial [6]float64

// Turned is the contour of the same roll turned end for end. The bottom roll of
// a pair with an S-shaped contour is the top one turned so.
func (p Polynomial) Turned() Polynomial {
	for k := 1; k < len(p); k += 2 {
		p[k] = -p[k]
	}
	return p
}

// At is the deviation at u, µm on diameter.
func (p *Polynomial) At(u float64) (um float64) {
	for k := len(p) - 1; k >= 0; k-- {
		um = um*u + p[k]
	}
	return um
}

// mirrored tells whether the contour is the same from both ends.
func (p *Polynomial) mirrored() bool { return p[1] == 0 && p[3] == 0 && p[5] == 0 }

// Profile is the shape of a barrel as deviation of the diameter in µm, measured
// along x from the middle of the ground barrel; the parts add up:
//
//	d(x) = −crown·u² + Σ cₖuᵏ − relief(x) + measured(x) − wear(x) + growth(x),   u = 2x/L
//
// Only differences along the barrel matter; a part that is the same everywhere
// moves the rolls and nothing else. Curves keep their end value beyond their
// ends.
type Profile struct {
	// CrownUM is positive for a barrel thicker in the middle. The part of a
	// thermal crown that is a parabola is added here.
	CrownUM float64
	// PolynomialUM is a ground contour; an S-shaped one does what it does by the
	// axial offset of the roll.
	PolynomialUM Polynomial
	// EndReliefLengthMM and EndReliefDepthUM taper both ends of the barrel,
	// straight from 0 to the depth at the barrel's edge.
	EndReliefLengthMM, EndReliefDepthUM float64
	// MeasuredUM is a profile as the grinder's gauge gives it, positive where
	// thicker. It replaces the parts above when they are left at 0.
	MeasuredUM Points
	// WearUM is what was worn off, positive.
	WearUM Points
	// GrowthUM is the thermal growth relative to the middle.
	GrowthUM Points
}

// Turned is the shape of the same roll turned end for end.
func (p Profile) Turned() Profile {
	p.PolynomialUM = p.PolynomialUM.Turned()
	p.MeasuredUM, p.WearUM, p.GrowthUM = p.MeasuredUM.Turned(), p.WearUM.Turned(), p.GrowthUM.Turned()
	return p
}

// AsGround is the shape without what was worn off and without heat.
func (p Profile) AsGround() Profile {
	p.WearUM, p.GrowthUM = Points{}, Points{}
	return p
}

// Turned is the curve seen from the other end.
func (p Points) Turned() (t Points) {
	if len(p.XMM) != len(p.Value) { // to be refused as it is
		return p
	}
	for i := len(p.XMM) - 1; i >= 0; i-- {
		t.XMM, t.Value = append(t.XMM, -p.XMM[i]), append(t.Value, p.Value[i])
	}
	return t
}

// Check adds the refusals of a profile on a barrel of the length L.
func (p *Profile) Check(c *refusal.Check, prefix string, length float64) {
	for _, f := range [...]struct {
		name  string
		value float64
	}{
		{"/crown_um", p.CrownUM}, {"/end_relief_depth_um", p.EndReliefDepthUM},
	} {
		if !finite(f.value) {
			c.Finite(prefix+f.name, f.value)
		}
	}
	for k, v := range p.PolynomialUM {
		if !finite(v) {
			c.Finite(prefix+"/polynomial_um/"+refusal.Number(float64(k)), v)
		}
	}
	if !(p.EndReliefLengthMM >= 0 && p.EndReliefLengthMM <= length/2) {
		c.Within(prefix+"/end_relief_length_mm", p.EndReliefLengthMM, 0, length/2)
	}
	p.MeasuredUM.check(c, prefix, "/measured", "/diameter_um")
	p.WearUM.check(c, prefix, "/wear", "/depth_um")
	p.GrowthUM.check(c, prefix, "/growth", "/diameter_um")
}

// Check adds the refusals of a curve named prefix, its values named value below
// that.
func (p *Points) Check(c *refusal.Check, prefix, value string) { p.check(c, prefix, "", value) }

// At is the value of the curve at x; 0 where there is no curve.
func (p *Points) At(x float64) float64 {
	hint := 0
	return p.at(x, &hint)
}

// Near is the same for who walks along the curve: hint is 0 to begin with and
// remembers the piece last used.
func (p *Points) Near(x float64, hint *int) float64 { return p.at(x, hint) }

// check adds the refusals of a curve; names are only put together for them.
func (p *Points) check(c *refusal.Check, prefix, name, value string) {
	if len(p.XMM) != len(p.Value) {
		c.Add(prefix+name+value, "", "must hold as many values as x_mm", "")
		return
	}
	for i, x := range p.XMM {
		if !finite(x) {
			c.Finite(prefix+name+"/x_mm/"+refusal.Number(float64(i)), x)
		}
		if !finite(p.Value[i]) {
			c.Finite(prefix+name+value+"/"+refusal.Number(float64(i)), p.Value[i])
		}
		if i > 0 && x <= p.XMM[i-1] {
			c.Add(prefix+name+"/x_mm/"+refusal.Number(float64(i)), refusal.Number(x),
				"must be greater than the point before it, "+refusal.Number(p.XMM[i-1]), "")
		}
	}
}

func finite(v float64) bool { return math.Abs(v) <= math.MaxFloat64 }

// at is the value of the curve at x. hint remembers the piece last used, for
// callers that walk along the barrel.
func (p *Points) at(x float64, hint *int) float64 {
	n := len(p.XMM)
	if n == 0 {
		return 0
	}
	if x <= p.XMM[0] {
		return p.Value[0]
	}
	if x >= p.XMM[n-1] {
		return p.Value[n-1]
	}
	i := *hint
	if i >= n-1 || x < p.XMM[i] {
		i = sort.SearchFloat64s(p.XMM, x) - 1
	}
	for x > p.XMM[i+1] {
		i++
	}
	*hint = i
	part := (x - p.XMM[i]) / (p.XMM[i+1] - p.XMM[i])
	return p.Value[i] + part*(p.Value[i+1]-p.Value[i])
}

// mirrored tells whether the curve is the same from both ends.
func (p *Points) mirrored() bool {
	largest := 0.0
	for _, v := range p.Value {
		largest = math.Max(largest, math.Abs(v))
	}
	// Less than a nanometre, or 1e-12 of a load, is nobody's asymmetry.
	for i, j := 0, len(p.XMM)-1; i <= j; i, j = i+1, j-1 {
		if math.Abs(p.XMM[i]+p.XMM[j]) > 1e-9 || math.Abs(p.Value[i]-p.Value[j]) > 1e-12*largest {
			return false
		}
	}
	return true
}

// mirrored tells whether the profile is the same from both ends.
func (p *Profile) mirrored() bool {
	return p.PolynomialUM.mirrored() && p.MeasuredUM.mirrored() && p.WearUM.mirrored() && p.GrowthUM.mirrored()
}

// shape evaluates a profile along a roll; it remembers where in each curve it
// was.
type shape struct {
	*Profile
	half, offset           float64 // L/2 and the roll's axial offset, mm
	measured, wear, growth int
}

// mm is d at x of the mill, in mm on diameter.
func (s *shape) mm(x float64) float64 {
	x -= s.offset
	u := x / s.half
	d := s.PolynomialUM.At(u) - s.CrownUM*u*u
	if beyond := math.Abs(x) - s.half + s.EndReliefLengthMM; beyond > 0 && s.EndReliefLengthMM > 0 {
		d -= s.EndReliefDepthUM * beyond / s.EndReliefLengthMM
	}
	d += s.MeasuredUM.at(x, &s.measured) - s.WearUM.at(x, &s.wear) + s.GrowthUM.at(x, &s.growth)
	return d / 1000
}

// AtUM is d(x) of a barrel of the length given, µm on diameter. x is measured
// from the middle of the roll.
func (p *Profile) AtUM(x, barrelMM float64) float64 {
	s := shape{Profile: p, half: barrelMM / 2}
	return 1000 * s.mm(x)
}

// kinks calls visit with every x of the mill where the profile has a corner.
func (s *shape) kinks(visit func(x float64)) {
	for _, p := range [...]*Points{&s.MeasuredUM, &s.WearUM, &s.GrowthUM} {
		for _, x := range p.XMM {
			visit(x + s.offset)
		}
	}
	if s.EndReliefLengthMM > 0 {
		visit(s.offset + s.half - s.EndReliefLengthMM)
		visit(s.offset - s.half + s.EndReliefLengthMM)
	}
}
