package duty

import (
	"fmt"

	"barrelbook/domain/mill"
	"barrelbook/domain/rollforce"
)

// nearMargin is how near to the least margin a roll is when the temperature at
// which the margin would be gone is worth telling; coldestC is how far stock is
// thought to cool.
const (
	nearMargin = 0.10
	coldestC   = 700
)

// Strength is the margin of one roll in a pass.
type Strength struct {
	Roll   int
	Margin float64 // 1 less stress over what the grade is allowed
	Where  string  // barrel or neck
}

// strengths gives the margins of the rolls whose grade, span and neck are
// known, and warns of those below the least margin, or that would be in a colder
// piece.
func (s *Stand) strengths(p mill.Pass, forceKN float64) (list []Strength, said []string) {
	if s.work == nil || forceKN <= 0 {
		return nil, nil
	}
	pass := s.measured(p, forceKN)
	for i := range s.rolls {
		c := s.mech.rolls[i]
		if c.AllowableMPa <= 0 || c.BearingSpanMM <= 0 || c.NeckDiameterMM <= 0 {
			continue
		}
		strength := func(pass rollforce.Result) (rollforce.Strength, error) { return s.strength(i, p, pass) }
		now, err := strength(pass)
		if err != nil {
			continue // dimensions that the load solver has told of already
		}
		list = append(list, Strength{Roll: i, Margin: now.Margin, Where: now.Governs})
		number := s.rolls[i].Number
		switch least := s.mech.m.LeastMargin; {
		case now.Margin < least:
			said = append(said, fmt.Sprintf("%s: %s has a margin of %.0f %% at its %s under %.0f kN, over the margin of %.0f %% entered", p.Stand, number, 100*now.Margin, now.Governs, forceKN, 100*least))
		case now.Margin < least+nearMargin:
			if t, ok := s.coldLimit(p, forceKN, least, strength); ok {
				said = append(said, fmt.Sprintf("%s: %s has a margin of %.0f %% at its %s; in a piece as cold as %.0f °C it would be gone", p.Stand, number, 100*now.Margin, now.Governs, t))
			}
		}
	}
	return list, said
}

// measured is the pass at the force known, for its torque: half the contact
// length as lever arm.
func (s *Stand) measured(p mill.Pass, forceKN float64) rollforce.Result {
	pass, err := rollforce.Predict(rollforce.Input{Method: rollforce.Measured, MeasuredForceN: 1000 * forceKN,
		EntryThicknessMM: p.EntryThicknessMM, ExitThicknessMM: p.ExitThicknessMM, WidthMM: p.WidthMM, DiameterMM: s.workingDiameter(p.Groove)})
	if err != nil {
		return rollforce.Result{ForceN: 1000 * forceKN} // no draft: no torque
	}
	return pass
}

// strength is that of roll i: beam and neck of a two-high or backup roll, or
// the work roll between backup roll and strip.
func (s *Stand) strength(i int, p mill.Pass, pass rollforce.Result) (rollforce.Strength, error) {
	r, c := &s.rolls[i], s.mech.rolls[i]
	allow := rollforce.Allowable{BarrelMPa: c.AllowableMPa, NeckMPa: c.AllowableMPa, Brittle: c.Brittle}
	body := rollforce.Body{BarrelDiameterMM: r.thinnestMM(), BarrelLengthMM: r.BarrelLengthMM, NeckDiameterMM: c.NeckDiameterMM, BearingSpanMM: c.BearingSpanMM,
		FilletBendingFactor: s.mech.m.FilletBending, FilletTorsionFactor: s.mech.m.FilletTorsion}
	load := rollforce.Load{ForceN: pass.ForceN, WidthMM: min(p.WidthMM, r.BarrelLengthMM)}
	if r.Position.Role() == mill.Backup {
		load.WidthMM = r.BarrelLengthMM
		s.contactsOf(i, func(h *half, c int) {
			left, right := s.common(h, c, h.solved.shifts)
			load.WidthMM = right - left
		})
		return rollforce.TwoHighStrength(body, load, allow)
	}
	load.TorqueNM = pass.TorqueNM
	if s.backup == nil {
		return rollforce.TwoHighStrength(body, load, allow)
	}
	load.BendingForceN = 1000 * p.BendingForceKN
	return rollforce.WorkRollStrength(body, load, allow)
}

// thinnestMM is the diameter that bears the bending: at the bottom of the
// deepest groove.
func (r *Roll) thinnestMM() float64 {
	d := r.DiameterMM
	for groove := range r.GrooveDepthMM {
		d = min(d, r.WorkingDiameterMM(groove+1))
	}
	return d
}

// coldLimit is the temperature at which the margin would be gone, the force
// rising from the one known as the method of the mill has it rise. ok is false
// in a cold mill, without a temperature, and where the margin lasts.
func (s *Stand) coldLimit(p mill.Pass, forceKN, least float64, strength func(rollforce.Result) (rollforce.Strength, error)) (float64, bool) {
	if s.mech.m.Kind == mill.ColdTandem || s.mech.m.Kind == mill.Temper || p.TemperatureC <= coldestC {
		return 0, false
	}
	in, _ := s.passInput(p, s.workingDiameter(p.Groove))
	at := func(t float64) (rollforce.Result, error) {
		in.TemperatureC = t
		if in.Method == rollforce.Sims {
			in.MeanFlowStressMPa = hotFlowStressMPa(in)
		}
		return rollforce.Predict(in)
	}
	base, err := at(p.TemperatureC)
	if err != nil || base.ForceN <= 0 {
		return 0, false
	}
	scale := 1000 * forceKN / base.ForceN
	law := func(t float64) (rollforce.Result, error) {
		pass, err := at(t)
		pass.ForceN *= scale
		pass.TorqueNM *= scale
		return pass, err
	}
	short := func(pass rollforce.Result) (rollforce.Strength, error) {
		st, err := strength(pass)
		st.Margin -= least
		return st, err
	}
	found, err := rollforce.TemperatureAtZeroMargin(law, short, p.TemperatureC, coldestC)
	return found.TemperatureC, err == nil && found.Reached
}
