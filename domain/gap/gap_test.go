package gap_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/gap"
	"barrelbook/domain/refusal"
	"barrelbook/domain/rollload"
)

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g, allowed %.2g", what, got, want, tolerance)
	}
}

func sContour() rollload.Polynomial { return rollload.Polynomial{1: -260, 3: 380, 5: 45} }

// shifted is a pair with an S-shaped contour, the bottom roll turned end for
// end, shifted by s towards the drive side at the top.
func shifted(s float64) gap.Gap {
	top := gap.Roll{BarrelMM: 2000, OffsetMM: -s, Ground: rollload.Profile{PolynomialUM: sContour()}}
	bottom := gap.Roll{BarrelMM: 2000, OffsetMM: s, Ground: rollload.Profile{PolynomialUM: sContour().Turned()}}
	return gap.Gap{Top: top, Bottom: bottom, WidthMM: 1250, EdgeMM: 40}
}

// With d = a₁u + a₃u³ + a₅u⁵, u = 2x/L, the top roll at o and the bottom roll
// turned and at −o, the binomials leave of half the sum of both
//
//	g(x) − g(0) = a₃(2/L)³·3x²o + a₅(2/L)⁵·(5x⁴o + 10x²o³)
func TestShiftedSContourIsTheClosedForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(-150, 150).Draw(t, "shift")
		g := shifted(s)
		o, a := -s, sContour()
		form := func(x float64) float64 {
			return a[3]*math.Pow(2.0/2000, 3)*3*x*x*o + a[5]*math.Pow(2.0/2000, 5)*(5*math.Pow(x, 4)*o+10*x*x*o*o*o)
		}
		x := rapid.Float64Range(-625, 625).Draw(t, "x")
		if got := g.At(x).TotalUM(); math.Abs(got-form(x)) > 1e-9 {
			t.Fatalf("gap at %g: %g, closed form %g", x, got, form(x))
		}
		if got := g.Shape().CentreToEdgeUM; math.Abs(got+form(585)) > 1e-9 {
			t.Fatalf("crown %g, closed form %g", got, -form(585))
		}
		if w := g.Shape().WedgeUM; math.Abs(w) > 1e-9 {
			t.Fatalf("a shifted S-contour makes a wedge of %g", w)
		}
	})
}

// Two rolls worn alike change the gap by their wear on diameter.
func TestWearAndHeatOfBothRolls(t *testing.T) {
	worn := rollload.Points{XMM: []float64{-700, -600, 600, 700}, Value: []float64{0, 200, 200, 0}}
	hot := rollload.Points{XMM: []float64{-850, 0, 850}, Value: []float64{0, 170, 0}}
	r := gap.Roll{BarrelMM: 1700, WearUM: worn, HeatUM: hot}
	g := gap.Gap{Top: r, Bottom: r, WidthMM: 1400, EdgeMM: 50}
	s := g.Shape() // edges at ±650: wear 100, heat 40
	near(t, "wear", s.Parts.WearUM, 100, 1e-9)
	near(t, "heat", s.Parts.HeatUM, -(170 - 40), 1e-9)
	near(t, "crown", s.CentreToEdgeUM, -30, 1e-9)
	// Halfway, at ±325: wear 200 and heat 105, where the parabola has a quarter
	// of the edge's.
	near(t, "quarter", s.QuarterUM, (170-105)-30.0/4, 1e-9)
	// A shifted pair has worn one side of each roll more, and the same gap from both
	// sides.
	g.Top.OffsetMM, g.Bottom.OffsetMM = -60, 60
	near(t, "wedge of a shifted pair", g.Shape().WedgeUM, 0, 1e-9)
	g.Bottom.OffsetMM = -60
	if w := g.Shape().WedgeUM; math.Abs(w) < 50 {
		t.Errorf("both rolls moved one way make a wedge of %g only", w)
	}
}

// Crossed cylinders: 1° and 700 mm over 1500 mm make
// 1500²·tan²(1°)/(2·700) = 0.489663 mm by the usual form, and the distance of the
// axes by the exact one.
func TestCrossedRolls(t *testing.T) {
	x := gap.Cross{AngleDeg: 1, DiameterMM: 700}
	usual := -1500 * 1500 * math.Pow(math.Tan(math.Pi/180), 2) / 1400 * 1000
	near(t, "usual form", usual, -489.663, 1e-3)
	near(t, "crown", x.CrownUM(1500), usual, 1e-3*-usual)
	tan := math.Tan(math.Pi / 180)
	near(t, "exact", x.AtUM(600), 1000*(math.Sqrt(700*700+4*600*600*tan*tan)-700), 1e-6)
	near(t, "uncrossed", gap.Cross{DiameterMM: 700}.AtUM(600), 0, 0)
}

