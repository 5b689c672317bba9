// Package contact is the elastic contact of two parallel rolls along a line,
// after Hertz: how wide the contact is, how hard it presses, what happens
// below the surface, and how far the two axes approach each other.
//
// The bodies are long, smooth, round and elastic, and the contact is narrow
// beside their radii; friction and the oil film are left out. Lengths are mm,
// loads N per mm of barrel, stresses MPa, all float64.
package contact

import (
	"math"

	"barrelbook/domain/refusal"
)

// The two constants c in use for the approach of the axes, see [Law.Approach].
const (
	// Foeppl is the constant that handbooks print with the half-width.
	Foeppl = 1.0 / 3
	// Johnson is the constant of a half-space loaded down to the axis (Johnson,
	// Contact Mechanics, eq. 5.57, summed over both bodies).
	Johnson = math.Ln2 - 0.5
)

// DefaultApproachConstant is the one taken where none is given. Measured
// approaches agree with a half-space taken ¾ of the diameter deep (The Line
// Contact Between Two Cylinders, J. Tribology 110 (1988) 285), which is
// c = ln 1.5 − ν/(2(1−ν)) = 0.1912 at ν 0.3 and within 1e-4 of the approach by
// Johnson's. Föppl's gives 2 to 3 % more approach: a softer contact, by as much
// less peak of the line load where the profiles do not fit.
const DefaultApproachConstant = Johnson

// Limits of the constant c. Published ones lie between 0 and 1; beyond these
// bounds the inverse of the approach could leave its branch.
const minApproachConstant, maxApproachConstant = -0.5, 2

// Body is one of the two rolls.
type Body struct {
	// DiameterMM is the actual diameter of the barrel, above 0. A very large
	// one stands for a flat.
	DiameterMM float64
	// ElasticModulusMPa is Young's modulus E, above 0.
	ElasticModulusMPa float64
	// PoissonRatio is ν, 0 to 0.5.
	PoissonRatio float64
}

// Check adds the refusals of this body to c; its fields are named below prefix
// ("work").
func (b Body) Check(c *refusal.Check, prefix string) {
	const huge = math.MaxFloat64
	if b.DiameterMM > 0 && b.DiameterMM <= huge && b.ElasticModulusMPa > 0 && b.ElasticModulusMPa <= huge &&
		b.PoissonRatio >= 0 && b.PoissonRatio <= 0.5 {
		return // the names below are put together only for a refusal
	}
	c.Positive(prefix+"/diameter_mm", b.DiameterMM)
	c.Positive(prefix+"/elastic_modulus_mpa", b.ElasticModulusMPa)
	c.Within(prefix+"/poisson_ratio", b.PoissonRatio, 0, 0.5)
}

// compliance is (1−ν²)/E in 1/MPa, the plane-strain compliance.
func (b Body) compliance() float64 {
	return (1 - b.PoissonRatio*b.PoissonRatio) / b.ElasticModulusMPa
}
