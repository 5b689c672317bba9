package roll

import (
	"fmt"
	"math"
	"strings"

	"barrelbook/client/cli/stand"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
	"barrelbook/domain/drawing"
)

// The barrel is laid out flat: along it from left to right, around it in rows.
const (
	mapColumns = 60
	mapRows    = 12
	rowDeg     = 360 / mapRows
)

// mark is the sign of the nth place: a to z, A to Z, then # for all others.
func mark(n int) byte {
	switch {
	case n < 26:
		return byte('a' + n)
	case n < 52:
		return byte('A' + n - 26)
	}
	return '#'
}

// printMap draws the barrel and lists its places.
func printMap(t *term.Streams, u render.Units, m oapi.RollMap) {
	t.Print("%s", t.Bold(fmt.Sprintf("Roll %s, barrel %s: what tests read", m.Roll, u.Length(m.BarrelLengthMm))))
	if len(m.Places) == 0 {
		t.Print("No test has read anything at a place. That is no proof that nothing is there.")
		return
	}
	for _, line := range barrelMap(m) {
		t.Print("%s", line)
	}
	t.Print("%9s%-30s%30s", "", "drive side", "operator side "+u.Length(m.BarrelLengthMm))
	t.Print("")
	for i, p := range m.Places {
		line := fmt.Sprintf("%c  %s", mark(i), p.Says)
		switch {
		case p.Named:
			line = t.Bad(line)
		case p.Course == oapi.MapPlaceCourseGone:
			line = t.Good(line)
		}
		t.Print("%s", line)
	}
	t.Print("")
	t.Print("Readings within %s along and %s° around are of one place. What no test read is not known.", u.Dimension(m.AlongMm), render.Number(m.AroundDeg, 3))
}

// barrelMap is the barrel in rows of 30 degrees, and one for the readings
// without an angle. A cell that two places share says +.
func barrelMap(m oapi.RollMap) (lines []string) {
	cells := map[int][]byte{}
	for i, p := range m.Places {
		row := mapRows
		if p.AroundDeg != nil {
			row = int(*p.AroundDeg/rowDeg) % mapRows
		}
		if cells[row] == nil {
			cells[row] = []byte(strings.Repeat(".", mapColumns))
		}
		column := min(mapColumns-1, int(math.Max(0, p.AtMm)/math.Max(m.BarrelLengthMm, 1)*mapColumns))
		if cells[row][column] == '.' {
			cells[row][column] = mark(i)
		} else {
			cells[row][column] = '+'
		}
	}
	for row := range mapRows {
		line := cells[row]
		if line == nil {
			line = []byte(strings.Repeat(".", mapColumns))
		}
		lines = append(lines, fmt.Sprintf("%6d°  %s", row*rowDeg, line))
	}
	if line := cells[mapRows]; line != nil {
		lines = append(lines, fmt.Sprintf("%8s %s", "no angle", line))
	}
	return lines
}

// mapPanels are the map and, where a place was read more than once, its readings
// over the grinds.
func mapPanels(u render.Units, m oapi.RollMap) []drawing.Panel {
	return append(placePanels(u, m), trendPanels(m)...)
}

func placePanels(u render.Units, m oapi.RollMap) []drawing.Panel {
	end := u.BarrelPlot([]float64{m.BarrelLengthMm}, nil)
	var spots []drawing.Spot
	for _, place := range m.Places {
		if place.AroundDeg != nil {
			spots = append(spots, drawing.Spot{Course: courseWords[place.Course], At: u.BarrelPlot([]float64{place.AtMm}, nil).X[0], AroundDeg: *place.AroundDeg})
		}
	}
	if len(spots) == 0 {
		return nil // none of the readings has an angle
	}
	return []drawing.Panel{drawing.FlatBarrel("Barrel of "+m.Roll+" laid flat", stand.Along(end.XUnit), end.X[0], spots)}
}

// courseWords name the spots of the map.
var courseWords = map[oapi.MapPlaceCourse]string{
	oapi.MapPlaceCourseCameBack: "came back", oapi.MapPlaceCourseNotGroundOut: "not ground out", oapi.MapPlaceCourseGrown: "grew",
	oapi.MapPlaceCourseNew: "read once", oapi.MapPlaceCourseSeen: "no larger", oapi.MapPlaceCourseGone: "gone",
}

// trends is how many places are drawn over the grinds: as many as can be told apart.
const trends = 6

func trendPanels(m oapi.RollMap) []drawing.Panel {
	p := drawing.Panel{Title: "Readings of a place over the grinds", X: "grinds of the roll", Y: "value, instrument's scale", FromZero: true}
	for i, place := range m.Places {
		curve := drawing.Curve{Name: fmt.Sprintf("%c %s %s", mark(i), render.Number(place.AtMm, 4), place.Indication)}
		for _, l := range place.Looks {
			if l.Value != 0 {
				curve.X, curve.Y = append(curve.X, float64(l.Grinds)), append(curve.Y, l.Value)
			}
		}
		if len(curve.X) > 1 && len(p.Curves) < trends {
			p.Curves = append(p.Curves, curve)
		}
	}
	if len(p.Curves) == 0 {
		return nil
	}
	return []drawing.Panel{p}
}
