package wear

import (
	"strconv"

	"barrelbook/domain/refusal"
)

// DefaultStations is the number of stations along a barrel when a mill does
// not choose another.
const DefaultStations = 41

// Grid is the fixed set of stations along a barrel at which wear is kept:
// evenly spaced, both barrel ends included, x from the middle of the barrel.
// The same grid stays with a roll for its life. Make one with NewGrid.
type Grid struct {
	barrelMM float64
	stepMM   float64
	stations int
}

// NewGrid makes the grid of a barrel 10 to 20 000 mm long with 3 to 2001
// stations.
func NewGrid(barrelMM float64, stations int) (Grid, error) {
	var c refusal.Check
	c.Within("barrel_length_mm", barrelMM, 10, 20_000)
	c.Within("station_count", float64(stations), 3, 2001)
	if err := c.Err(); err != nil {
		return Grid{}, err
	}
	return Grid{barrelMM: barrelMM, stepMM: barrelMM / float64(stations-1), stations: stations}, nil
}

// Stations is the number of stations.
func (g Grid) Stations() int { return g.stations }

// BarrelMM is the length of the barrel.
func (g Grid) BarrelMM() float64 { return g.barrelMM }

// X is where station i lies, in mm from the middle of the barrel.
func (g Grid) X(i int) float64 {
	// Counted from both ends, so that the grid is its own mirror image to the
	// last bit and a symmetric load leaves a symmetric profile.
	return g.stepMM * (float64(i) - float64(g.stations-1)/2)
}

// XS is where all stations lie.
func (g Grid) XS() []float64 {
	xs := make([]float64, g.stations)
	for i := range xs {
		xs[i] = g.X(i)
	}
	return xs
}

// New is an unworn profile for this grid.
func (g Grid) New() []float64 { return make([]float64, g.stations) }

// cellRight is the end of station i's cell towards positive x.
func (g Grid) cellRight(i int) float64 {
	if i == g.stations-1 {
		return g.barrelMM / 2
	}
	return g.X(i) + g.stepMM/2
}

// Deepest is the greatest depth of a profile and its station; (0, -1) for an
// empty one.
func Deepest(depthUM []float64) (um float64, station int) {
	station = -1
	for i, d := range depthUM {
		if station < 0 || d > um {
			um, station = d, i
		}
	}
	return um, station
}

// Mean is the mean depth over the whole barrel; the end stations weigh half,
// as their cells are half as wide.
func (g Grid) Mean(depthUM []float64) (float64, error) {
	return g.MeanOver(depthUM, g.barrelMM, 0)
}

// MeanOver is the mean depth over a width of the barrel whose middle lies at
// offsetMM: the worn area there, cells counted in proportion to their overlap,
// over the width. The width must be above 0 and lie on the barrel.
func (g Grid) MeanOver(depthUM []float64, widthMM, offsetMM float64) (float64, error) {
	var c refusal.Check
	g.checkDepth(&c, depthUM)
	if c.Positive("width_mm", widthMM) && c.Finite("lateral_offset_mm", offsetMM) {
		g.checkOnBarrel(&c, "width_mm", widthMM, offsetMM)
	}
	if err := c.Err(); err != nil {
		return 0, err
	}
	low, high := offsetMM-widthMM/2, offsetMM+widthMM/2
	left, area := -g.barrelMM/2, 0.0
	for i, d := range depthUM {
		right := g.cellRight(i)
		if overlap := min(right, high) - max(left, low); overlap > 0 {
			area += d * overlap
		}
		left = right
	}
	return area / widthMM, nil
}

func (g Grid) checkDepth(c *refusal.Check, depthUM []float64) {
	if len(depthUM) != g.stations || g.stations == 0 {
		c.Add("depth_um", count(len(depthUM)), "must have one value per station of the grid, "+strconv.Itoa(g.stations), "")
		return
	}
	for _, d := range depthUM {
		if !c.Finite("depth_um", d) {
			return
		}
	}
}

// checkOnBarrel allows a micrometre over the end: the same barrel in inches
// and in millimetres is not the same float.
func (g Grid) checkOnBarrel(c *refusal.Check, path string, widthMM, offsetMM float64) {
	if max(offsetMM, -offsetMM)+widthMM/2 > g.barrelMM/2+0.001 {
		c.Add(path, refusal.Number(widthMM), "at "+refusal.Number(offsetMM)+" mm from the middle reaches over the end of a barrel of "+
			refusal.Number(g.barrelMM)+" mm", "check width, offset and the roll")
	}
}

func count(n int) string { return strconv.Itoa(n) + " values" }
