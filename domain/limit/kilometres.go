package limit

import (
	"barrelbook/domain/duty"
	"barrelbook/domain/practice"
)

// campaignKM is the length a roll may roll from going in to coming out.
var campaignKM = Kind{
	Criterion: "campaign_km", Key: practice.MaxCampaignKM, Unit: "km", Decimals: 1, Words: "kilometres of the campaign", Noun: "campaign", Short: "km", Unforced: true,
	Ends: endsOfCampaign,
	Watch: func(a *Ahead, j int) []Watch {
		w, ok := of(a.Rolls[j], practice.MaxCampaignKM)
		if !ok {
			return nil
		}
		w.Growth, w.Spread = Adding{a.Rolls[j].Stay.RolledKM, a.Sum(j, kilometres), 1}, Spread{Length: 1}
		w.Source += "; use: pieces rolled, and masses, widths and thicknesses of the programme" + a.lengthDoubt()
		return []Watch{w}
	},
}

func kilometres(u *duty.Usage) float64 { return u.RolledKM }

func (a *Ahead) lengthDoubt() string { return "; length_cv " + Number(a.LengthCV) }

func (a *Ahead) forceDoubt() string { return "; force_cv " + Number(a.ForceCV) }
