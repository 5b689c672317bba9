// Package standgeometry is what follows from a stand's geometry alone: speeds
// through a train, pass-line shims, stack heights, single-drive diameters, and
// how far a piece rolls or a grind thins a roll. Lengths of record are whole
// micrometres on diameter; everything else is float64 in the unit named.
package standgeometry

import (
	"fmt"
	"math"

	"barrelbook/domain/refusal"
)

// Stand is one stand of a train, in rolling order.
type Stand struct {
	Name string
	// ExitThicknessMM is the strip's after the stand. For a section it may be
	// the area in mm²: only ratios count.
	ExitThicknessMM float64
	// DiameterMM is that of the work rolls as ground now.
	DiameterMM float64
	// ForwardSlip is how much faster than the rolls the strip leaves, as a
	// fraction in [0, 1]; 0 takes them as equal.
	ForwardSlip float64
	// MinRPM and MaxRPM bound the roll's own speed. MinRPM ≥ 0, MaxRPM > MinRPM.
	MinRPM, MaxRPM float64
}

// StandSpeed is what one stand does at a given speed of the train.
type StandSpeed struct {
	Name          string
	StripMPerS    float64
	RollMPerS     float64
	RPM           float64
	TooSlow       bool
	TooFast       bool
	FinalMinMPerS float64 // speeds of the last stand's strip at which this
	FinalMaxMPerS float64 // stand would run at its MinRPM and MaxRPM
}

// TrainSpeed is the whole train.
type TrainSpeed struct {
	Stands []StandSpeed
	// FinalMinMPerS to FinalMaxMPerS is the range of exit speeds that every
	// stand can follow; SlowLimit and FastLimit name the stands that set it.
	// SlowLimit is empty when no stand has a least speed. There is no range when
	// the least is above the greatest: Possible is false then.
	FinalMinMPerS, FinalMaxMPerS float64
	SlowLimit, FastLimit         string
	Possible                     bool
	// Within is whether every stand is inside its range at the speed asked.
	Within bool
}

// Speeds takes the strip through a train at finalMPerS after the last stand.
// Mass flow is the same everywhere (no spread, no loops filling):
//
//	vᵢ·hᵢ = v_n·h_n,  v_roll = v/(1+s),  N = 60·v_roll/(πD)
//
// with s the forward slip, and N in turns per minute at the diameter now: as
// rolls wear down the same strip needs more turns. Refuses an empty train,
// thicknesses that rise from a stand to the next, and values outside the
// ranges given at the fields.
func Speeds(train []Stand, finalMPerS float64) (TrainSpeed, error) {
	if err := checkTrain(train, finalMPerS); err != nil {
		return TrainSpeed{}, err
	}
	out := TrainSpeed{Stands: make([]StandSpeed, len(train)), FinalMaxMPerS: math.Inf(1), Within: true}
	last := train[len(train)-1].ExitThicknessMM
	for i, s := range train {
		ratio := last / s.ExitThicknessMM // strip speed here over that at the end
		perRPM := math.Pi * s.DiameterMM / 1000 / 60 * (1 + s.ForwardSlip) / ratio
		v := StandSpeed{Name: s.Name, StripMPerS: finalMPerS * ratio,
			FinalMinMPerS: s.MinRPM * perRPM, FinalMaxMPerS: s.MaxRPM * perRPM}
		v.RollMPerS = v.StripMPerS / (1 + s.ForwardSlip)
		v.RPM = RPM(v.RollMPerS, s.DiameterMM)
		v.TooSlow, v.TooFast = v.RPM < s.MinRPM, v.RPM > s.MaxRPM
		out.Within = out.Within && !v.TooSlow && !v.TooFast
		if v.FinalMinMPerS > out.FinalMinMPerS {
			out.FinalMinMPerS, out.SlowLimit = v.FinalMinMPerS, s.Name
		}
		if v.FinalMaxMPerS < out.FinalMaxMPerS {
			out.FinalMaxMPerS, out.FastLimit = v.FinalMaxMPerS, s.Name
		}
		out.Stands[i] = v
	}
	out.Possible = out.FinalMinMPerS <= out.FinalMaxMPerS
	return out, nil
}

// RPM is N = 60·v/(πD), turns per minute, for a surface speed in m/s and a
// diameter above 0 in mm.
func RPM(surfaceMPerS, diameterMM float64) float64 {
	return 60 * surfaceMPerS / (math.Pi * diameterMM / 1000)
}

// checkTrain bounds every value well inside what a mill has, so that no speed
// can overflow.
func checkTrain(train []Stand, finalMPerS float64) error {
	var c refusal.Check
	if len(train) == 0 {
		c.Add("stands", "", "must hold at least one stand", "")
	}
	if c.Positive("final_speed_m_per_s", finalMPerS) {
		c.Within("final_speed_m_per_s", finalMPerS, 0, 1e5)
	}
	for i, s := range train {
		at := func(field string) string { return fmt.Sprintf("stands/%d/%s", i, field) }
		c.Within(at("exit_thickness_mm"), s.ExitThicknessMM, 1e-4, 1e6)
		c.Within(at("diameter_mm"), s.DiameterMM, 1, 10000)
		c.Within(at("forward_slip"), s.ForwardSlip, 0, 1)
		c.NotNegative(at("min_rpm"), s.MinRPM)
		if c.Within(at("max_rpm"), s.MaxRPM, 0, 1e6) && s.MaxRPM <= s.MinRPM {
			c.Add(at("max_rpm"), refusal.Number(s.MaxRPM), "must be above min_rpm "+refusal.Number(s.MinRPM), "")
		}
		if i > 0 && s.ExitThicknessMM > train[i-1].ExitThicknessMM {
			c.Add(at("exit_thickness_mm"), refusal.Number(s.ExitThicknessMM),
				"must not be above that of the stand before, "+refusal.Number(train[i-1].ExitThicknessMM), "")
		}
	}
	return c.Err()
}
