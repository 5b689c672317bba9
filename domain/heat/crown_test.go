package heat

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func workCrown() CrownModel { return CrownModel{SteadyUM: 200, RollingTauMin: 30, IdleTauMin: 45} }

func mustRoll(t testing.TB, m CrownModel, g Growth, barrel float64, s Strip, minutes float64) Growth {
	t.Helper()
	g, err := m.Roll(g, barrel, s, minutes)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func mustRest(t testing.TB, m CrownModel, g Growth, barrel, minutes float64) Growth {
	t.Helper()
	g, err := m.Rest(g, barrel, minutes)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func along(g Growth, count int) []float64 {
	at := make([]float64, count)
	NewStations(count).Along(&g, at)
	return at
}

// stretch is some minutes under one strip, or of rest.
type stretch struct {
	strip   Strip
	rolling bool
	minutes float64
}

// volumes solves the equation of CrownModel by another road: 2000 slices of the
// barrel, implicit steps of 5 s by Crank and Nicolson, Thomas' elimination. It
// gives the growth at the middle of each slice.
func volumes(m CrownModel, barrel float64, history []stretch) []float64 {
	const n, dt = 2000, 5.0 / 60
	dx := barrel / n
	g, right, upper := make([]float64, n), make([]float64, n), make([]float64, n)
	k := m.diffusivityMM2PerMin() * dt / (2 * dx * dx)
	for _, s := range history {
		tau := m.IdleTauMin
		if s.rolling {
			tau = m.RollingTauMin
		}
		for range int(math.Round(s.minutes / dt)) {
			for i := range g {
				flow := 0.0
				if i > 0 {
					flow += g[i-1] - g[i]
				}
				if i < n-1 {
					flow += g[i+1] - g[i]
				}
				source, x0 := 0.0, -barrel/2+float64(i)*dx
				if s.rolling { // the part of the slice that lies under the strip
					source = m.SteadyUM * max(0, min(x0+dx, s.strip.ToMM)-max(x0, s.strip.FromMM)) / dx
				}
				right[i] = g[i] + k*flow + dt/tau*(source-g[i]/2)
			}
			for i := range g {
				diagonal := 1 + dt/(2*tau)
				if i > 0 {
					diagonal += k
				}
				if i < n-1 {
					diagonal += k
				}
				if i > 0 {
					diagonal += k * upper[i-1]
					right[i] += k * right[i-1]
				}
				upper[i] = -k / diagonal
				right[i] /= diagonal
			}
			g[n-1] = right[n-1]
			for i := n - 2; i >= 0; i-- {
				g[i] = right[i] - upper[i]*g[i+1]
			}
		}
	}
	return g
}

// A campaign of narrowing strips with gaps, one of them beside the middle, against
// the finite volumes: within 0.3 % of c∞ everywhere on a hot strip barrel and
// 0.7 % on that of a plate mill, the crown itself within 1 %.
func TestGrowthAgainstFiniteVolumes(t *testing.T) {
	m := workCrown()
	for barrel, allowed := range map[float64]float64{1900: 0.003, 4200: 0.007} {
		wide := 0.8 * barrel / 2
		history := []stretch{
			{Strip{-wide, wide}, true, 7}, {Strip{}, false, 3}, {Strip{-wide, wide}, true, 30},
			{Strip{-500, 500}, true, 20}, {Strip{}, false, 11}, {Strip{-380, 470}, true, 60},
		}
		var g Growth
		for i, s := range history {
			if s.rolling {
				g = mustRoll(t, m, g, barrel, s.strip, s.minutes)
			} else {
				g = mustRest(t, m, g, barrel, s.minutes)
			}
			want := volumes(m, barrel, history[:i+1])
			got := along(g, 2*len(want)+1) // every second station is the middle of a slice
			worst := 0.0
			for j, w := range want {
				worst = max(worst, math.Abs(got[2*j+1]-w))
			}
			if worst > allowed*m.SteadyUM {
				t.Errorf("barrel %g after stretch %d: %.3f µm from the finite volumes", barrel, i, worst)
			}
			crown := want[len(want)/2] - (want[0]+want[len(want)-1])/2
			if i != 4 && math.Abs(g.CrownUM()-crown) > 0.01*crown {
				t.Errorf("barrel %g after stretch %d: crown %.3f µm, want %.3f", barrel, i, g.CrownUM(), crown)
			}
		}
	}
}

// Endless rolling has a closed form: with ℓ = √(aτ), w the half-width and h the
// half barrel, c∞·[1 − cosh(x/ℓ)·sinh((h−w)/ℓ)/sinh(h/ℓ)] under the strip and
// c∞·sinh(w/ℓ)·cosh((h−|x|)/ℓ)/sinh(h/ℓ) beside it.
func TestSteadyGrowthAgainstTheFin(t *testing.T) {
	m := workCrown()
	const h = 950.0
	l := math.Sqrt(m.diffusivityMM2PerMin() * m.RollingTauMin)
	near(t, "length of the fall, mm", l, 119.2, 0.1)
	for _, w := range []float64{300, 500, 800} {
		got := along(mustRoll(t, m, Growth{}, 2*h, Strip{-w, w}, 1e5), 39)
		for j, v := range got {
			x := math.Abs(-h + 2*h*float64(j)/38)
			want := m.SteadyUM * math.Sinh(w/l) * math.Cosh((h-x)/l) / math.Sinh(h/l)
			if x <= w {
				want = m.SteadyUM * (1 - math.Cosh(x/l)*math.Sinh((h-w)/l)/math.Sinh(h/l))
			}
			near(t, "growth", v, want, 0.001*m.SteadyUM)
		}
	}
}

// A strip over the whole barrel warms it evenly by the old law of time, exactly:
// c∞(1 − e^(−t/τ)) rising, e^(−t/τ) falling.
func TestLongStripFollowsTheFirstOrder(t *testing.T) {
	m := workCrown()
	up := mustRoll(t, m, Growth{}, 1900, Strip{-950, 950}, 30)
	for _, v := range along(up, 11) {
		near(t, "risen", v, 126.424111766, 1e-9)
	}
	for _, v := range along(mustRest(t, m, up, 1900, 45), 11) {
		near(t, "fallen", v, 126.424111766/math.E, 1e-9)
	}
	// A wider strip than the barrel is as wide as it.
	if over := mustRoll(t, m, Growth{}, 1900, Strip{-2000, 2000}, 30); over != up {
		t.Error("strip beside the barrel brought heat")
	}
}

func TestGrowthCanBeSplitAndStaysBetweenItsEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := CrownModel{SteadyUM: rapid.Float64Range(0, 400).Draw(t, "steady"), DiffusivityMM2PerS: rapid.Float64Range(2, 20).Draw(t, "a"),
			RollingTauMin: rapid.Float64Range(2, 90).Draw(t, "tau"), IdleTauMin: rapid.Float64Range(2, 90).Draw(t, "idle tau")}
		barrel := rapid.Float64Range(300, 5000).Draw(t, "barrel")
		strip := func(name string) Strip {
			w, x := rapid.Float64Range(0, barrel/2).Draw(t, name+" width")/2, rapid.Float64Range(-barrel/4, barrel/4).Draw(t, name+" middle")
			return Strip{x - w, x + w}
		}
		first, second := strip("first"), strip("second")
		a, b := rapid.Float64Range(0, 300).Draw(t, "a min"), rapid.Float64Range(0, 300).Draw(t, "b min")
		must := func(g Growth, err error) Growth {
			if err != nil {
				t.Fatal(err)
			}
			return g
		}
		warm := must(m.Roll(Growth{}, barrel, first, a))
		whole, split := must(m.Roll(warm, barrel, second, a+b)), must(m.Roll(must(m.Roll(warm, barrel, second, a)), barrel, second, b))
		for n := range whole {
			if math.Abs(whole[n]-split[n]) > 1e-9 {
				t.Fatalf("mode %d: %g in one step, %g in two", n, whole[n], split[n])
			}
		}
		rested := must(m.Rest(whole, barrel, b))
		if want := whole[0] * math.Exp(-b/m.IdleTauMin); math.Abs(rested[0]-want) > 1e-9 {
			t.Fatalf("mean of %g after rest, want %g", rested[0], want)
		}
		// 48 cosines overshoot a young edge by some per cent of what it has grown.
		for _, v := range along(whole, 41) {
			if math.IsNaN(v) || v < -0.1*m.SteadyUM || v > 1.1*m.SteadyUM {
				t.Fatalf("growth %g of %g", v, m.SteadyUM)
			}
		}
		// Turned end for end, the growth is.
		mirror := must(m.Roll(Growth{}, barrel, Strip{-first.ToMM, -first.FromMM}, a))
		x, y := along(warm, 41), along(mirror, 41)
		for j := range x {
			if math.Abs(x[j]-y[40-j]) > 1e-9 {
				t.Fatalf("station %d: %g and %g turned", j, x[j], y[40-j])
			}
		}
	})
}

// A roll that goes in cold warms at its own rate beside one that was warm: their
// difference falls by the law of the model, and both tend to the same.
func TestRollsWarmAtTheirOwnRates(t *testing.T) {
	m, strip := workCrown(), Strip{-600, 600}
	warm, cold := mustRoll(t, m, Growth{}, 1900, strip, 300), Growth{}
	warm, cold = mustRoll(t, m, warm, 1900, strip, 30), mustRoll(t, m, cold, 1900, strip, 30)
	near(t, "difference of the means after one time constant", warm[0]-cold[0], m.SteadyUM*1200/1900/math.E, 0.01)
	if !(cold.CrownUM() < 0.75*warm.CrownUM()) {
		t.Errorf("crown %.1f µm cold, %.1f warm", cold.CrownUM(), warm.CrownUM())
	}
}
