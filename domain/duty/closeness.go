package duty

import (
	"math"

	"barrelbook/domain/heat"
	"barrelbook/domain/wear"
)

// shifts are those of the work and intermediate rolls, on the raster.
type shifts struct{ workMM, innerMM float64 }

// solvedFor is what the shape of the load depends on, with the force it was
// found at. Wear is followed apart.
type solvedFor struct {
	widthMM, offsetMM, forceN, bendingN, innerBendingN float64
	shifts
	// thermalUM is the growth of all rolls at places along their barrels, over
	// that in the middle.
	thermalUM [heatPlaces]float64
}

// heatPlaces is at how many places along a barrel two growths are compared.
const heatPlaces = 9

var (
	heatStations = heat.NewStations(heatPlaces)
	gridStations = heat.NewStations(wear.DefaultStations)
)

// warmth is what solvedFor needs of the heat of a half.
func (s *Stand) warmth(h *half) (at [heatPlaces]float64) {
	var one [heatPlaces]float64
	for _, i := range h.rolls {
		if g := &s.mech.rolls[i].Thermal; *g != (heat.Growth{}) {
			heatStations.Along(g, one[:])
			for k := range at {
				at[k] += one[k] - one[heatPlaces/2]
			}
		}
	}
	return at
}

// shiftRasterMM is how finely the load follows the shift of rolls, a quarter of
// the distance of the stations at which it is kept. Wear follows it exactly.
const shiftRasterMM = 10

func onRaster(mm float64) float64 { return shiftRasterMM * math.Round(mm/shiftRasterMM) }

// closeness is how far things may move before the load along the barrel is
// solved again, and in how many slices.
type closeness struct {
	widthMM, force, thermalUM, wearUM float64
	slices                            int
}

// The books solve finely enough that the line load stays within 4 % of the mean
// and the pressure within 2 % of solving for every piece, closer than the thermal
// crown is known; a forecast, whose forces are plans, within 6 % and 3 %
// (tested).
var (
	forBooks    = closeness{widthMM: 10, force: 0.10, thermalUM: 20, wearUM: 12, slices: 60}
	forForecast = closeness{widthMM: 8, force: 0.15, thermalUM: 30, wearUM: 30, slices: 40}
)

func (c closeness) near(a, b solvedFor) bool {
	return math.Abs(a.widthMM-b.widthMM) <= c.widthMM && a.offsetMM == b.offsetMM && a.shifts == b.shifts &&
		math.Abs(a.forceN-b.forceN) <= c.force*b.forceN && math.Abs(a.bendingN-b.bendingN) <= c.force*b.forceN/10 &&
		math.Abs(a.innerBendingN-b.innerBendingN) <= c.force*b.forceN/10 && nearWarm(a.thermalUM, b.thermalUM, c.thermalUM)
}

func nearWarm(a, b [heatPlaces]float64, um float64) bool {
	for k := range a {
		if math.Abs(a[k]-b[k]) > um {
			return false
		}
	}
	return true
}
