package duty

import (
	"math"

	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/mill"
	"barrelbook/domain/rollload"
)

// Models is what a stand follows beyond length, turns and wear of the strip:
// how the load lies along the barrels, the thermal crown, fatigue, and whether
// the rolls bear it. A stand without Models takes the load as even.
type Models struct {
	Kind mill.Kind
	// Crown is the thermal crown of the work rolls; none is followed where its
	// SteadyUM is 0.
	Crown heat.CrownModel
	// Kernel counts fatigue; none is followed where it is nil.
	Kernel *fatigue.Kernel
	// LeastMargin is the least margin of strength, 0 to 1. FilletBending and
	// FilletTorsion are the stress concentrations of the necks; 0 for those of a
	// usual fillet.
	LeastMargin                  float64
	FilletBending, FilletTorsion float64
	// Forecast solves the load less often: for pieces to come.
	Forecast bool
	// Coefficients gives the influence coefficients of a pair, to share them
	// between stands; nil to work them out.
	Coefficients func(rollload.Stack, rollload.Options) (*rollload.Coefficients, error)
}

// Stress concentrations of a usual neck fillet: common practice, no source;
// the drawing says better.
const (
	usualFilletBending = 1.6
	usualFilletTorsion = 1.3
)

// Condition is the state of one roll, which the models carry on in place, and
// what they need to know of it beyond a Roll. A roll that stays while others
// change keeps its Condition. Zero stands for not known.
type Condition struct {
	BearingSpanMM, NeckDiameterMM float64
	CrownUM                       float64   // ground
	WornUM                        []float64 // since the last grind, on the wear grid
	ThermalUM                     float64   // thermal crown now
	AllowableMPa                  float64
	Brittle                       bool
	// Damage is nil where it is not followed.
	Damage *fatigue.Field
}

// mechanics is the state of the models of one stand.
type mechanics struct {
	m     Models
	close closeness
	rolls []*Condition
	// unknown says, once, what keeps the load along the barrel from being
	// computed.
	unknown string
}

// Use turns the models on. conditions are those of the rolls, in the order
// given to NewStand.
func (s *Stand) Use(m Models, conditions []*Condition) {
	if m.FilletBending == 0 {
		m.FilletBending = usualFilletBending
	}
	if m.FilletTorsion == 0 {
		m.FilletTorsion = usualFilletTorsion
	}
	if m.Coefficients == nil {
		m.Coefficients = rollload.NewCoefficients
	}
	mech := &mechanics{m: m, close: forBooks, rolls: conditions}
	for i := range mech.rolls {
		if mech.rolls[i] == nil {
			mech.rolls[i] = &Condition{}
		}
		if c := mech.rolls[i]; len(c.WornUM) != s.grids[i].Stations() {
			c.WornUM = s.grids[i].New() // none, or kept at other places along the barrel
		}
	}
	if m.Forecast {
		mech.close = forForecast
	}
	s.mech = mech
	s.makeSolvers()
}

// Rest lets time pass without rolling: the thermal crown falls.
func (s *Stand) Rest(minutes float64) {
	s.warm(minutes, false)
}

// warm steps the thermal crown of the work rolls. A crown that cannot be
// stepped, as the model is none, stays as it is.
func (s *Stand) warm(minutes float64, rolling bool) {
	if s.mech == nil || s.mech.m.Crown.SteadyUM <= 0 || !(minutes > 0) || math.IsInf(minutes, 1) {
		return
	}
	for i := range s.rolls {
		if s.rolls[i].Position.Role() != mill.Work {
			continue
		}
		if after, err := s.mech.m.Crown.After(s.mech.rolls[i].ThermalUM, minutes, rolling); err == nil {
			s.mech.rolls[i].ThermalUM = after
		}
	}
}

// Conditions are those of the rolls, in the order given to NewStand; nil before
// Use.
func (s *Stand) Conditions() []*Condition {
	if s.mech == nil {
		return nil
	}
	return s.mech.rolls
}

// RollingMin is how long pass p keeps the rolls under the strip, 0 where
// neither time nor speed is known.
func RollingMin(p mill.Pass, km float64) float64 {
	switch {
	case p.TimeS > 0:
		return p.TimeS / 60
	case p.SpeedMPerS > 0:
		return km * 1000 / p.SpeedMPerS / 60
	}
	return 0
}
