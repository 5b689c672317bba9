package heat

import (
	"math"
	"testing"
)

func BenchmarkCool(b *testing.B) {
	hours := make([]float64, 48)
	for i := range hours {
		hours[i] = 30 * float64(i)
	}
	b.Run("48 half hours", func(b *testing.B) {
		for b.Loop() {
			if _, err := Cool(workRoll(), hours); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("first second", func(b *testing.B) {
		for b.Loop() {
			if _, err := Cool(workRoll(), []float64{1.0 / 60}); err != nil {
				b.Fatal(err)
			}
		}
	})
	// A plain finite-volume step over the same day, 100 rings at the stable
	// step, is the baseline the series replaces.
	b.Run("baseline/finite volumes", func(b *testing.B) {
		c := workRoll()
		for b.Loop() {
			finiteVolumes(c, 48*30)
		}
	})
}

// finiteVolumes steps rings of equal thickness explicitly and gives the mean
// at the end: the same problem by another road.
func finiteVolumes(c Cylinder, minutes float64) (mean float64) {
	const n = 100
	dr, bi, end := 1.0/n, c.Biot(), minutes*c.fourierPerMin()
	steps := int(end/(0.25*dr*dr)) + 1
	dt := end / float64(steps)
	var now, next [n]float64
	for i := range now {
		now[i] = 1
	}
	for range steps {
		for i := range now {
			inner, outer := float64(i)*dr, float64(i+1)*dr
			flow := 0.0
			if i > 0 {
				flow += inner * (now[i-1] - now[i]) / dr
			}
			if i < n-1 {
				flow += outer * (now[i+1] - now[i]) / dr
			} else {
				// Half a ring of conduction and the surface film in series.
				flow -= now[i] / (dr/2 + 1/bi)
			}
			next[i] = now[i] + dt*flow/((outer*outer-inner*inner)/2)
		}
		now = next
	}
	for i, v := range now {
		inner, outer := float64(i)*dr, float64(i+1)*dr
		mean += v * (outer*outer - inner*inner)
	}
	return mean
}

// The series and the finite volumes agree to the volumes' own accuracy.
func TestSeriesAgainstFiniteVolumes(t *testing.T) {
	for _, h := range []float64{20, 300, 3000} {
		c := workRoll()
		c.SurfaceCoefficientWPerM2K = h
		s := series{bi: c.Biot()}
		for _, minutes := range []float64{10, 60, 240} {
			near(t, "mean", finiteVolumes(c, minutes), s.at(minutes*c.fourierPerMin()).mean, 1e-4)
		}
	}
}

// BenchmarkCrown is one piece's step of one roll's growth; the baseline is the
// first-order crown of one number that it replaces.
func BenchmarkCrown(b *testing.B) {
	m, s := workCrown(), Strip{-600, 600}
	b.Run("roll", func(b *testing.B) {
		var g Growth
		for b.Loop() {
			g, _ = m.Roll(g, 1900, s, 1.5)
		}
	})
	b.Run("rest", func(b *testing.B) {
		g, _ := m.Roll(Growth{}, 1900, s, 60)
		for b.Loop() {
			g, _ = m.Rest(g, 1900, 0.1)
		}
	})
	b.Run("baseline/one number", func(b *testing.B) {
		crown := 0.0
		for b.Loop() {
			left := math.Exp(-1.5 / m.RollingTauMin)
			crown = m.SteadyUM*(1-left) + crown*left
		}
	})
}
