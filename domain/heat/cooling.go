// Package heat follows a roll's temperature: the thermal crown while it rolls
// and rests, how it cools once withdrawn, and what a warm roll's diameter will
// be when it is cold. It says when a roll may be ground or go back, within the
// limits entered; it does not say that handling it is without danger.
package heat

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// Cylinder is a roll's barrel as a long solid cylinder at an even temperature
// that is left in air, mist or water of constant temperature.
type Cylinder struct {
	// DiameterMM in [1, 10000].
	DiameterMM float64
	// ConductivityWPerMK in [0.1, 1000]; roll iron and steel 20 to 50.
	ConductivityWPerMK float64
	// DensityKgPerM3 in [100, 30000].
	DensityKgPerM3 float64
	// SpecificHeatJPerKgK in [10, 10000].
	SpecificHeatJPerKgK float64
	// SurfaceCoefficientWPerM2K, h > 0: still air 5 to 20, fan 20 to 100, mist
	// and water 200 upward (typical, no source).
	SurfaceCoefficientWPerM2K float64
	// ExpansionPerK in [0, 0.001]; 12e-6 for steel.
	ExpansionPerK float64
	// StartC and AmbientC in [-273.15, 3000].
	StartC, AmbientC float64
}

// Cooling is what Cool finds, one value per minute asked for.
type Cooling struct {
	MeanC, CentreC, SurfaceC []float64
	// DiameterChangeUM is how much thicker the roll still is than it will be
	// at ambient temperature: positive while it is warmer.
	DiameterChangeUM []float64
	// TimeConstantMin is that of the last stage, when one term is left.
	TimeConstantMin float64
}

// Biot is hR/k, the resistance inside over that at the surface.
func (c Cylinder) Biot() float64 {
	return c.SurfaceCoefficientWPerM2K * c.radiusM() / c.ConductivityWPerMK
}

func (c Cylinder) radiusM() float64 { return c.DiameterMM / 2000 }

// fourierPerMin is a·60/R², the Fourier number a minute adds; a = k/(ρc).
func (c Cylinder) fourierPerMin() float64 {
	a := c.ConductivityWPerMK / (c.DensityKgPerM3 * c.SpecificHeatJPerKgK)
	return 60 * a / (c.radiusM() * c.radiusM())
}

// Biot numbers between which the roots are known good.
const leastBiot, mostBiot = 1e-6, 1e4

func (c Cylinder) check(r *refusal.Check) {
	ok := r.Within("diameter_mm", c.DiameterMM, 1, 10000)
	ok = r.Within("conductivity_w_per_mk", c.ConductivityWPerMK, 0.1, 1000) && ok
	ok = r.Positive("surface_coefficient_w_per_m2k", c.SurfaceCoefficientWPerM2K) && ok
	r.Within("density_kg_per_m3", c.DensityKgPerM3, 100, 30000)
	r.Within("specific_heat_j_per_kgk", c.SpecificHeatJPerKgK, 10, 10000)
	r.Within("expansion_per_k", c.ExpansionPerK, 0, 1e-3)
	r.Within("start_c", c.StartC, -273.15, 3000)
	r.Within("ambient_c", c.AmbientC, -273.15, 3000)
	if bi := c.Biot(); ok && (bi < leastBiot || bi > mostBiot) {
		r.Add("surface_coefficient_w_per_m2k", refusal.Number(c.SurfaceCoefficientWPerM2K),
			fmt.Sprintf("gives a Biot number of %.3g, which must lie between %g and %g", bi, leastBiot, mostBiot), "")
	}
}

// Cool gives the temperatures of the barrel after each of the minutes since
// withdrawal, by the series of series.go, and
//
//	ΔD = α·D·(T_mean − T_ambient),  τ = R²/(a·z₁²)
//
// the first of which is exact for free ends, whatever the temperature's
// distribution over the radius (Timoshenko and Goodier, Theory of Elasticity,
// thermal stress in a long circular cylinder).
//
// minutes ≥ 0 in any order; at 0 the answer is the start exactly. Every
// temperature lies between start and ambient. Accuracy: 1e-10 of the starting
// excess, 1e-6 in the first seconds (Fo < 1e-6). Refuses values outside the
// ranges of Cylinder and Biot numbers outside [1e-6, 1e4].
func Cool(c Cylinder, minutes []float64) (Cooling, error) {
	var r refusal.Check
	c.check(&r)
	for i, m := range minutes {
		r.NotNegative(fmt.Sprintf("minutes/%d", i), m)
	}
	if err := r.Err(); err != nil {
		return Cooling{}, err
	}
	n := len(minutes)
	out := Cooling{MeanC: make([]float64, n), CentreC: make([]float64, n), SurfaceC: make([]float64, n),
		DiameterChangeUM: make([]float64, n)}
	s := series{bi: c.Biot()}
	for i, m := range minutes {
		p := s.at(m * c.fourierPerMin())
		out.MeanC[i] = c.temperature(p.mean)
		out.CentreC[i] = c.temperature(p.centre)
		out.SurfaceC[i] = c.temperature(p.surface)
		out.DiameterChangeUM[i] = GrownUM(c.DiameterMM, c.ExpansionPerK, out.MeanC[i]-c.AmbientC)
	}
	z := root(1, s.bi)
	out.TimeConstantMin = 1 / (z * z * c.fourierPerMin())
	return out, nil
}

// temperature puts a part θ of the starting excess back into °C. Weighted
// this way it is exact at θ = 0 and 1 and cannot leave the span between.
func (c Cylinder) temperature(theta float64) float64 {
	t := c.AmbientC*(1-theta) + c.StartC*theta
	return math.Min(math.Max(t, math.Min(c.StartC, c.AmbientC)), math.Max(c.StartC, c.AmbientC))
}
