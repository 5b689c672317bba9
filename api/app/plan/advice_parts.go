package plan

import (
	"fmt"
	"math"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// damagePart adds to an advice what it takes to be rid of fatigue over the
// limit, and gives the deepest part so far with its rule. A grind cannot heal a
// layer, only take it off.
func damagePart(r port.Reader, s roll.State, p practice.InForce, advice *Advice, deepest float64, rule string) (float64, string, error) {
	shown, field, err := gather.DamageOf(r, port.RollRow{State: s}, p)
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
	advice.Parts = append(advice.Parts, StockPart{Part: "damage", UM: um, Source: source})
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

// grooveParts adds what the deepest worn groove needs below the found diameter.
// Redressing turns all grooves by the same cut.
func grooveParts(r port.Reader, s roll.State, advice *Advice, deepest float64, rule string) (float64, string, error) {
	worn, err := gather.GrooveWorn(r, s)
	if err != nil {
		return 0, "", err
	}
	need := math.Max(0, float64(worn-(s.Diameter-advice.Found)))
	advice.Parts = append(advice.Parts, StockPart{Part: "groove", UM: need, Source: "deepest groove wear computed from the tonnes through it, less what the collars have lost; all grooves are turned by the same cut"})
	if need > deepest {
		return need, "the deepest worn groove", nil
	}
	return deepest, rule, nil
}
