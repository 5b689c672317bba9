package render

import (
	"math"
	"strings"
	"testing"
)

func drawn(p Plot) string {
	var b strings.Builder
	p.Write(&b)
	return b.String()
}

func TestPlotOfAWornBarrel(t *testing.T) {
	got := drawn(Plot{
		X: []float64{-1000, -600, -590, 590, 600, 1000}, Y: []float64{0, 0, 180, 180, 0, 0},
		XUnit: "mm", YUnit: "µm", Width: 50, Height: 4,
	})
	want := `     0 ┤        ██████████████████████████
       ┤        ██████████████████████████
   100 ┤        ██████████████████████████
200 µm ┤        ▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀▀
        -1000                              1000 mm
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestPlotOfALoadStandsUp(t *testing.T) {
	got := drawn(Plot{
		X: []float64{-1000, -600, -590, 590, 600, 1000}, Y: []float64{0, 0, 15, 15, 0, 0},
		XUnit: "mm", YUnit: "kN/mm", Width: 50, Height: 4, Up: true,
	})
	want := `20 kN/mm ┤
      10 ┤        ████████████████████████
         ┤        ████████████████████████
       0 ┤        ████████████████████████
          -1000                            1000 mm
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// A groove narrower than a column must still be seen.
func TestPlotKeepsNarrowGrooves(t *testing.T) {
	x, y := make([]float64, 2001), make([]float64, 2001)
	for i := range x {
		x[i] = float64(i)
	}
	y[777] = 50
	if got := drawn(Plot{X: x, Y: y, Width: 40, YUnit: "µm"}); !strings.Contains(got, wholeBlock) {
		t.Errorf("the groove at 777 was lost:\n%s", got)
	}
}

func TestPlotDrawsNothingOfNothing(t *testing.T) {
	for name, p := range map[string]Plot{
		"empty":          {},
		"one point":      {X: []float64{0}, Y: []float64{1}},
		"all zero":       {X: []float64{0, 1}, Y: []float64{0, 0}},
		"lengths differ": {X: []float64{0, 1}, Y: []float64{1}},
		"no stretch":     {X: []float64{1, 1}, Y: []float64{1, 2}},
		"not a number":   {X: []float64{0, 1}, Y: []float64{1, math.NaN()}},
		"infinite":       {X: []float64{0, math.Inf(1)}, Y: []float64{1, 1}},
	} {
		if got := drawn(p); got != "" {
			t.Errorf("%s: drew %q", name, got)
		}
	}
}

func TestNiceTop(t *testing.T) {
	for v, want := range map[float64]float64{1: 1, 1.2: 2, 180: 200, 201: 500, 0.07: 0.1, 501: 1000} {
		if got := niceTop(v); math.Abs(got-want) > 1e-12*want {
			t.Errorf("niceTop(%v) = %v, want %v", v, got, want)
		}
	}
}
