package rollload

import (
	"testing"
)

// BenchmarkSolve is one piece on one stand, coefficients at hand.
func BenchmarkSolve(b *testing.B) {
	load := &Load{Strip: evenly(18e6, 1250, 0), BendingForceN: 4e5, Work: Profile{CrownUM: 100}}
	b.Run("folded, 100 slices", func(b *testing.B) {
		s := solver(b, pair(), Options{})
		solve(b, s, load)
		b.ReportAllocs()
		for b.Loop() {
			solve(b, s, load)
		}
	})
	b.Run("whole, 100 slices", func(b *testing.B) {
		s := solver(b, pair(), Options{})
		whole := *load
		whole.Whole = true
		solve(b, s, &whole)
		b.ReportAllocs()
		for b.Loop() {
			solve(b, s, &whole)
		}
	})
}

// BenchmarkCoefficients is what a new pair, or a reground roll, costs once.
func BenchmarkCoefficients(b *testing.B) {
	for b.Loop() {
		if _, err := NewCoefficients(pair(), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
