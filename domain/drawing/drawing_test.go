package drawing

import (
	"encoding/xml"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestTicksAreRoundAndCover: whatever the stretch, the step is 1, 2 or 5 times a
// power of ten, the ends lie within, and there are neither few nor many.
func TestTicksAreRoundAndCover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-1e6, 1e6).Draw(t, "low")
		high := low + rapid.Float64Range(1e-3, 1e6).Draw(t, "stretch")
		n := rapid.IntRange(2, 12).Draw(t, "n")
		ticks := Ticks(low, high, n)
		step := ticks[1] - ticks[0]
		if slack := 1e-6 * step; ticks[0] > low+slack || ticks[len(ticks)-1] < high-slack {
			t.Fatalf("%v does not cover %g to %g", ticks, low, high)
		}
		digit := step / math.Pow(10, math.Floor(math.Log10(step)+1e-9))
		if !slices.ContainsFunc([]float64{1, 2, 5, 10}, func(r float64) bool { return math.Abs(digit-r) < 1e-3 }) {
			t.Fatalf("step %g is not round", step)
		}
		if len(ticks) < n/2 || len(ticks) > 2*n+3 {
			t.Fatalf("%d ticks where about %d were asked", len(ticks), n)
		}
	})
	if got := Ticks(0, 355, 4); !slices.Equal(got, []float64{0, 100, 200, 300, 400}) {
		t.Errorf("0 to 355: %v", got)
	}
	if got := Ticks(7, 7, 4); got[0] > 7 || got[len(got)-1] < 7 || len(got) < 2 {
		t.Errorf("a single value: %v", got)
	}
}

func TestLabels(t *testing.T) {
	for _, one := range []struct {
		v, step float64
		want    string
	}{{0.2, 0.2, "0.2"}, {-0, 100, "0"}, {4500, 500, "4500"}, {12000, 2000, "12,000"}, {-1250000, 50000, "-1,250,000"}, {0.05, 0.01, "0.05"}, {12345.5, 0.5, "12,345.5"}} {
		if got := label(one.v, one.step); got != one.want {
			t.Errorf("%g in steps of %g: %q, want %q", one.v, one.step, got, one.want)
		}
	}
}

func barrel() Sheet {
	x := []float64{-900, 0, 900}
	return Sheet{Title: "Stand F1 & its rolls", Panels: []Panel{
		{Title: "Load", X: "along the barrel, mm", Y: "line load, N/mm", FromZero: true, Marks: []Level{{"strip edge", -500}, {"", 500}},
			Curves: []Curve{{Name: "W1 on B1", X: x, Y: []float64{6000, 9000, 6000}}, {Name: "W2 on B2", X: x, Y: []float64{6100, 8900, 6000}}}},
		{Title: "Wear", X: "along the barrel, mm", Y: "wear on diameter, µm", Down: true, Limits: []Level{{"limit 320", 320}},
			Curves: []Curve{{Name: "W1 < W2", X: x, Y: []float64{0, 200, 0}, Low: []float64{0, 180, 0}, High: []float64{0, 230, 0}}},
			Points: []Cloud{{Name: "measured", X: x, Y: []float64{0, 210, 5}}}},
	}}
}

// TestLayoutStaysOnTheSheet: nothing lies outside, deeper wear lies lower, and
// names at the ends of lines do not lie on one another.
func TestLayoutStaysOnTheSheet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "curves")
		p := Panel{Title: "t", X: "x", Y: "y", Down: rapid.Bool().Draw(t, "down"), Limits: []Level{{"limit", rapid.Float64Range(-5, 5).Draw(t, "limit")}}}
		for range n {
			c := Curve{Name: "curve"}
			for k := range rapid.IntRange(1, 20).Draw(t, "points") {
				c.X = append(c.X, float64(k))
				c.Y = append(c.Y, rapid.Float64Range(-1e3, 1e3).Draw(t, "y"))
			}
			p.Curves = append(p.Curves, c)
		}
		picture, err := Sheet{Panels: []Panel{p}}.Layout()
		if err != nil {
			t.Fatal(err)
		}
		var ends []float64
		for _, s := range picture.Shapes {
			for _, at := range s.Points {
				if at.X < -1 || at.Y < -1 || at.X > picture.Width+1 || at.Y > picture.Height+1 {
					t.Fatalf("%q at %v lies off the sheet of %g x %g", s.Text, at, picture.Width, picture.Height)
				}
			}
			if s.Kind == Text && (s.Text == "curve" || s.Text == "limit") {
				ends = append(ends, s.Points[0].Y)
			}
		}
		slices.Sort(ends)
		for i := 1; i < len(ends); i++ {
			if ends[i]-ends[i-1] < textSize {
				t.Fatalf("two names at %g and %g", ends[i-1], ends[i])
			}
		}
	})
}

func TestWearReadsDownwards(t *testing.T) {
	f := newField(barrel().Panels[1], 0, 0, 100, 100)
	if f.y(200) <= f.y(0) {
		t.Errorf("200 µm lies at %g, above 0 µm at %g", f.y(200), f.y(0))
	}
	up := newField(barrel().Panels[0], 0, 0, 100, 100)
	if up.y(9000) >= up.y(0) {
		t.Errorf("9000 N/mm lies at %g, below 0 at %g", up.y(9000), up.y(0))
	}
}

