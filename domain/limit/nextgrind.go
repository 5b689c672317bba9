package limit

import "barrelbook/domain/practice"

// nextGrind holds the diameter after the next normal grind against the scrap
// limit. It bars nothing: a roll may roll its last campaign.
var nextGrind = Kind{
	Criterion: NextGrind, Unit: "mm", Decimals: 3, Words: "diameter after the next normal grind", Noun: "scrap", Falls: true, Informs: true,
	Fixed: func(a *Ahead) (list []Fixed) {
		for _, r := range a.Rolls {
			stock := r.Limit(practice.NormalStockMM)
			if r.ScrapDiameterMM <= 0 || !stock.Set {
				continue
			}
			list = append(list, Fixed{Roll: r.Number, Limit: r.ScrapDiameterMM, Now: r.DiameterMM - stock.Number,
				Source: "limit: " + r.ScrapLimit + " of the roll; normal stock: " + stock.Source})
		}
		return list
	},
}

// NextGrind is asked for by name: it tells a last campaign.
const NextGrind Criterion = "diameter_after_grind"
