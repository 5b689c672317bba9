package limit

import "barrelbook/domain/practice"

// reduction is the greatest reduction of thickness in one pass of each piece: a
// temper mill is made for some per cent, no more.
var reduction = Kind{
	Criterion: "reduction", Key: practice.MaxReductionPct, Unit: "%", Decimals: 2, Words: "reduction", Noun: "reduction",
	Fixed: func(a *Ahead) []Fixed {
		limit := a.Stand.Limit(practice.MaxReductionPct)
		if !limit.Set || len(a.Stand.Work.Rolls) == 0 {
			return nil
		}
		greatest := make([]float64, len(a.Pieces))
		for i, p := range a.Pieces {
			for _, pass := range p.Passes {
				if pass.Stand == a.Stand.Name && pass.EntryThicknessMM > 0 {
					greatest[i] = max(greatest[i], 100*(1-pass.ExitThicknessMM/pass.EntryThicknessMM))
				}
			}
		}
		return []Fixed{{Roll: a.Rolls[0].Number, Limit: limit.Number, PerPiece: greatest,
			Source: "limit: " + limit.Source + "; use: thicknesses of the programme"}}
	},
}
