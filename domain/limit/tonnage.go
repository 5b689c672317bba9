package limit

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
)

// campaignTonnage is what a roll may roll from going in to coming out. Masses are
// taken from the programme as exact.
var campaignTonnage = Kind{
	Criterion: "campaign_tonnage", Key: practice.MaxCampaignT, Unit: "t", Words: "tonnes of the campaign", Noun: "campaign", Short: "tonnes", Unforced: true,
	Ends: endsOfCampaign,
	Watch: func(a *Ahead, j int) []Watch {
		w, ok := of(a.Rolls[j], practice.MaxCampaignT)
		if !ok {
			return nil
		}
		w.Growth = Adding{a.Rolls[j].Stay.TonnageT, a.Sum(j, tonnes), 1}
		w.Source += "; use: pieces rolled and masses of the programme, taken as exact"
		return []Watch{w}
	},
}

func tonnes(u *duty.Usage) float64 { return u.TonnageT }

func endsOfCampaign(roll, limit string, _ int) string {
	return roll + " reaches the " + limit + " of its campaign"
}
