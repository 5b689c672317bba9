package stock

import (
	"fmt"

	"barrelbook/domain/fatigue"
	"barrelbook/domain/practice"
)

// hardness asks for the stock that takes a work-hardened skin off: where a place
// of the barrel has risen above new by more than the practice's step, the whole
// rise at the practice's stock for each Shore C. Common practice, no source: a
// backup roll is ground until it is within 2 to 3 Shore C of new, and only a
// reading after the grind tells that it is.
func (a *Advice) hardness(in Input) {
	step, per := in.Practice.Value(practice.HardnessStepShoreC), in.Practice.Value(practice.HardnessStockUM)
	s := in.State
	if step.Number <= 0 || len(s.NewHardness) == 0 || len(s.HardnessAlong) == 0 {
		return
	}
	fresh := 0.0
	for _, r := range s.NewHardness {
		fresh += r.Value / float64(len(s.NewHardness))
	}
	readings := make([]float64, len(s.HardnessAlong))
	for i, r := range s.HardnessAlong {
		readings[i] = r.Value
	}
	policy := fatigue.DefaultPolicy()
	policy.HardnessToleranceShoreC = step.Number
	h, err := policy.Hardness(fresh, readings)
	if err != nil {
		a.Notes = append(a.Notes, "the hardness readings cannot be judged: "+err.Error())
		return
	}
	at := s.HardnessAlong[h.Reading].AtMM
	if rise := -h.WorstLossShoreC; !h.Within && rise > 0 {
		a.add(Hardness, rise*per.Number, fmt.Sprintf("hardness at %.0f mm is %.3g Shore C above new, more than the step of %g (%s), at %g µm for each Shore C (%s)", at, rise, step.Number, step.Source, per.Number, per.Source))
		a.Notes = append(a.Notes, "read the hardness again after the grind: depth is not known from a reading of the surface")
		return
	}
	if !h.Within {
		a.Notes = append(a.Notes, fmt.Sprintf("hardness at %.0f mm is %.3g Shore C below new, more than the step of %g (%s): softened metal; how deep it goes is not known from a reading of the surface", at, h.WorstLossShoreC, step.Number, step.Source))
	}
	a.add(Hardness, 0, fmt.Sprintf("hardness has not risen above new by more than %g Shore C (%s)", step.Number, step.Source))
}
