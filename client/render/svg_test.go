package render

import (
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"
)

// TestSVGIsWellFormedAndNamesItsUnits: it parses as XML, draws each curve and
// writes the quantity and the unit of each axis.
func TestSVGIsWellFormedAndNamesItsUnits(t *testing.T) {
	var b strings.Builder
	x := []float64{-900, 0, 900}
	err := WriteSVG(&b, []Panel{
		{Title: "Load", X: "along the barrel, mm", Y: "line load, N/mm", Curves: []Curve{{"W1 on B1", x, []float64{6000, 9000, 6000}}, {"W2 on B2", x, []float64{6100, 8900, 6000}}}},
		{Title: "Wear", X: "along the barrel, mm", Y: "wear on diameter, µm", Curves: []Curve{{"W1 < W2 & more", x, []float64{0, 200, 0}}}, Down: true},
	})
	if err != nil {
		t.Fatal(err)
	}
	words, paths := map[string]bool{}, 0
	for d := xml.NewDecoder(strings.NewReader(b.String())); ; {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("not XML: %v", err)
		}
		switch token := token.(type) {
		case xml.CharData:
			words[strings.TrimSpace(string(token))] = true
		case xml.StartElement:
			if token.Name.Local == "path" {
				paths++
			}
		}
	}
	for _, want := range []string{"Load", "Wear", "along the barrel, mm", "line load, N/mm", "wear on diameter, µm", "W1 on B1", "W2 on B2", "W1 < W2 & more"} {
		if !words[want] {
			t.Errorf("%q is not written in it", want)
		}
	}
	if paths < 3 {
		t.Errorf("%d paths for three curves", paths)
	}
}

func TestSVGOfNothingIsAnError(t *testing.T) {
	for name, panels := range map[string][]Panel{
		"no panel":       nil,
		"not a number":   {{Curves: []Curve{{"c", []float64{0, 1}, []float64{0, math.NaN()}}}}},
		"infinite":       {{Curves: []Curve{{"c", []float64{0, 1}, []float64{0, math.Inf(1)}}}}},
		"lengths differ": {{Curves: []Curve{{"c", []float64{0, 1}, []float64{0}}}}},
	} {
		if err := WriteSVG(io.Discard, panels); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
