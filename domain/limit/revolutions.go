package limit

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
)

// revolutions is how often a roll may turn from going in to coming out.
var revolutions = Kind{
	Criterion: "campaign_revolutions", Key: practice.MaxCampaignRevolutions, Unit: "revolutions", Words: "revolutions of the campaign", Noun: "campaign", Short: "revolutions", Unforced: true,
	Ends: endsOfCampaign,
	Watch: func(a *Ahead, j int) []Watch {
		w, ok := of(a.Rolls[j], practice.MaxCampaignRevolutions)
		if !ok {
			return nil
		}
		w.Growth, w.Spread = Adding{a.Rolls[j].Stay.Revolutions, a.Sum(j, turns), a.Factor[j].Turns}, Spread{Length: 1}
		w.Source += "; use: pieces rolled and lengths of the programme, at the diameter as ground" + a.lengthDoubt()
		return []Watch{w}
	},
}

func turns(u *duty.Usage) float64 { return u.Revolutions }
