package board

import (
	"strings"
	"testing"

	"barrelbook/api/oapi"
)

func TestContourIsDrawnBetweenItsTolerances(t *testing.T) {
	tolerance, r := 8.0, oapi.Roll{Number: "R-1"}
	if figure := contourFigure(r); figure != "" {
		t.Errorf("a roll without a measured contour has %s", figure)
	}
	r.State.Contour = &oapi.MeasuredContour{Target: "parabola", ToleranceUm: &tolerance, Stations: []oapi.StationOff{{AtMm: 50, OffUm: -2}, {AtMm: 850, OffUm: 9}, {AtMm: 1650, OffUm: -3}}}
	for _, want := range []string{"off its target (parabola)", ">most<", ">least<", ">target<", ">measured<", "<polyline"} {
		if figure := string(contourFigure(r)); !strings.Contains(figure, want) {
			t.Errorf("%q is not in %s", want, figure)
		}
	}
}
