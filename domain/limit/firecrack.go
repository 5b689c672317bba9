package limit

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
)

// fireCrack is the depth of fire cracks by the mill's policy: so much for each
// piece that heated the roll since it was ground. It is a rule, not a law of
// nature, and is taken as exact.
var fireCrack = Kind{
	Criterion: "fire_crack", Key: practice.MaxFireCrackUM, Unit: "µm", Words: "fire-crack depth", Noun: "fire-crack", Short: "fire cracks", Unforced: true,
	Watch: func(a *Ahead, j int) []Watch {
		r := a.Rolls[j]
		w, ok := of(r, practice.MaxFireCrackUM)
		rate := r.Limit(practice.FireCrackUMPerPiece)
		if !ok || !rate.Set {
			return nil
		}
		w.Growth = Adding{r.FireCracks.LeftUM + rate.Number*float64(r.SinceGrind.Pieces-r.FireCracks.Counted), a.Sum(j, pieces), rate.Number}
		w.Source += "; use: " + Number(rate.Number) + " µm on radius per piece since the last grind, a policy (" + rate.Source + ")"
		if r.FireCracks.LeftUM > 0 {
			w.Source += ", on top of " + Number(r.FireCracks.LeftUM) + " µm that it left or a test measured"
		}
		return []Watch{w}
	},
}

func pieces(u *duty.Usage) float64 { return float64(u.Pieces) }
