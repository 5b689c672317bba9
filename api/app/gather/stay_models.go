package gather

import (
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// inside is what the models carry on for one stay of a roll in a stand, over
// all the pieces of a group and whoever is in the stand with it.
type inside struct {
	condition duty.Condition
	roll      string
	// last is true for the stay the roll is in now; only that one's heat is kept.
	last bool
	// groundMM is the stock taken off the radius since. Pieces that come late
	// damage layers that lie nearer the surface by now.
	groundMM  float64
	thermalAt time.Time // the moment that condition.ThermalUM holds for
}

// SincePressureMPa is the peak pressure whose contact sets how finely the
// damage of a roll is kept in depth: usual in a hot strip mill, common practice,
// no source. A roll keeps the layers it began with.
const SincePressureMPa = 1200

// useModels turns the models on for the rolls mounted together.
func (in *Stays) useModels(s *duty.Stand, millName string, stand mill.Stand, mounted []port.MountingRow) error {
	models, err := in.models.Of(in.Mills[millName], stand, in.Practices)
	if err != nil {
		return err
	}
	conditions := make([]*duty.Condition, len(mounted))
	for i, m := range mounted {
		if in.inside[m.ID] == nil {
			enter := in.enterStay
			if in.replay != nil {
				enter = in.replay.enterStay
			}
			if in.inside[m.ID], err = enter(s, i, m); err != nil {
				return err
			}
		}
		conditions[i] = &in.inside[m.ID].condition
	}
	s.Use(models, conditions)
	return nil
}

// enterStay is the state that the models start a roll's stay from.
func (in *Stays) enterStay(s *duty.Stand, i int, m port.MountingRow) (*inside, error) {
	state := in.Rolls[m.Roll].State
	grade, err := in.grade(state.Roll.Grade)
	if err != nil {
		return nil, err
	}
	worn, err := WornSinceGrind(in.r, state, m, in.Now)
	if err != nil {
		return nil, err
	}
	stay := &inside{roll: m.Roll, condition: ConditionOf(state, grade, worn), last: m.WithdrawnAt.IsZero(), groundMM: max(0, (m.Diameter-state.Diameter).MM()/2)}
	if in.Damage == nil {
		return stay, nil
	}
	row := in.Damage[m.Roll]
	if row == nil {
		field := s.NewDamage(i, SincePressureMPa)
		if field == nil {
			return stay, nil
		}
		row = &port.DamageRow{Roll: m.Roll, Diameter: state.Diameter, Field: *field}
		in.Damage[m.Roll] = row
	}
	if stay.last {
		stay.condition.ThermalUM, stay.thermalAt = row.ThermalUM, row.ThermalAt
	}
	stay.condition.Damage = &row.Field
	if stay.groundMM > 0 {
		stay.condition.Damage = beforeGrind(row.Field, stay.groundMM)
	}
	return stay, nil
}

// ConditionOf is what the book knows of a roll for the models.
func ConditionOf(s roll.State, grade port.Grade, worn []float64) duty.Condition {
	return duty.Condition{BearingSpanMM: s.Roll.BearingSpan.MM(), NeckDiameterMM: s.Roll.NeckDiameter.MM(), CrownUM: s.CrownUM,
		WornUM: slices.Clone(worn), AllowableMPa: grade.AllowableStressMPa, Brittle: grade.Brittle()}
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

// Rest lets the work rolls cool from the last piece to this one. A piece that
// comes late finds them as they are.
func (in *Stays) Rest(s *duty.Stand, mounted []port.MountingRow, at time.Time) {
	for _, m := range mounted {
		stay := in.inside[m.ID]
		if m.Position.Role() == mill.Work && stay != nil && !stay.thermalAt.IsZero() && at.After(stay.thermalAt) {
			s.Rest(at.Sub(stay.thermalAt).Minutes())
			return
		}
	}
}

// Rolled notes until when the heat of the rolls is known.
func (in *Stays) Rolled(mounted []port.MountingRow, at time.Time, minutes float64) {
	until := at.Add(time.Duration(minutes * float64(time.Minute)))
	for _, m := range mounted {
		if stay := in.inside[m.ID]; stay != nil && until.After(stay.thermalAt) {
			stay.thermalAt = until
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
	for _, stay := range in.inside {
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
			row.ThermalUM, row.ThermalAt = stay.condition.ThermalUM, stay.thermalAt.UTC().Truncate(time.Microsecond)
		}
		touched[stay.roll] = row
	}
	rows := make([]port.DamageRow, 0, len(touched))
	for _, row := range touched {
		rows = append(rows, *row)
	}
	return rows
}
