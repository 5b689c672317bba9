package gather

import (
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/contour"
	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/rollforce"
)

// stayCondition is what the models carry on for one stay of a roll in a stand, over
// all the pieces of a group and whoever is in the stand with it.
type stayCondition struct {
	condition duty.Condition
	roll      string
	mountedAt time.Time
	// last is true for the stay the roll is in now; only that one's heat is kept.
	last bool
	// groundMM is the stock taken off the radius since. Pieces that come late
	// damage layers that lie nearer the surface by now.
	groundMM  float64
	thermalAt time.Time // the moment that condition.Thermal holds for
}

// useModels turns the models on for the rolls mounted together.
func (in *Stays) useModels(s *duty.Stand, millName string, stand mill.Stand, mounted []port.Stay) error {
	models, err := in.models.Of(in.Mills[millName], stand, in.Practices)
	if err != nil {
		return err
	}
	conditions := make([]*duty.Condition, len(mounted))
	for i, m := range mounted {
		if in.conditions[m.ID] == nil {
			enter := in.enterStay
			if in.replay != nil {
				enter = in.replay.enterStay
			}
			if in.conditions[m.ID], err = enter(s, i, m, stand); err != nil {
				return err
			}
		}
		// A roll that nothing pressed when it went in is followed from when something does.
		if stay := in.conditions[m.ID]; stay.condition.Damage == nil {
			carry := in.carry
			if in.replay != nil {
				carry = in.replay.carry
			}
			if err := carry(s, i, m, stay); err != nil {
				return err
			}
		}
		conditions[i] = &in.conditions[m.ID].condition
	}
	s.Use(models, conditions)
	return nil
}

// enterStay is the state that the models start a roll's stay from.
func (in *Stays) enterStay(s *duty.Stand, i int, m port.Stay, stand mill.Stand) (*stayCondition, error) {
	state := in.Rolls[m.Roll].State
	grade, err := in.grade(state.Roll.Grade)
	if err != nil {
		return nil, err
	}
	worn, err := wornBooked(in.r, state, m)
	if err != nil {
		return nil, err
	}
	stay := &stayCondition{roll: m.Roll, mountedAt: m.MountedAt, condition: ConditionOf(state, grade, worn, practice.Resolve(in.Practices, CaseIn(state, stand))), last: m.WithdrawnAt.IsZero(), groundMM: max(0, (m.Diameter-state.Diameter).MM()/2)}
	return stay, nil
}

// carry gives a stay the damage and the heat that the roll has.
func (in *Stays) carry(s *duty.Stand, i int, m port.Stay, stay *stayCondition) error {
	if in.Damage == nil {
		return nil
	}
	row := in.damageRow(s, i, m.Roll, in.Rolls[m.Roll].State.Diameter)
	if row == nil {
		return nil
	}
	if stay.last {
		stay.condition.Thermal, stay.thermalAt = row.Thermal, row.ThermalAt
	}
	stay.condition.Damage = &row.Field
	if stay.groundMM > 0 {
		stay.condition.Damage = beforeGrind(row.Field, stay.groundMM)
	}
	return nil
}

// damageRow is the damage of the roll in place i of the stand, begun where it has
// none yet; nil where nothing presses it.
func (in *Stays) damageRow(s *duty.Stand, i int, number string, diameter quantity.Micrometre) *port.DamageRow {
	if row := in.Damage[number]; row != nil {
		return row
	}
	field := s.NewDamage(i, limit.UsualPressureMPa)
	if field == nil {
		return nil
	}
	row := &port.DamageRow{Roll: number, Diameter: diameter, Field: *field}
	in.Damage[number] = row
	return row
}

// ConditionOf is what the book and the practices know of a roll for the models.
func ConditionOf(s roll.State, grade port.Grade, worn []float64, p practice.InForce) duty.Condition {
	return duty.Condition{BearingSpanMM: s.Roll.BearingSpan.MM(), NeckDiameterMM: s.Roll.NeckDiameter.MM(), CrownUM: s.CrownUM, Contour: contour.Of(p, false).Polynomial, Measured: contour.ForLoad(MeasuredContour(s)),
		WornUM: slices.Clone(worn), AllowableMPa: grade.AllowableStressMPa, Brittle: grade.Brittle(), Neck: neckOf(s, p)}
}

// MeasuredContour are the diameters along the barrel of the last grind, from the
// middle of the barrel.
func MeasuredContour(s roll.State) []contour.Reading {
	readings := make([]contour.Reading, len(s.Measured.Stations))
	for i, at := range s.Measured.Stations {
		readings[i] = contour.Reading{XMM: at.AtMM - s.Roll.BarrelLength.MM()/2, DiameterUM: float64(at.Diameter)}
	}
	return readings
}

