package duty

import (
	"fmt"
	"strings"

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
	Where  string  // barrel, neck or drive end
}

// Neck is what the strength of a roll's ends hangs on. Zero is not known.
type Neck struct {
	// FilletRadiusMM is that of the fillet between barrel and neck; a usual one
	// is taken where it is not known.
	FilletRadiusMM float64
	// FilletBending and FilletTorsion are stress concentrations from a drawing,
	// which go before the radius.
	FilletBending, FilletTorsion float64
	// Friction is the coefficient of its bearings.
	Friction float64
	DriveEnd rollforce.DriveEnd
}

// drawNecks works out the stress concentrations of the necks, once for the
// stand, and what there is to say of them.
func (s *Stand) drawNecks() {
	var usual, sharp []string
	s.mech.fillets = make([][2]float64, len(s.rolls))
	for i := range s.rolls {
		r, c := &s.rolls[i], s.mech.rolls[i]
		if c.AllowableMPa <= 0 || c.BearingSpanMM <= 0 || c.NeckDiameterMM <= 0 {
			continue // its strength is not looked at
		}
		radius := c.Neck.FilletRadiusMM
		if radius == 0 {
			radius = rollforce.UsualFilletRadiusMM(c.NeckDiameterMM)
		}
		bending, torsion, fitted, err := rollforce.Fillet(r.DiameterMM, c.NeckDiameterMM, radius)
		if err != nil {
			continue // no neck of this barrel; the strength refuses it by name
		}
		entered := c.Neck.FilletBending > 0 && c.Neck.FilletTorsion > 0
		switch {
		case entered:
		case c.Neck.FilletRadiusMM == 0:
			usual = append(usual, fmt.Sprintf("%s %.3g", r.Number, bending))
		case !fitted:
			sharp = append(sharp, r.Number)
		}
		s.mech.fillets[i] = [2]float64{orElse(c.Neck.FilletBending, bending), orElse(c.Neck.FilletTorsion, torsion)}
	}
	if len(usual) > 0 {
		s.mech.necks = append(s.mech.necks, fmt.Sprintf("%s: no fillet radius was entered, so the necks are taken as sharply stepped (radius 5 %% of the neck; stress concentration in bending %s)", s.stand.Name, strings.Join(usual, ", ")))
	}
	if len(sharp) > 0 {
		s.mech.necks = append(s.mech.necks, fmt.Sprintf("%s: the fillet radius of %s is outside the range the stress concentration was fitted for", s.stand.Name, strings.Join(sharp, ", ")))
	}
}

func orElse(given, usual float64) float64 {
	if given > 0 {
		return given
	}
	return usual
}

// strengths gives the margins of the rolls whose grade, span and neck are
// known, and warns of those below the least margin, or that would be in a colder
// piece.
func (s *Stand) strengths(p mill.Pass, material string, pass rollforce.Result) (list []Strength, said []string) {
	if s.work == nil || pass.ForceN <= 0 {
		return nil, nil
	}
	for i := range s.rolls {
		if c := s.mech.rolls[i]; c.AllowableMPa <= 0 || c.BearingSpanMM <= 0 || c.NeckDiameterMM <= 0 {
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
			said = append(said, fmt.Sprintf("%s: %s has a margin of %.0f %% at its %s under %.0f kN, over the margin of %.0f %% entered", p.Stand, number, 100*now.Margin, now.Governs, pass.ForceN/1000, 100*least))
		case now.Margin < least+nearMargin:
			if t, over, ok := s.coldLimit(p, material, pass, least, strength); ok {
				said = append(said, fmt.Sprintf("%s: %s has a margin of %.0f %% at its %s; in a piece as cold as %.0f °C it would be gone%s", p.Stand, number, 100*now.Margin, now.Governs, t, over))
			}
		}
	}
	if len(list) > 0 {
		said = append(said, s.mech.necks...)
		s.mech.necks = nil
	}
	return list, said
}

// loaded is the pass at the force known. The torque of a measured one has half
// the contact length as lever arm.
func (s *Stand) loaded(p mill.Pass, f forced) rollforce.Result {
	if f.predicted {
		return rollforce.Result{ForceN: 1000 * f.kn, TorqueNM: f.torqueNM}
	}
	pass, err := rollforce.Predict(rollforce.Input{Method: rollforce.Measured, MeasuredForceN: 1000 * f.kn,
		EntryThicknessMM: p.EntryThicknessMM, ExitThicknessMM: p.ExitThicknessMM, WidthMM: p.WidthMM, DiameterMM: s.workingDiameter(p.Groove)})
	if err != nil {
		return rollforce.Result{ForceN: 1000 * f.kn} // no draft: no torque
	}
	return pass
}

