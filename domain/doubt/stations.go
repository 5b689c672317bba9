package doubt

import (
	"fmt"

	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// stationGauges is how far, in gauge uncertainties, a diameter may lie outside
// those along the barrel: margin of this program's own.
const stationGauges = 2

func (g Grind) foundStations() (Question, bool) {
	return g.beside("found_mm", "found", g.Body.Found, g.Body.FoundStations)
}

func (g Grind) groundStations() (Question, bool) {
	return g.beside("ground_mm", "ground", g.Body.Ground, g.Body.Stations)
}

// beside asks of a diameter that lies outside those measured along the barrel.
func (g Grind) beside(field, what string, d quantity.Micrometre, stations []roll.Station) (Question, bool) {
	if len(stations) == 0 || g.settled(d, stations) {
		return Question{}, false
	}
	least, most := span(stations)
	return Question{Stations, field, fmt.Sprintf("%s %s lies outside the diameters along the barrel, %s to %s", what, d, least, most)}, true
}

// settled says whether a diameter was read more than once: along the barrel it
// is the same, so no digit of it slipped.
func (g Grind) settled(d quantity.Micrometre, stations []roll.Station) bool {
	if len(stations) == 0 {
		return false
	}
	least, most := span(stations)
	return d >= least-stationGauges*g.gauge() && d <= most+stationGauges*g.gauge()
}

func span(stations []roll.Station) (least, most quantity.Micrometre) {
	least, most = stations[0].Diameter, stations[0].Diameter
	for _, s := range stations {
		least, most = min(least, s.Diameter), max(most, s.Diameter)
	}
	return least, most
}
