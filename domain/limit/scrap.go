package limit

// scrapDiameter is the diameter that wear leaves against the roll's scrap limit.
var scrapDiameter = Kind{
	Criterion: ScrapDiameter, Unit: "mm", Decimals: 3, Words: "diameter", Noun: "scrap", Short: "scrap diameter", Falls: true,
	Ends: func(roll, limit string, _ int) string { return roll + " wears down to its scrap limit " + limit },
	Watch: func(a *Ahead, j int) []Watch {
		r := a.Rolls[j]
		if r.ScrapDiameterMM <= 0 || !a.HasWear(j) {
			return nil
		}
		return []Watch{{Limit: r.ScrapDiameterMM, Bound: 1000 * (r.DiameterMM - r.ScrapDiameterMM), Growth: a.wearOf(j), Spread: wearSpread(r),
			Show:   func(um float64) float64 { return r.DiameterMM - um/1000 },
			Source: "limit: " + r.ScrapLimit + " of the roll; diameter as ground less the deepest wear" + wearSource(r)}}
	},
}

// ScrapDiameter is asked for by name: what of it is used counts from the
// diameter now.
const ScrapDiameter Criterion = "scrap_diameter"