func TestStepsHoldTheirValue(t *testing.T) {
	f := newField(Panel{Curves: []Curve{{X: []float64{0, 10}, Y: []float64{0, 5}}}}, 0, 0, 100, 100)
	got := f.path([]float64{0, 10}, []float64{0, 5}, true)
	if len(got) != 3 || got[1].X != got[2].X || got[1].Y != got[0].Y {
		t.Errorf("the step is drawn through %v", got)
	}
}

// TestSVGIsWellFormedAndWritesEverything in all themes.
func TestSVGIsWellFormedAndWritesEverything(t *testing.T) {
	picture, err := barrel().Layout()
	if err != nil {
		t.Fatal(err)
	}
	for _, theme := range []Theme{Light, Dark, ByReader, InPage} {
		words, lines := map[string]bool{}, 0
		for d := xml.NewDecoder(strings.NewReader(picture.SVG(theme))); ; {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("theme %d is not XML: %v", theme, err)
			}
			switch token := token.(type) {
			case xml.CharData:
				words[strings.TrimSpace(string(token))] = true
			case xml.StartElement:
				if token.Name.Local == "polyline" {
					lines++
				}
			}
		}
		for _, want := range []string{"Stand F1 & its rolls", "Load", "Wear", "along the barrel, mm", "line load, N/mm", "wear on diameter, µm", "W1 on B1", "W2 on B2", "W1 < W2", "limit 320", "strip edge", "• measured", "200"} {
			if !words[want] {
				t.Errorf("theme %d: %q is not written", theme, want)
			}
		}
		if lines < 3 {
			t.Errorf("theme %d: %d lines", theme, lines)
		}
	}
}

func TestNothingToDrawIsAnError(t *testing.T) {
	curve := func(x, y []float64) []Panel { return []Panel{{Title: "t", Curves: []Curve{{Name: "c", X: x, Y: y}}}} }
	for name, panels := range map[string][]Panel{
		"no panel":       nil,
		"no curve":       {{Title: "t"}},
		"not a number":   curve([]float64{0, 1}, []float64{0, math.NaN()}),
		"infinite":       curve([]float64{0, 1}, []float64{0, math.Inf(1)}),
		"lengths differ": curve([]float64{0, 1}, []float64{0}),
		"half a band":    {{Title: "t", Curves: []Curve{{Name: "c", X: []float64{0}, Y: []float64{0}, Low: []float64{0}}}}},
		"limit nowhere":  {{Title: "t", Curves: curve([]float64{0}, []float64{0})[0].Curves, Limits: []Level{{"l", math.NaN()}}}},
	} {
		if _, err := (Sheet{Panels: panels}).Layout(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// TestColoursCanBeRead holds each ink against its ground by the contrast of WCAG
// 2.1, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (lines, 3 to 1). The
// names of curves are text.
func TestColoursCanBeRead(t *testing.T) {
	for _, dark := range []bool{false, true} {
		for i := InkText; i < Series0+seriesCount; i++ {
			least := 4.5
			switch i {
			case InkGrid:
				continue // it only helps to read the ticks
			case InkMark:
				least = 3
			}
			if got := contrast(i.Colour(dark), Ground(dark)); got < least {
				t.Errorf("ink %d on a ground dark=%v: contrast %.2f, want %.1f", i, dark, got, least)
			}
		}
	}
}

// contrast is (L1+0.05)/(L2+0.05) of WCAG 2.1.
func contrast(a, b string) float64 {
	la, lb := luminance(a), luminance(b)
	if la < lb {
		la, lb = lb, la
	}
	return (la + 0.05) / (lb + 0.05)
}

func luminance(hex string) float64 {
	part := func(i int) float64 {
		v, _ := strconv.ParseUint(hex[i:i+2], 16, 8)
		if c := float64(v) / 255; c > 0.03928 {
			return math.Pow((c+0.055)/1.055, 2.4)
		} else {
			return c / 12.92
		}
	}
	return 0.2126*part(1) + 0.7152*part(3) + 0.0722*part(5)
}

// TestFillingHoldsEachLimitAgainstItself: two limits of other units lie on one
// scale, and one that falls uses up its limit as it comes down.
func TestFillingHoldsEachLimitAgainstItself(t *testing.T) {
	p := Filling("F4", []Fill{
		{Name: "wear", Limit: 200, Piece: []float64{0, 10}, Value: []float64{50, 150}, Low: []float64{50, 120}, High: []float64{50, 210}},
		{Name: "roughness", Limit: 0.4, Piece: []float64{0, 10}, Value: []float64{0.8, 0.5}, Low: []float64{0.8, 0.45}, High: []float64{0.8, 0.55}},
	}, nil)
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }
	wear, rough := p.Curves[0], p.Curves[1]
	if !near(wear.Y[0], 25) || !near(wear.Y[1], 75) || !near(wear.Low[1], 60) || !near(wear.High[1], 105) {
		t.Errorf("wear fills as %+v", wear)
	}
	if !near(rough.Y[0], 50) || !near(rough.Y[1], 80) || !near(rough.Low[1], 40/0.55) || !near(rough.High[1], 40/0.45) {
		t.Errorf("roughness fills as %+v", rough)
	}
	if err := p.check(); err != nil {
		t.Error(err)
	}
}
