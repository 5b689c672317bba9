package gather

import (
	"slices"

	"barrelbook/api/app/port"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// RollDamage is the contact fatigue of a roll as a person wants to see it.
type RollDamage struct {
	Worst    float64
	DepthMM  float64 // on radius below the surface
	XMM      float64 // along the barrel, from its middle
	Limit    float64
	Source   string // of the limit
	AlongXMM []float64
	Along    []float64 // worst layer at each station
}

// DamageOf shows the damage of one roll, nil where none was ever counted.
func DamageOf(r port.Reader, row port.RollRow, p practice.InForce) (*RollDamage, *fatigue.Field, error) {
	rows, err := ReadDamage(r, []port.RollRow{row})
	if err != nil {
		return nil, nil, err
	}
	kept := rows[row.State.Roll.Number]
	if kept == nil {
		return nil, nil, nil
	}
	worst, limit := kept.Field.Worst(), p.Value(practice.MaxDamage)
	barrel := row.State.Roll.BarrelLength.MM()
	at := func(station int) float64 {
		return barrel * (float64(station)/float64(max(1, kept.Field.Stations-1)) - 0.5)
	}
	d := &RollDamage{Worst: worst.Damage, DepthMM: worst.DepthMM, XMM: at(worst.Station), Limit: limit.Number, Source: limit.Source}
	for i := range kept.Field.Stations {
		d.AlongXMM, d.Along = append(d.AlongXMM, at(i)), append(d.Along, kept.Field.WorstAt(i).Damage)
	}
	return d, &kept.Field, nil
}

// ReadDamage reads the damage of rolls with all their grinds taken off.
func ReadDamage(r port.Reader, rolls []port.RollRow) (map[string]*port.DamageRow, error) {
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
	damage := map[string]*port.DamageRow{}
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
