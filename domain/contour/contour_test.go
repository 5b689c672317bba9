package contour_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/contour"
	"barrelbook/domain/rollload"
)

const barrel = 2000.0

// readingsOf measures a contour at so many places, shifted in level.
func readingsOf(t contour.Target, n int, level float64) []contour.Reading {
	list := make([]contour.Reading, n)
	for i := range list {
		x := barrel * (float64(i)/float64(n-1) - 0.5)
		list[i] = contour.Reading{XMM: x, DiameterUM: level + t.AtUM(x, barrel)}
	}
	return list
}

// By hand: a parabola of 100 µm lies 25 below its middle at a quarter; half a wave
// of 100 µm lies 100·(1−cos 45°) = 29.29 below; the S-shaped polynomial 40u³−25u
// is −7.5 at u 0.5.
func TestContoursByHand(t *testing.T) {
	for _, c := range []struct {
		name   string
		target contour.Target
		at     float64 // at u 0.5
		crown  float64
	}{
		{"flat", contour.Target{}, 0, 0},
		{"parabola", contour.Target{CrownUM: 100}, -25, 100},
		{"sine", contour.Target{SineUM: 100}, -100 * (1 - math.Sqrt2/2), 100},
		{"polynomial", contour.Target{Polynomial: rollload.Polynomial{1: -25, 3: 40}}, -7.5, 0},
		{"table", contour.Target{Table: rollload.Points{XMM: []float64{-1000, 0, 1000}, Value: []float64{-60, 0, -60}}}, -30, 60},
	} {
		if c.target.Name() != c.name {
			t.Errorf("%s is named %s", c.name, c.target.Name())
		}
		if got := c.target.AtUM(500, barrel); math.Abs(got-c.at) > 1e-9 {
			t.Errorf("%s: %g at a quarter, want %g", c.name, got, c.at)
		}
		if got := c.target.CrownAimUM(barrel); math.Abs(got-c.crown) > 1e-9 {
			t.Errorf("%s: crown %g, want %g", c.name, got, c.crown)
		}
	}
}

// Five readings of a flat barrel, one 10 µm thick: the level takes 2, 8 are left
// there and −2 elsewhere, whose root mean square is √((64+4·4)/5) = 4.
func TestDeviationByHand(t *testing.T) {
	r := readingsOf(contour.Target{}, 5, 700_000)
	r[3].DiameterUM += 10
	d := contour.Compare(contour.Target{}, r, barrel)
	if math.Abs(d.LevelUM-700_002) > 1e-6 || math.Abs(d.GreatestUM-8) > 1e-6 || d.AtMM != 500 || math.Abs(d.RMSUM-4) > 1e-6 {
		t.Errorf("%+v", d)
	}
	// A taper of 6 µm, the drive side thicker.
	for i := range r {
		r[i].DiameterUM = 700_000 - 3*r[i].XMM/1000
	}
	if d = contour.Compare(contour.Target{}, r, barrel); math.Abs(d.TaperUM-6) > 1e-6 {
		t.Errorf("taper %g, want 6", d.TaperUM)
	}
}

// A contour measured as its target is off by nothing at any level, and one turned
// end for end twice is itself.
func TestNoDeviationFromItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		um := func(name string) float64 { return rapid.Float64Range(-500, 500).Draw(t, name) }
		target := contour.Target{CrownUM: um("crown"), SineUM: um("sine"), Polynomial: rollload.Polynomial{1: um("linear"), 3: um("cubic"), 4: um("quartic"), 5: um("quintic")}}
		level := rapid.Float64Range(4e5, 1.5e6).Draw(t, "level")
		d := contour.Compare(target, readingsOf(target, rapid.IntRange(1, 40).Draw(t, "places")+1, level), barrel)
		if math.Abs(d.GreatestUM) > 1e-6 || d.RMSUM > 1e-6 || math.Abs(d.TaperUM) > 1e-6 || math.Abs(d.LevelUM-level) > 1e-6 {
			t.Fatalf("%+v", d)
		}
		if target.Polynomial.Turned().Turned() != target.Polynomial {
			t.Fatal("turned twice is another contour")
		}
	})
}

// What the load solver takes is the measured shape, its mean level left out, and
// nothing where it is told by too few places.
func TestForLoad(t *testing.T) {
	target := contour.Target{CrownUM: 80}
	if p := contour.ForLoad(readingsOf(target, 8, 7e5)); len(p.XMM) != 0 {
		t.Errorf("eight places are taken: %+v", p)
	}
	p := contour.ForLoad(readingsOf(target, 9, 7e5))
	if len(p.XMM) != 9 || math.Abs(p.Value[4]-p.Value[0]-80) > 1e-9 {
		t.Errorf("%+v", p)
	}
}

func Example() {
	r := readingsOf(contour.Target{CrownUM: 80}, 5, 700_000)
	r[1].DiameterUM += 5
	d := contour.Compare(contour.Target{CrownUM: 80}, r, barrel)
	fmt.Printf("%.1f µm at %.0f mm, %.1f µm root mean square\n", d.GreatestUM, d.AtMM, d.RMSUM)
	// Output: 4.0 µm at -500 mm, 2.0 µm root mean square
}
