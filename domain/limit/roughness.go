package limit

import (
	"math"

	"barrelbook/domain/practice"
)

// roughness is the decay of the surface (package wear, Roughness) with the
// kilometres since the grind. It is doubtful by the length rolled only, as the
// scale is the mill's own.
var roughness = Kind{
	Criterion: "roughness", Key: practice.RoughnessLimitUM, Unit: "µm Ra", Decimals: 2, Words: "roughness", Noun: "roughness", Short: "roughness", Falls: true, Unforced: true,
	Ends: func(roll, limit string, _ int) string {
		return "roughness of " + roll + " falls to the limit, " + limit
	},
	Watch: func(a *Ahead, j int) []Watch {
		r := a.Rolls[j]
		w, ok := of(r, practice.RoughnessLimitUM)
		if !ok || r.Roughness.ScaleKM <= 0 || r.Roughness.StartUM <= 0 {
			return nil
		}
		w.Bound = math.Inf(1)
		switch km, never, err := r.Roughness.KMUntil(w.Limit); {
		case r.Roughness.StartUM < w.Limit:
			w.Bound = -1 // ground too smooth: past it before the first piece
		case err == nil && !never:
			w.Bound = km
		}
		w.Growth, w.Spread = Adding{r.SinceGrind.RolledKM, a.Sum(j, kilometres), 1}, Spread{Length: 1}
		w.Show = func(km float64) float64 {
			ra, err := r.Roughness.At(km)
			if err != nil {
				return r.Roughness.StartUM // checked with the input
			}
			return ra
		}
		w.Source += "; use: Ra " + Number(r.Roughness.StartUM) + " µm of the last grind, tending to " + Number(r.Roughness.FloorUM) +
			" µm over " + Number(r.Roughness.ScaleKM) + " km" + a.lengthDoubt()
		return []Watch{w}
	},
}
