package contact

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/optimize"
)

var sink float64

// BenchmarkLineLoad is the inner loop of the load solver; the baseline solves
// the same α(q) for q by Newton's method on the formula.
func BenchmarkLineLoad(b *testing.B) {
	l, err := NewLaw(steel700, steel1500, Foeppl)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("closed form", func(b *testing.B) {
		b.ReportAllocs()
		for i := range b.N {
			q, d := l.LineLoad(0.1 + 1e-4*float64(i&4095))
			sink += q + d
		}
	})
	b.Run("baseline, Newton", func(b *testing.B) {
		for i := range b.N {
			alpha := 0.1 + 1e-4*float64(i&4095)
			q := alpha / (10 * l.halfK)
			for range 50 {
				lg := math.Log(q * l.invScale)
				step := (-l.halfK*q*lg - alpha) / (-l.halfK * (lg + 1))
				q -= step
				if math.Abs(step) < 1e-13*q {
					break
				}
			}
			sink += q
		}
	})
}

// BenchmarkContact is the whole calculation; the baseline finds one of its
// four greatest stresses by a search of the field.
func BenchmarkContact(b *testing.B) {
	in := Input{steel700, steel1500, 10e3, Foeppl}
	b.Run("closed forms", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			r, _ := Contact(in)
			sink += r.ApproachMM
		}
	})
	b.Run("baseline, one search", func(b *testing.B) {
		for range b.N {
			r, _ := optimize.Minimize(optimize.Problem{Func: func(p []float64) float64 {
				sx, sz, txz := Field(p[0], math.Abs(p[1]))
				return -math.Hypot((sx-sz)/2, txz)
			}}, []float64{0.1, 0.7}, nil, &optimize.NelderMead{})
			sink += r.F
		}
	})
}
