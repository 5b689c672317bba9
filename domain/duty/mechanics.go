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
	// Crown is how the work rolls warm along their barrels; IntermediateCrown and
	// BackupCrown how the rolls behind them do, from the work rolls, in the strip's
	// width. None is followed where its SteadyUM is 0.
	Crown, IntermediateCrown, BackupCrown heat.CrownModel
	// Kernel counts fatigue; none is followed where it is nil.
	Kernel *fatigue.Kernel
	// LeastMargin is the least margin of strength, 0 to 1.
	LeastMargin float64
	// Material gives what is known of a rolled metal by its name; nil where
	// nothing is known of any.
	Material func(name string) Material
	// Gap follows how the work rolls' axes bend, for the gap between them.
	Gap bool
	// Forecast solves the load less often: for pieces to come.
	Forecast bool
	// Coefficients gives the influence coefficients of a pair, to share them
	// between stands; nil to work them out.
	Coefficients func(rollload.Stack, rollload.Options) (*rollload.Coefficients, error)
}

// Condition is the state of one roll, which the models carry on in place, and
// what they need to know of it beyond a Roll. A roll that stays while others
// change keeps its Condition. Zero stands for not known.
type Condition struct {
	BearingSpanMM, NeckDiameterMM float64
	CrownUM                       float64 // ground
	// Contour is what is ground on beside the crown, along the top roll of a pair
	// from the drive side; the bottom one has it turned end for end.
	Contour rollload.Polynomial
	// Measured is the contour as measured after the last grind, from the roll's own
	// drive side; where it is told it stands for crown and contour.
	Measured     rollload.Points
	WornUM       []float64 // since the last grind, on the wear grid
	Thermal      heat.Growth
	AllowableMPa float64
	Brittle      bool
	Neck         Neck
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
	// fillets are the stress concentrations of the necks in bending and torsion;
	// necks is what there is to say of them, once.
	fillets [][2]float64
	necks   []string
}

// Use turns the models on. conditions are those of the rolls, in the order
// given to NewStand.
func (s *Stand) Use(m Models, conditions []*Condition) {
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
	s.drawNecks()
}

// Rest lets time pass without rolling: the rolls cool.
func (s *Stand) Rest(minutes float64) {
	for i := range s.rolls {
		s.RestRoll(i, minutes)
	}
}

// RestRoll lets time pass for one roll, which may have been warm at another moment
// than the others in the stand.
func (s *Stand) RestRoll(i int, minutes float64) { s.warm(i, minutes, nil) }

// heatUp warms the rolls under the strip of a pass.
func (s *Stand) heatUp(p mill.Pass, minutes float64) {
	for i := range s.rolls {
		middle := p.LateralOffsetMM - p.RollOffsetMM(s.rolls[i].Position)
		s.warm(i, minutes, &heat.Strip{FromMM: middle - p.WidthMM/2, ToMM: middle + p.WidthMM/2})
	}
}

// warm steps the growth of roll i under a strip, or at rest where there is none.
// One that cannot be stepped, as the model is none, stays as it is.
func (s *Stand) warm(i int, minutes float64, strip *heat.Strip) {
	if s.mech == nil || !(minutes > 0) || math.IsInf(minutes, 1) {
		return
	}
	m, c := s.mech.m.CrownOf(s.rolls[i].Position.Role()), s.mech.rolls[i]
	if m.SteadyUM <= 0 {
		return
	}
	var after heat.Growth
	var err error
	if strip != nil {
		after, err = m.Roll(c.Thermal, s.rolls[i].BarrelLengthMM, *strip, minutes)
	} else {
		after, err = m.Rest(c.Thermal, s.rolls[i].BarrelLengthMM, minutes)
	}
	if err == nil {
		c.Thermal = after
	}
}

// CrownOf is how the rolls of a role warm.
func (m Models) CrownOf(r mill.Role) heat.CrownModel {
	switch r {
	case mill.Work:
		return m.Crown
	case mill.Intermediate:
		return m.IntermediateCrown
	case mill.Backup:
		return m.BackupCrown
	}
	return heat.CrownModel{}
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
