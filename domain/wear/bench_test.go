package wear_test

import (
	"math"
	"testing"

	"barrelbook/domain/wear"
)

var (
	benchPass = wear.Pass{StripWidthMM: 1250, LateralOffsetMM: 12, RolledKM: 0.8, ForceKN: 15000}
	benchRate = wear.Rate{UmPerKmAt10: 2.5, Shape: wear.HotStripShape()}
)

func BenchmarkLay(b *testing.B) {
	g := grid(b, 1780, wear.DefaultStations)
	depth := g.New()
	b.ReportAllocs()
	for b.Loop() {
		if err := g.Lay(depth, benchPass, benchRate); err != nil {
			b.Fatal(err)
		}
	}
}

// The baseline: the same cell means by a plain midpoint rule with 16 points a
// cell, about what it takes to see a 20 mm edge in a 44.5 mm step.
func BenchmarkLayBaselineQuadrature(b *testing.B) {
	g := grid(b, 1780, wear.DefaultStations)
	depth := g.New()
	inside := 2.5 * 12 / 10 * 0.8
	shape := func(x float64) float64 {
		d := 625 - math.Abs(x-12)
		switch {
		case d < -10:
			return 0
		case d < 10:
			return 1.2 * (d + 10) / 20
		case d < 60:
			return 1 + 0.2*(60-d)/50
		}
		return 1
	}
	b.ReportAllocs()
	for b.Loop() {
		for i := range depth {
			sum := 0.0
			for k := range 16 {
				sum += shape(g.X(i) + 44.5*((float64(k)+0.5)/16-0.5))
			}
			depth[i] += inside * sum / 16
		}
	}
}
