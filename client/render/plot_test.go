package render

import (
	"math"
	"strings"
	"testing"
)

func drawn(p Plot) string { return p.String() }

func TestPlotOfAWornBarrel(t *testing.T) {
	got := drawn(Plot{
		X: []float64{-1000, -600, -590, 590, 600, 1000}, Y: []float64{0, 0, 180, 180, 0, 0},
		XUnit: "mm", YUnit: "µm", Width: 50, Height: 4, Limit: 320, Marks: []float64{-700, 700},
	})
	want := `  0 ┤      ┊  ███████████████████████████  ┊
    │      ┊  ███████████████████████████  ┊
200 ┤      ┊                               ┊
    │╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌ ╌
    └┬──────────┬──────────┬──────────┬──────────┬
     -1000    -500         0         500      1000
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
	want := `   │
10 ┤         ████████████████████████████
   │         ████████████████████████████
 0 ┤         ████████████████████████████
   └┬──────────┬───────────┬──────────┬──────────┬
    -1000    -500          0         500      1000
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// What is narrower than in the middle stands above zero, what is wider below.
func TestPlotOfBothSigns(t *testing.T) {
	got := drawn(Plot{X: []float64{0, 50, 50.1, 100}, Y: []float64{-20, -20, 30, 30}, Width: 30, Height: 5})
	want := `-20 ┤████████████
    │████████████
  0 ┤            █████████████
    │            █████████████
 20 ┤            █████████████
    │
    └┬────┬────┬────┬────┬───┬
     0   20   40   60   80 100
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
