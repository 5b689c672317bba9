package limit

import (
	"math"

	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
)

// deepestWear is the deepest wear along the barrel since the last grind, at the
// rate now known: what is borne is as doubtful as what is to come.
var deepestWear = Kind{
	Criterion: "wear", Key: practice.MaxWearUM, Unit: "µm", Words: "deepest wear", Noun: "wear", Short: "wear",
	Ends: func(roll, limit string, _ int) string { return roll + " reaches " + limit + " wear" },
	Watch: func(a *Ahead, j int) []Watch {
		w, ok := of(a.Rolls[j], practice.MaxWearUM)
		if !ok || !a.HasWear(j) {
			return nil
		}
		w.Growth, w.Spread = a.wearOf(j), wearSpread(a.Rolls[j])
		w.Source += wearSource(a.Rolls[j])
		return []Watch{w}
	},
}

func (a *Ahead) wearOf(j int) Along {
	return Along{Borne: a.Rolls[j].WearUM(), profile: a.wear[j], Scale: a.Factor[j].Wear}
}

func wearSpread(r *standing.Roll) Spread {
	return Spread{Length: 1, Force: r.WearExponent(), Rate: true}
}

func wearSource(r *standing.Roll) string {
	return "; use: computed from pieces rolled and to come, rate " + Number(r.Rate.UmPerKmAt10) + " µm/km at 10 kN/mm ± " +
		Number(100*math.Hypot(r.SharedCV, r.OwnCV)) + " % from " + r.RateSource
}
