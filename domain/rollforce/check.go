package rollforce

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// check refuses what no method can take, then what the chosen one cannot, and
// gives the method's law.
func (in Input) check() (law, error) {
	var c refusal.Check
	entryOK := c.Positive("entry_thickness_mm", in.EntryThicknessMM)
	exitOK := c.Positive("exit_thickness_mm", in.ExitThicknessMM)
	diameterOK := c.Positive("diameter_mm", in.DiameterMM)
	c.Positive("width_mm", in.WidthMM)
	c.NotNegative("speed_m_per_s", in.SpeedMPerS)
	c.NotNegative("friction", in.Friction)
	if entryOK && exitOK && in.ExitThicknessMM >= in.EntryThicknessMM {
		c.Add("exit_thickness_mm", refusal.Number(in.ExitThicknessMM),
			"must be below entry_thickness_mm "+refusal.Number(in.EntryThicknessMM), "")
	} else if entryOK && exitOK && diameterOK && in.draft() >= in.DiameterMM {
		c.Add("diameter_mm", refusal.Number(in.DiameterMM), "must be above the draft "+refusal.Number(in.draft()), "")
	}
	if in.Flatten {
		c.Positive("roll_modulus_mpa", in.RollModulusMPa)
		c.Within("roll_poisson_ratio", in.RollPoissonRatio, 0, 0.5)
	}
	if in.Method != BlandFord && (in.EntryTensionMPa != 0 || in.ExitTensionMPa != 0) {
		c.Add("method", string(in.Method), "does not take strip tension", "use bland-ford, or leave the tensions out")
	}
	find := in.choose(&c)
	if err := c.Err(); err != nil {
		return nil, err
	}
	return find, nil
}

// choose gives the law of the method and refuses its own inputs.
func (in Input) choose(c *refusal.Check) law {
	switch in.Method {
	case Sims:
		c.Positive("mean_flow_stress_mpa", in.MeanFlowStressMPa)
		return in.sims
	case Ekelund:
		in.checkEkelund(c)
		return in.ekelund
	case BlandFord:
		in.checkBlandFord(c)
		return in.blandFord
	case Hill:
		c.Positive("mean_flow_stress_mpa", in.MeanFlowStressMPa)
		c.Positive("friction", in.Friction)
		return in.hill
	case Slipping:
		c.Positive("mean_flow_stress_mpa", in.MeanFlowStressMPa)
		return in.slipping
	case Sticking:
		c.Positive("mean_flow_stress_mpa", in.MeanFlowStressMPa)
		return in.sticking
	case ConstantPressure:
		c.Positive("mean_pressure_mpa", in.MeanPressureMPa)
		return in.constantPressure
	case Measured:
		c.Positive("measured_force_n", in.MeasuredForceN)
		return in.measured
	}
	c.Add("method", string(in.Method), "is not a known method",
		"use sims, ekelund, bland-ford, hill, slipping, sticking, constant-pressure or measured")
	return nil
}

// warnings says where the pass lies outside what the method was made for.
// The bounds are common practice with no source unless a method's own file
// names one.
func (in Input) warnings(radius float64) []string {
	var w []string
	say := func(format string, args ...any) { w = append(w, fmt.Sprintf(format, args...)) }
	r, draft := in.reduction(), in.draft()
	if angle := math.Sqrt(draft / in.radius()); angle > 0.5 {
		say("contact angle %.3g rad is above 0.5 rad: the arc is taken as a parabola, which shortens it", angle)
	}
	if limit := MaxDraftMM(in.biteFriction(), in.radius()); limit > 0 && draft > limit {
		say("draft %.4g mm is above the bite limit %.4g mm: the rolls may not draw the strip in", draft, limit)
	}
	if ratio := radius / in.radius(); ratio > 2 {
		say("flattened radius is %.3g times the ground one: above 2 a circular flattened arc is a poor picture", ratio)
	}
	switch in.Method {
	case Sims, Sticking:
		if r > 0.5 {
			say("reduction %.3g %% is above 50 %%: outside the range of hot strip passes the method is used for", 100*r)
		}
		if thin := math.Sqrt(radius*draft) / ((in.EntryThicknessMM + in.ExitThicknessMM) / 2); thin < 1 {
			say("contact length over mean thickness is %.3g, below 1: the deformation is not homogeneous and the force is underrated", thin)
		}
	case Hill:
		if r < 0.1 || r > 0.6 {
			say("reduction %.3g %% is outside the 10 %% to 60 %% of Hill's fit", 100*r)
		}
	case BlandFord:
		if r < 0.02 {
			say("reduction %.3g %% is below 2 %%: the elastic arcs, which are left out, then carry a good part of the force", 100*r)
		}
	case Ekelund:
		w = append(w, in.ekelundWarnings()...)
	}
	return w
}
