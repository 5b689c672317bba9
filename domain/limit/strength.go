package limit

import (
	"math"

	"barrelbook/domain/practice"
)

// strength is the least margin of the rolls' own strength against the practice.
var strength = Kind{
	Criterion: "strength", Key: practice.OverloadMarginMin, Unit: "%", Decimals: 0, Words: "margin of strength", Noun: "strength", Falls: true,
	Fixed: func(a *Ahead) []Fixed {
		limit := a.Stand.Limit(practice.OverloadMarginMin)
		if !limit.Set {
			return nil
		}
		f := Fixed{Limit: 100 * limit.Number, PerPiece: make([]float64, len(a.Pieces)), Rolls: make([]string, len(a.Pieces)),
			Source: "limit: " + limit.Source + "; use: bending and torsion under the forces of the programme against the stress allowed for the grade"}
		known := false
		for i, held := range a.Margin {
			f.PerPiece[i] = math.NaN()
			if held.Roll >= 0 {
				f.PerPiece[i], f.Rolls[i], known = 100*held.Share, a.Rolls[held.Roll].Number, true
			}
		}
		if !known {
			return nil
		}
		return []Fixed{f}
	},
}
