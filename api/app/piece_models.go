package app

import (
	"slices"
	"time"

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

// sincePressureMPa is the peak pressure whose contact sets how finely the
// damage of a roll is kept in depth: usual in a hot strip mill, common practice,
// no source. A roll keeps the layers it began with.
const sincePressureMPa = 1200

// useModels turns the models on for the rolls mounted together.
func (in *ingest) useModels(s *duty.Stand, millName string, stand mill.Stand, mounted []MountingRow) error {
	models, err := in.app.modelsFor(in.mills[millName], stand, in.practices)
	if err != nil {
		return err
	}
	conditions := make([]*duty.Condition, len(mounted))
	for i, m := range mounted {
		if in.inside[m.ID] == nil {
			if in.inside[m.ID], err = in.enterStay(s, i, m, stand); err != nil {
				return err
			}
		}
		conditions[i] = &in.inside[m.ID].condition
	}
	s.Use(models, conditions)
	return nil
}

// enterStay is the state that the models start a roll's stay from.
func (in *ingest) enterStay(s *duty.Stand, i int, m MountingRow, stand mill.Stand) (*inside, error) {
	state := in.rolls[m.Roll].State
	grade, err := in.grade(state.Roll.Grade)
	if err != nil {
		return nil, err
	}
	worn, err := wornSinceGrind(in.r, state, m, in.now)
	if err != nil {
		return nil, err
	}
	stay := &inside{roll: m.Roll, condition: conditionOf(state, grade, worn), last: m.WithdrawnAt.IsZero(), groundMM: max(0, (m.Diameter-state.Diameter).MM()/2)}
	if in.damage == nil {
		return stay, nil
	}
	row := in.damage[m.Roll]
	if row == nil {
		field := s.NewDamage(i, sincePressureMPa)
		if field == nil {
			return stay, nil
		}
		row = &DamageRow{Roll: m.Roll, Diameter: state.Diameter, Field: *field}
		in.damage[m.Roll] = row
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

// conditionOf is what the book knows of a roll for the models.
func conditionOf(s roll.State, grade Grade, worn []float64) duty.Condition {
	return duty.Condition{BearingSpanMM: s.Roll.BearingSpan.MM(), NeckDiameterMM: s.Roll.NeckDiameter.MM(), CrownUM: s.CrownUM,
		WornUM: slices.Clone(worn), AllowableMPa: grade.AllowableStressMPa, Brittle: grade.brittle()}
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

// rest lets the work rolls cool from the last piece to this one. A piece that
// comes late finds them as they are.
func (in *ingest) rest(s *duty.Stand, mounted []MountingRow, at time.Time) {
	for _, m := range mounted {
		stay := in.inside[m.ID]
		if m.Position.Role() == mill.Work && stay != nil && !stay.thermalAt.IsZero() && at.After(stay.thermalAt) {
			s.Rest(at.Sub(stay.thermalAt).Minutes())
			return
		}
	}
}

// rolled notes until when the heat of the rolls is known.
func (in *ingest) rolled(mounted []MountingRow, at time.Time, minutes float64) {
	until := at.Add(time.Duration(minutes * float64(time.Minute)))
	for _, m := range mounted {
		if stay := in.inside[m.ID]; stay != nil && until.After(stay.thermalAt) {
			stay.thermalAt = until
		}
	}
}

// keepDamage lays what is waiting and writes the damage of every roll that bore
// a piece.
func (in *ingest) keepDamage() error {
	for _, s := range in.setups {
		if s != nil {
			s.Settle()
		}
	}
	touched := map[string]*DamageRow{}
	for _, stay := range in.inside {
		row := in.damage[stay.roll]
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
	rows := make([]DamageRow, 0, len(touched))
	for _, row := range touched {
		rows = append(rows, *row)
	}
	return in.w.PutDamage(rows)
}

// readDamage reads the damage of rolls with all their grinds taken off.
func readDamage(r Reader, rolls []RollRow) (map[string]*DamageRow, error) {
	numbers := make([]string, len(rolls))
	state := map[string]roll.State{}
	for i, row := range rolls {
		numbers[i] = row.State.Roll.Number
		state[numbers[i]] = row.State
	}
	slices.Sort(numbers)
	rows, err := r.Damage(numbers)
	if err != nil {
		return nil, err
	}
	damage := map[string]*DamageRow{}
	for i := range rows {
		row := &rows[i]
		// A correction may have found that less was ground off than the book had
		// it. What was taken off the field cannot be put back; it stays as it is.
		if now := state[row.Roll].Diameter; now < row.Diameter {
			if err := row.Field.Grind((row.Diameter - now).MM() / 2); err != nil {
				return nil, err
			}
			row.Diameter = now
		}
		damage[row.Roll] = row
	}
	return damage, nil
}

// wornSinceGrind is the computed wear of a roll since its last grind: of this
// stay and, where a roll goes back without a grind, of those before. Of a stay
// before the last grind it is that stay's own.
func wornSinceGrind(r Reader, state roll.State, m MountingRow, until time.Time) ([]float64, error) {
	var since duty.Usage
	since.Add(m.Usage)
	if state.CampaignsSinceGrind == 0 || m.MountedAt.Before(state.GroundAt) {
		return since.WearUM, nil
	}
	rows, _, err := r.Mountings(state.Roll.Number, Page{Limit: state.CampaignsSinceGrind + 1})
	if err != nil {
		return nil, err
	}
	for _, before := range rows {
		if before.ID != m.ID && !before.MountedAt.Before(state.GroundAt) && !before.WithdrawnAt.IsZero() && !before.WithdrawnAt.After(until) {
			since.Add(before.Usage)
		}
	}
	return since.WearUM, nil
}
