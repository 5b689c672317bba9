package doubt

import (
	"fmt"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
)

// How far wear may be from what was computed before it is asked about: a share
// of it, wide enough for a campaign unlike the others and a roll read warm, and
// some gauge uncertainties. Margins of this program's own, tried on the demo works.
const (
	wearShare  = 0.6
	wearGauges = 5
)

// wear asks of a found diameter far from what was rolled.
func (g Grind) wear() (Question, bool) {
	if !g.Ran || g.settled(g.Body.Found, g.Body.FoundStations) {
		return Question{}, false
	}
	wear, least, most := float64(g.found()), -1e9, g.mostUncomputed()
	account := "a normal campaign wears less than " + quantity.Micrometre(most).String()
	switch {
	case g.Before.Roll.Grooved():
		least, most, account = -1e9, wearGauges*float64(g.gauge()), "the collars, which are measured, hardly wear"
	case g.WornUM > 0:
		span := wearShare*g.WornUM + wearGauges*float64(g.gauge())
		least, most = g.WornUM-span, g.WornUM+span
		account = "what was rolled accounts for about " + quantity.Micrometre(g.WornUM+0.5).String()
	}
	switch {
	case wear > most:
		return Question{Wear, "found_mm", fmt.Sprintf("found %s is %s below the last diameter %s, and %s", g.Body.Found, g.found(), g.Before.Diameter, account)}, true
	case wear < least:
		return Question{Wear, "found_mm", fmt.Sprintf("found %s is only %s below the last diameter %s, and %s", g.Body.Found, max(g.found(), 0), g.Before.Diameter, account)}, true
	}
	return Question{}, false
}

// mostUncomputed is the wear above which is asked while none can be computed:
// twice what the practice's normal campaign leaves for it.
func (g Grind) mostUncomputed() float64 {
	p := g.Practice
	usual := float64(p.Millimetres(practice.NormalStockMM)) - float64(p.Millimetres(practice.LeastStockMM)) - p.Number(practice.MarginStockUM)
	return 2*max(usual, 0) + wearGauges*float64(g.gauge())
}
