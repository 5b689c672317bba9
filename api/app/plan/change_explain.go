package plan

import (
	"fmt"
	"strings"

	"barrelbook/api/app/learn"
	"barrelbook/domain/practice"
)

// explain lists, place by place, the limits and rates the plan was made with
// and where each comes from.
func (p *changePlanner) explain() []string {
	var lines []string
	for i := range p.places {
		at := &p.places[i]
		state, ok := p.typical(at)
		if !ok {
			continue
		}
		var parts []string
		for _, limit := range []struct {
			key  practice.Key
			what string
		}{
			{practice.MaxCampaignKM, "%g km of a campaign"}, {practice.MaxCampaignT, "%g t of a campaign"}, {practice.MaxWearUM, "%g µm of wear"},
			{practice.ChangeCost, "a change costs %g"}, {practice.UnusedKMCost, "a kilometre given up costs %g"},
		} {
			if v := at.limits.Value(limit.key); v.Set {
				parts = append(parts, fmt.Sprintf(limit.what+" (%s)", v.Number, v.Source))
			}
		}
		rate := learn.RateOf(p.rates, state, at.stand, at.limits)
		parts = append(parts, fmt.Sprintf("wear %.3g µm/km at 10 kN/mm (%s)", rate.UMPerKM, rate.Source))
		lines = append(lines, at.name()+": "+strings.Join(parts, "; "))
	}
	return lines
}