func TestEdgeStep(t *testing.T) {
	for _, c := range []struct {
		name          string
		x, worn       []float64
		from, to      float64
		step, at, tol float64
	}{
		{"a cliff within 50 mm", []float64{-850, -600, -590, 590, 600, 850}, []float64{0, 0, 180, 180, 0, 0}, -700, 700, 180, -595, 30},
		{"a slope longer than 50 mm", []float64{-850, -700, -500, 850}, []float64{0, 0, 200, 200}, -850, 850, 50, -600, 100},
		{"a ridge within 50 mm", []float64{-850, 0, 20, 40, 850}, []float64{0, 0, 90, 0, 0}, -850, 850, 90, 10, 25},
		{"not under a strip that does not reach it", []float64{-850, -600, -590, 590, 600, 850}, []float64{0, 0, 180, 180, 0, 0}, -580, 580, 0, 0, 0},
		{"as much of it as lies under the strip", []float64{-850, -600, -500, 500, 600, 850}, []float64{0, 0, 200, 200, 0, 0}, -540, 540, 80, 520, 1200},
		{"unworn", nil, nil, -500, 500, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			step, at := gap.EdgeStepUM(rollload.Points{XMM: c.x, Value: c.worn}, c.from, c.to)
			near(t, "step", step, c.step, 1e-9)
			near(t, "place", at, c.at, c.tol)
		})
	}
}

// Against every pair of places on a fine raster.
func TestEdgeStepMissesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		worn := rollload.Points{}
		for x := -300.0; x <= 300; x += 44.5 {
			worn.XMM = append(worn.XMM, x)
			worn.Value = append(worn.Value, rapid.Float64Range(0, 200).Draw(t, "worn"))
		}
		from, to := rapid.Float64Range(-320, -100).Draw(t, "from"), rapid.Float64Range(100, 320).Draw(t, "to")
		step, _ := gap.EdgeStepUM(worn, from, to)
		for a := from; a <= to; a += 5 {
			for b := a; b <= min(a+gap.StepWithinMM, to); b += 5 {
				if d := math.Abs(worn.At(b) - worn.At(a)); d > step+1e-9 {
					t.Fatalf("from %g to %g the contour changes by %g, more than %g", a, b, d, step)
				}
			}
		}
	})
}

func TestRefusals(t *testing.T) {
	for path, spoil := range map[string]func(*gap.Gap){
		"top/barrel_length_mm":   func(g *gap.Gap) { g.Top.BarrelMM = 0 },
		"bottom/axial_offset_mm": func(g *gap.Gap) { g.Bottom.OffsetMM = 900 },
		"top/polynomial_um/3":    func(g *gap.Gap) { g.Top.Ground.PolynomialUM[3] = math.Inf(1) },
		"bottom/wear/depth_um":   func(g *gap.Gap) { g.Bottom.WearUM.XMM = []float64{1} },
		"width_mm":               func(g *gap.Gap) { g.WidthMM = 1900 },
		"lateral_offset_mm":      func(g *gap.Gap) { g.OffsetMM = math.NaN() },
		"edge_mm":                func(g *gap.Gap) { g.EdgeMM = 700 },
		"pair_cross_deg":         func(g *gap.Gap) { g.Cross.AngleDeg = 3 },
		"diameter_mm":            func(g *gap.Gap) { g.Cross.AngleDeg = 1 },
		"top/axis/lift_um/0":     func(g *gap.Gap) { g.Top.AxisUM = rollload.Points{XMM: []float64{0}, Value: []float64{math.NaN()}} },
		"bottom/growth/x_mm/1":   func(g *gap.Gap) { g.Bottom.HeatUM = rollload.Points{XMM: []float64{1, 0}, Value: []float64{0, 0}} },
	} {
		g := shifted(100)
		spoil(&g)
		found := false
		for _, f := range refusal.FieldsOf(g.Check()) {
			found = found || f.Path == path
		}
		if !found {
			t.Errorf("%s: got %v", path, g.Check())
		}
	}
	g := shifted(100)
	if err := g.Check(); err != nil {
		t.Error(err)
	}
}