// strength is that of roll i: beam and neck of a two-high or backup roll, or
// the work roll between backup roll and strip.
func (s *Stand) strength(i int, p mill.Pass, pass rollforce.Result) (rollforce.Strength, error) {
	r, c := &s.rolls[i], s.mech.rolls[i]
	allow := rollforce.Allowable{BarrelMPa: c.AllowableMPa, NeckMPa: c.AllowableMPa, Brittle: c.Brittle}
	body := rollforce.Body{BarrelDiameterMM: r.thinnestMM(), BarrelLengthMM: r.BarrelLengthMM, NeckDiameterMM: c.NeckDiameterMM, BearingSpanMM: c.BearingSpanMM,
		FilletBendingFactor: s.mech.fillets[i][0], FilletTorsionFactor: s.mech.fillets[i][1]}
	load := rollforce.Load{ForceN: s.pressedN(i, p, pass.ForceN), WidthMM: min(p.WidthMM, r.BarrelLengthMM)}
	if r.Position.Role() == mill.Backup {
		load.WidthMM = r.BarrelLengthMM
		s.contactsOf(i, func(h *half, c int) {
			left, right := s.common(h, c, h.solved.shifts)
			load.WidthMM = right - left
		})
		return rollforce.TwoHighStrength(body, load, allow)
	}
	if r.Position.Role() == mill.Intermediate {
		// Loaded as a work roll is, by its own bending and by the work roll along
		// the barrel both share. The drive is taken to be at the work rolls.
		for k := range s.halves {
			if h := &s.halves[k]; len(h.rolls) == most+1 && h.rolls[1] == i {
				left, right := s.common(h, 0, h.solved.shifts)
				load.WidthMM = right - left
			}
		}
		load.WidthMM = min(load.WidthMM, r.BarrelLengthMM)
		load.BendingForceN = 1000 * p.IntermediateBendingForceKN
		return rollforce.WorkRollStrength(body, load, allow)
	}
	body.DriveEnd = c.Neck.DriveEnd
	load.TorqueNM = s.drivenNM(i, p, pass)
	if s.backup == nil {
		return rollforce.TwoHighStrength(body, load, allow)
	}
	load.BendingForceN = s.bendingN(p)
	return rollforce.WorkRollStrength(body, load, allow)
}

// drivenNM is the torque that drives work roll i: of the pass, and of the
// friction in the bearings that carry the force, which in a four-high stand are
// those of the backup roll, turned by the work roll at its own diameter.
func (s *Stand) drivenNM(i int, p mill.Pass, pass rollforce.Result) float64 {
	carries := i
	for k := range s.halves {
		if rolls := s.halves[k].rolls; rolls[0] == i {
			carries = rolls[len(rolls)-1]
		}
	}
	c := s.mech.rolls[carries]
	friction := rollforce.BearingTorqueNM(s.pressedN(carries, p, pass.ForceN), c.NeckDiameterMM, c.Neck.Friction)
	return pass.TorqueNM + friction*s.rolls[i].WorkingDiameterMM(p.Groove)/s.rolls[carries].WorkingDiameterMM(p.Groove)
}

// torque is what both work rolls take together, kNm, 0 where it is not known. One
// roll of two in the books counts twice. It warns where that is over the limit of
// the stand.
func (s *Stand) torque(p mill.Pass, f forced, pass rollforce.Result) (kNm float64, said string) {
	rolls := 0.0
	for i := range s.rolls {
		if s.rolls[i].Position.Role() == mill.Work {
			rolls++
			kNm += s.drivenNM(i, p, pass) / 1000
		}
	}
	if rolls == 0 || pass.TorqueNM == 0 {
		return 0, ""
	}
	kNm *= 2 / rolls
	if limit := s.stand.MaxTorqueKNM; limit > 0 && kNm > limit {
		by := "worked out from the force measured"
		if f.predicted {
			by = "predicted"
		}
		said = fmt.Sprintf("%s: the torque %s, %.0f kNm, is over the limit of %.0f kNm", p.Stand, by, kNm, limit)
	}
	return kNm, said
}

// pressedN is the force that roll i has to carry: that of the pass, and what the
// bending of the rolls between it and the strip adds at their two chocks, which it
// is pressed with along its barrel.
func (s *Stand) pressedN(i int, p mill.Pass, forceN float64) float64 {
	role := s.rolls[i].Position.Role()
	if s.backup == nil || role == mill.Work {
		return forceN
	}
	forceN += 2 * s.bendingN(p)
	if role == mill.Backup && s.stand.Arrangement == mill.SixHigh {
		forceN += 2000 * p.IntermediateBendingForceKN
	}
	return max(0, forceN)
}

// bendingN is the roll bending force of a pass per chock: that of the piece, or
// the stand's usual one.
func (s *Stand) bendingN(p mill.Pass) float64 {
	if p.BendingForceKN != 0 {
		return 1000 * p.BendingForceKN
	}
	return 1000 * s.stand.BendingForceKN
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
// rising from the one known as the method of the mill has it rise, and what is to
// be said of that rise. ok is false in a cold mill, without a temperature, and
// where the margin lasts.
func (s *Stand) coldLimit(p mill.Pass, material string, known rollforce.Result, least float64, strength func(rollforce.Result) (rollforce.Strength, error)) (t float64, over string, ok bool) {
	if s.mech.m.Kind.Cold() || p.TemperatureC <= coldestC {
		return 0, "", false
	}
	x, err := s.expect(p, material, s.workingDiameter(p.Groove))
	if err != nil {
		return 0, "", false
	}
	at := func(t float64) (rollforce.Result, error) {
		in := x.in
		in.TemperatureC = t
		return x.predict(in)
	}
	base, err := at(p.TemperatureC)
	if err != nil || base.ForceN <= 0 {
		return 0, "", false
	}
	law := func(t float64) (rollforce.Result, error) {
		pass, err := at(t)
		pass.ForceN *= known.ForceN / base.ForceN
		pass.TorqueNM *= known.ForceN / base.ForceN
		return pass, err
	}
	short := func(pass rollforce.Result) (rollforce.Strength, error) {
		st, err := strength(pass)
		st.Margin -= least
		return st, err
	}
	found, err := rollforce.TemperatureAtZeroMargin(law, short, p.TemperatureC, coldestC)
	if err != nil || !found.Reached {
		return 0, "", false
	}
	if over = x.overstated(found.TemperatureC); over != "" {
		over = " (" + over + ")"
	}
	return found.TemperatureC, over, true
}
