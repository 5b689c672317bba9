package app

import (
	"fmt"
	"math"

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

// damageOf shows the damage of one roll, nil where none was ever counted.
func damageOf(r Reader, row RollRow, p practice.InForce) (*RollDamage, *fatigue.Field, error) {
	rows, err := readDamage(r, []RollRow{row})
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

// damagePart adds to an advice what it takes to be rid of fatigue over the
// limit, and gives the deepest part so far with its rule. A grind cannot heal a
// layer, only take it off.
func damagePart(r Reader, s roll.State, p practice.InForce, advice *Advice, deepest float64, rule string) (float64, string, error) {
	shown, field, err := damageOf(r, RollRow{State: s}, p)
	if err != nil || shown == nil {
		return deepest, rule, err
	}
	source := fmt.Sprintf("contact fatigue %.3g of %g allowed (%s), %.1f mm deep: a policy, not a law", shown.Worst, shown.Limit, shown.Source, shown.DepthMM)
	stock, err := field.StockToRemove(shown.Limit)
	if err != nil {
		return deepest, rule, err
	}
	// Damage lies below the last ground surface, stock is counted from what was
	// found.
	um := math.Max(0, 2000*stock.RadialMM-float64(s.Diameter-advice.Found))
	if stock.RadialMM == 0 {
		um = 0
	}
	advice.Parts = append(advice.Parts, StockPart{"damage", um, source})
	if um > 0 {
		advice.Notes = append(advice.Notes, "fatigue over the limit lies deep: grinding a little oftener, or a lighter duty, keeps it down at less stock than taking it all off at once")
	}
	if stock.Beyond {
		advice.Notes = append(advice.Notes, "fatigue over the limit reaches below what is kept of the roll's depth: this stock does not take all of it off")
	}
	if um > deepest {
		return um, "contact fatigue over the limit", nil
	}
	return deepest, rule, nil
}
