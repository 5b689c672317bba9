package contact

import (
	"math"

	"barrelbook/domain/refusal"
)

// meanOverPeak is the mean of the half-ellipse over its height, π/4.
const meanOverPeak = math.Pi / 4

// Input is one contact to compute.
type Input struct {
	Work, Backup Body
	// LineLoadNPerMM is q, at least 0.
	LineLoadNPerMM float64
	// ApproachConstant is c, usually [Foeppl]; −0.5 to 2. It bears on the
	// approach only.
	ApproachConstant float64
}

// Result is everything the contact theory says about one load. Depths are
// below the surface, mm.
type Result struct {
	HalfWidthMM, PeakPressureMPa, MeanPressureMPa float64
	// MaxShear is the greatest half difference of the principal stresses in
	// the plane across the rolls, the same in both rolls.
	MaxShearMPa, MaxShearDepthMM float64
	// MaxOrthogonalShear is the greatest shear parallel to the surface, which
	// reverses as the contact passes.
	MaxOrthogonalShearMPa, MaxOrthogonalShearDepthMM float64
	// Work and Backup hold what depends on a body's own Poisson ratio.
	Work, Backup BodyStress
	ApproachMM   float64
}

// BodyStress is what the contact does inside one of the two bodies.
type BodyStress struct {
	VonMisesMPa, VonMisesDepthMM float64
	// OutOfPlaneShear is the greatest shear in the plane along the roll. Below
	// ν ≈ 0.2423 it exceeds MaxShear and lies shallower.
	OutOfPlaneShearMPa, OutOfPlaneShearDepthMM float64
}

// Contact computes the contact of two rolls under a line load q:
//
//	1/E* = (1−ν₁²)/E₁ + (1−ν₂²)/E₂,   R = 1/(1/R₁+1/R₂)
//	b = √(4qR/(πE*)),   p₀ = √(qE*/(πR)),   mean pressure = (π/4)p₀
//
// with the greatest stresses of McEwen's field ([Field]) and the approach of
// [Law.Approach]. All results are 0 for q = 0. It refuses bodies that are none,
// a negative or non-finite load, and a load whose contact would be wider than
// half of the smaller radius, where the theory has long ended.
//
// Johnson, Contact Mechanics, eqs. 4.38–4.49; Roark's Formulas, cylinder on
// cylinder. Exact to rounding; checked in the tests against published cases
// and against a search of the field.
func Contact(in Input) (Result, error) {
	law, err := NewLaw(in.Work, in.Backup, in.ApproachConstant)
	var c refusal.Check
	if err != nil {
		for _, f := range refusal.FieldsOf(err) {
			c.Add(f.Path, f.Value, f.Limit, f.Do)
		}
	}
	q := in.LineLoadNPerMM
	if c.NotNegative("line_load_n_per_mm", q) && err == nil && !law.InRange(q) {
		c.Add("line_load_n_per_mm", refusal.Number(q), "makes the contact wider than half of the smaller radius", "check its unit")
	}
	if err := c.Err(); err != nil {
		return Result{}, err
	}
	b, p0 := law.HalfWidth(q), law.PeakPressure(q)
	shear, orthogonal := inPlaneShear(), orthogonalShear()
	return Result{
		HalfWidthMM:               b,
		PeakPressureMPa:           p0,
		MeanPressureMPa:           p0 * meanOverPeak,
		MaxShearMPa:               p0 * shear.stress,
		MaxShearDepthMM:           b * shear.depth,
		MaxOrthogonalShearMPa:     p0 * orthogonal.stress,
		MaxOrthogonalShearDepthMM: b * orthogonal.depth,
		Work:                      bodyStress(in.Work.PoissonRatio, p0, b),
		Backup:                    bodyStress(in.Backup.PoissonRatio, p0, b),
		ApproachMM:                law.Approach(q),
	}, nil
}

// bodyStress scales the field's greatest values to one body.
func bodyStress(nu, p0, b float64) BodyStress {
	mises, out := vonMises(nu), outOfPlaneShear(nu)
	return BodyStress{
		VonMisesMPa:            p0 * mises.stress,
		VonMisesDepthMM:        b * mises.depth,
		OutOfPlaneShearMPa:     p0 * out.stress,
		OutOfPlaneShearDepthMM: b * out.depth,
	}
}