// Deviation is how far the contour of the last grind is off its target, nil where
// fewer than three places were measured. Of a roll in a set it is that of its
// place.
func Deviation(s roll.State, p practice.InForce) *ContourView {
	if !s.Measured.Has(roll.MeasureStations) {
		return nil
	}
	target, readings := contour.Of(p, s.Set != "" && !s.Top), MeasuredContour(s)
	return &ContourView{Target: target.Name(), Deviation: contour.Compare(target, readings, s.Roll.BarrelLength.MM()), Stations: s.Measured.Stations,
		ToleranceUM: p.Number(practice.ContourToleranceUM), ForLoad: len(contour.ForLoad(readings).XMM) > 0}
}

// ContourView is a measured contour against its target.
type ContourView struct {
	Target string
	contour.Deviation
	Stations    []roll.Station
	ToleranceUM float64 // 0 where there is none
	ForLoad     bool
}

// neckOf is what is known of the ends of a roll: the fillet of its own receipt, or
// that of the practice.
func neckOf(s roll.State, p practice.InForce) duty.Neck {
	radius := s.Roll.NeckRadius.MM()
	if radius == 0 {
		radius = p.Number(practice.NeckFilletRadiusMM)
	}
	return duty.Neck{FilletRadiusMM: radius, FilletBending: p.Number(practice.FilletBendingFactor), FilletTorsion: p.Number(practice.FilletTorsionFactor),
		Friction: p.Number(practice.NeckFriction),
		DriveEnd: rollforce.DriveEnd{WobblerDiameterMM: p.Number(practice.WobblerDiameterMM), SpadeWidthMM: p.Number(practice.SpadeWidthMM), SpadeThicknessMM: p.Number(practice.SpadeThicknessMM)}}
}

// CooledTo is the growth of a mounted roll at a moment, from what the last piece
// left; as it was where the moment is before that.
func CooledTo(at time.Time, row *port.DamageRow, state roll.State, m duty.Models) heat.Growth {
	if row == nil || row.ThermalAt.IsZero() {
		return heat.Growth{}
	}
	cooled, err := m.CrownOf(state.Roll.Role).Rest(row.Thermal, state.Roll.BarrelLength.MM(), max(0, at.Sub(row.ThermalAt).Minutes()))
	if err != nil {
		return row.Thermal // no model of its heat: it stays as it is
	}
	return cooled
}

// beforeGrind is an empty field whose layers will be those of f once the stock
// is ground off it.
func beforeGrind(f fatigue.Field, stockMM float64) *fatigue.Field {
	f.Damage = make([]float64, len(f.Damage))
	f.OffMM -= stockMM
	for f.OffMM < 0 {
		f.OffMM += f.LayerMM
	}
	if f.OffMM >= f.LayerMM {
		f.OffMM = 0
	}
	return &f
}

// Rest lets each roll cool from its own last piece to this one, as the rolls of a
// stand need not have gone in together. A piece that comes late finds them as they
// are.
func (in *Stays) Rest(s *duty.Stand, mounted []port.Stay, at time.Time) {
	for i, m := range mounted {
		if stay := in.conditions[m.ID]; stay != nil && !stay.thermalAt.IsZero() && at.After(stay.thermalAt) {
			s.RestRoll(i, at.Sub(stay.thermalAt).Minutes())
		}
	}
}

// Rolled notes until when the heat of the rolls is known.
func (in *Stays) Rolled(mounted []port.Stay, at time.Time, minutes float64) {
	until := at.Add(time.Duration(minutes * float64(time.Minute)))
	for _, m := range mounted {
		stay := in.conditions[m.ID]
		switch {
		case stay == nil:
		case until.After(stay.thermalAt):
			stay.thermalAt = until
		case stay.last && in.replay == nil:
			in.belated[m.Stand] = true
		}
	}
}

// Settle lays what is waiting and gives the damage of every roll that bore a
// piece.
func (in *Stays) Settle() []port.DamageRow {
	for _, s := range in.setups {
		if s != nil {
			s.Settle()
		}
	}
	touched := map[string]*port.DamageRow{}
	for _, stay := range in.conditions {
		row := in.Damage[stay.roll]
		if row == nil || stay.condition.Damage == nil {
			continue
		}
		if late := stay.condition.Damage; late != &row.Field {
			if late.Grind(stay.groundMM) != nil {
				continue // all of it is off
			}
			for i, d := range late.Damage {
				row.Field.Damage[i] += d
			}
		}
		if stay.last {
			row.Thermal, row.ThermalAt = stay.condition.Thermal, stay.thermalAt.UTC().Truncate(time.Microsecond)
		}
		touched[stay.roll] = row
	}
	rows := make([]port.DamageRow, 0, len(touched))
	for _, row := range touched {
		rows = append(rows, *row)
	}
	return rows
}

// Late is when each roll went into the earliest stay that is over and bore a
// piece now.
func (in *Stays) Late() map[string]time.Time {
	late := map[string]time.Time{}
	for _, stay := range in.conditions {
		if before, ok := late[stay.roll]; !stay.last && (!ok || stay.mountedAt.Before(before)) {
			late[stay.roll] = stay.mountedAt
		}
	}
	return late
}
