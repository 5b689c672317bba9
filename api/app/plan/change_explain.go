package plan

import (
	"fmt"
	"strings"

	"barrelbook/domain/limit"
	"barrelbook/domain/practice"
)

// explain lists, place by place, the limits and rates the plan was made with
// and where each comes from.
func (p *changePlanner) explain() ([]string, error) {
	var lines []string
	for i := range p.places {
		at := &p.places[i]
		set, ok, err := p.typical(at)
		if err != nil {
			return nil, err
		}
		if !ok {
			continue
		}
		var parts []string
		for _, k := range limit.Kinds() {
			if v := at.limits.Value(k.Key); v.Set {
				parts = append(parts, fmt.Sprintf("%s %s (%s)", k.Words, k.Value(v.Number), v.Source))
			}
		}
		for _, cost := range []struct {
			key  practice.Key
			what string
		}{
			{practice.ChangeCost, "a change costs %g"}, {practice.UnusedKMCost, "a kilometre given up costs %g"},
		} {
			if v := at.limits.Value(cost.key); v.Set {
				parts = append(parts, fmt.Sprintf(cost.what+" (%s)", v.Number, v.Source))
			}
		}
		parts = append(parts, fmt.Sprintf("wear %.3g µm/km at 10 kN/mm (%s)", set.Rolls[0].Rate.UmPerKmAt10, set.Rolls[0].RateSource))
		lines = append(lines, at.name()+": "+strings.Join(parts, "; "))
	}
	return lines, nil
}
