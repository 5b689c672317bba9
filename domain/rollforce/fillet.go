package rollforce

import (
	"math"

	"barrelbook/domain/refusal"
)

// The polynomials of a shaft with a shoulder fillet: K = ΣCᵢ·(2h/D)ⁱ with
// Cᵢ = a + b·√(h/r) + c·h/r.
type filletPolynomial [4][3]float64

var (
	filletBendingShallow = filletPolynomial{{0.927, 1.149, -0.086}, {0.015, -3.281, 0.837}, {0.847, 1.716, -0.506}, {-0.790, 0.417, -0.246}}
	filletBendingDeep    = filletPolynomial{{1.225, 0.831, -0.010}, {-3.790, 0.958, -0.257}, {7.374, -4.834, 0.862}, {-3.809, 3.046, -0.595}}
	filletTorsion        = filletPolynomial{{0.953, 0.680, -0.053}, {-0.493, -1.820, 0.517}, {1.621, 0.908, -0.529}, {-1.081, 0.232, 0.065}}
)

func (p filletPolynomial) at(steep, depth float64) float64 {
	root, sum, power := math.Sqrt(steep), 0.0, 1.0
	for _, c := range p {
		sum += (c[0] + c[1]*root + c[2]*steep) * power
		power *= depth
	}
	return max(1, sum)
}

// The bounds of h/r that the polynomials were fitted for.
const (
	leastFilletSteepness = 0.25
	mostFilletSteepness  = 20 // in bending; 4 in torsion, beyond which the curve runs on smoothly
)

// Fillet gives the stress concentration of the fillet where a barrel of
// diameter D steps down to a neck of diameter d with the radius r, all in mm,
// on the nominal stress of the neck:
//
//	K = C₁ + C₂(2h/D) + C₃(2h/D)² + C₄(2h/D)³,   h = (D − d)/2,   Cᵢ(√(h/r), h/r)
//
// Fitted for 0.25 ≤ h/r ≤ 20 in bending and to 4 in torsion, which is carried on
// to 20. A rounder fillet is taken at 0.25, which is a little high; a sharper one
// is extrapolated. fitted is false outside 0.25 to 20. Never below 1, and 1 where there is no
// step. Refuses diameters and radii not above 0 and a neck thicker than the
// barrel.
//
// W. C. Young, Roark's Formulas for Stress and Strain, table of stress
// concentration factors, square shoulder with fillet in a circular shaft. The
// torsion coefficients are quoted from memory; they agree with the factors of
// Gere and Timoshenko's example 3.11-3 to 1 %.
func Fillet(barrelMM, neckMM, radiusMM float64) (bending, torsion float64, fitted bool, err error) {
	var c refusal.Check
	if c.Positive("neck_diameter_mm", neckMM) && c.Positive("diameter_mm", barrelMM) && neckMM > barrelMM {
		c.Add("neck_diameter_mm", refusal.Number(neckMM), "must not be above diameter_mm", "")
	}
	c.Positive("neck_fillet_radius_mm", radiusMM)
	if err := c.Err(); err != nil {
		return 0, 0, false, err
	}
	step := (barrelMM - neckMM) / 2
	if step == 0 {
		return 1, 1, true, nil
	}
	steep, depth := step/radiusMM, 2*step/barrelMM
	fitted = steep >= leastFilletSteepness && steep <= mostFilletSteepness
	steep = max(steep, leastFilletSteepness)
	form := filletBendingShallow
	if steep > 2 {
		form = filletBendingDeep
	}
	bending, torsion = form.at(steep, depth), filletTorsion.at(steep, depth)
	if math.IsInf(bending, 0) || math.IsNaN(bending) || math.IsInf(torsion, 0) || math.IsNaN(torsion) {
		return 0, 0, false, refusal.One("neck_fillet_radius_mm", refusal.Number(radiusMM), "gives a stress concentration beyond any number", "check its unit")
	}
	return bending, torsion, fitted, nil
}

// UsualFilletRadiusMM is the radius taken where none was entered: 5 % of the
// neck's diameter, the sharp end of what rolls are drawn with (common practice,
// no source), so that the stress is over- rather than understated.
func UsualFilletRadiusMM(neckMM float64) float64 { return 0.05 * neckMM }
