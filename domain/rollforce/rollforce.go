// Package rollforce predicts what one pass asks of a pair of rolls: the
// separating force, the length of contact, the flattened radius, torque and
// power; and says whether a roll can bear it.
//
// A force measured at the mill is always better than one predicted: method
// "measured" takes it and computes the rest from it. Each way of predicting
// has its own file. All forces are for the full strip width, all torques for
// one roll. The arc of contact is taken as a parabola throughout,
//
//	h(φ) = h₂ + R'φ²,  L = √(R'Δh),
//
// which is within 1 % of the circle up to a contact angle of 0.5 rad; beyond
// that Predict says so in a warning.
package rollforce

import (
	"math"

	"barrelbook/domain/refusal"
)

// Method names a way to the roll force.
type Method string

// The methods, by the names the contract uses.
const (
	Sims             Method = "sims"
	Ekelund          Method = "ekelund"
	BlandFord        Method = "bland-ford"
	Hill             Method = "hill"
	Slipping         Method = "slipping"
	Sticking         Method = "sticking"
	ConstantPressure Method = "constant-pressure"
	Measured         Method = "measured"
)

// RollSurface is what touches the strip, as Ekelund tells them apart.
type RollSurface string

// Ekelund's two roll surfaces.
const (
	SteelSurface RollSurface = "steel"
	IronSurface  RollSurface = "iron"
)

// Elastic constants of a forged steel roll, for a caller that has none of its
// own: handbook values, to be overridden per roll.
const (
	SteelModulusMPa   = 206000.0
	SteelPoissonRatio = 0.3
)

// Input is one pass through one pair of rolls.
type Input struct {
	Method Method
	// EntryThicknessMM and ExitThicknessMM are h₁ > h₂ > 0.
	EntryThicknessMM, ExitThicknessMM float64
	// DiameterMM is that of the work rolls, WidthMM the strip's.
	DiameterMM, WidthMM float64
	// Flatten turns Hitchcock's flattened radius on; it needs the roll's
	// elastic constants.
	Flatten          bool
	RollModulusMPa   float64
	RollPoissonRatio float64
	// SpeedMPerS is the surface speed of the rolls. Ekelund needs it; elsewhere
	// 0 means unknown and no power is given.
	SpeedMPerS float64
	// MeanFlowStressMPa is the mean uniaxial flow stress in the gap (sims,
	// bland-ford, hill, slipping, sticking). The plane-strain resistance is
	// k = 2/√3 times it.
	MeanFlowStressMPa float64
	// Friction is the coefficient μ (bland-ford, hill, slipping). Elsewhere it
	// may be 0; above 0 it is used to check the bite.
	Friction float64
	// EntryTensionMPa and ExitTensionMPa pull on the strip (bland-ford).
	EntryTensionMPa, ExitTensionMPa float64
	// MeanPressureMPa is for constant-pressure.
	MeanPressureMPa float64
	// MeasuredForceN is for measured.
	MeasuredForceN float64
	// Ekelund's own inputs.
	TemperatureC                         float64
	CarbonPct, ManganesePct, ChromiumPct float64
	RollSurface                          RollSurface
}

// Result is what the pass asks of the rolls.
type Result struct {
	ForceN            float64
	ContactLengthMM   float64
	FlattenedRadiusMM float64
	MeanPressureMPa   float64
	// ForceFactor is Sims' Q_p, and what stands in its place, F/(kBL), in the
	// other methods that take a flow stress; 0 where there is none.
	ForceFactor float64
	// NeutralAngleRad and ForwardSlip come from the methods that find a
	// neutral point (sims, bland-ford); 0 elsewhere.
	NeutralAngleRad float64
	ForwardSlip     float64
	// TorqueNM is on one roll; PowerKW is what both rolls take together.
	TorqueNM float64
	PowerKW  float64
	// Warnings say in plain words where an input lies outside what the method
	// was made for. The numbers are still given.
	Warnings []string
}

// outcome is what a method finds at a given, possibly flattened, radius.
type outcome struct {
	force   float64 // N
	torque  float64 // N·mm on one roll; NaN: use half the contact length as arm
	factor  float64
	neutral float64
}

// law is a force method with everything fixed but the radius.
type law func(radiusMM float64) (outcome, error)

func (in Input) draft() float64     { return in.EntryThicknessMM - in.ExitThicknessMM }
func (in Input) reduction() float64 { return in.draft() / in.EntryThicknessMM }
func (in Input) radius() float64    { return in.DiameterMM / 2 }

// planeStrain is k, the resistance to plane-strain compression by the von
// Mises rule.
func (in Input) planeStrain() float64 { return 2 / math.Sqrt(3) * in.MeanFlowStressMPa }

// Predict computes the pass by the method named in it.
//
// It refuses impossible geometry and inputs outside a method's definition
// with a refusal.Error; it gives a NoFlattenedRadiusError where Flatten is
// set and Hitchcock's equation has no solution. Every number returned is
// finite. The lever arm of the force is half the contact length (Groover's
// and Kalpakjian's textbook rule) except in sims and bland-ford, which have
// their own torque integral.
func Predict(in Input) (Result, error) {
	find, err := in.check()
	if err != nil {
		return Result{}, err
	}
	radius := in.radius()
	if in.Flatten {
		if radius, err = in.flattenedRadius(find); err != nil {
			return Result{}, err
		}
	}
	o, err := find(radius)
	if err != nil {
		return Result{}, err
	}
	contact := math.Sqrt(radius * in.draft())
	if math.IsNaN(o.torque) {
		o.torque = o.force * contact / 2
	}
	r := Result{
		ForceN:            o.force,
		ContactLengthMM:   contact,
		FlattenedRadiusMM: radius,
		MeanPressureMPa:   o.force / (in.WidthMM * contact),
		ForceFactor:       o.factor,
		NeutralAngleRad:   o.neutral,
		TorqueNM:          o.torque / 1000,
		Warnings:          in.warnings(radius),
	}
	if o.neutral > 0 {
		// h_n/h₂ − 1: the strip runs with the roll where it is h_n thick. The
		// cosine of the neutral angle, under 0.2 % in any pass, is left out.
		r.ForwardSlip = radius * o.neutral * o.neutral / in.ExitThicknessMM
	}
	// N·m × rad/s on both rolls, in kW.
	r.PowerKW = 2 * r.TorqueNM * in.SpeedMPerS / (in.radius() / 1000) / 1000
	for _, v := range []float64{r.ForceN, r.MeanPressureMPa, r.TorqueNM, r.PowerKW, r.ForwardSlip, r.ForceFactor} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Result{}, refusal.One("method", string(in.Method), "gives a force beyond any number for this pass",
				"check thicknesses, stresses and friction")
		}
	}
	return r, nil
}
