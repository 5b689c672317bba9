package rollload

import "testing"

func benchLoad() *Load {
	return &Load{Strip: evenly(18e6, 1250, 0), BendingForceN: 4e5, Work: Profile{CrownUM: 100}}
}

// BenchmarkSolve is one piece on one stand, coefficients at hand: all outputs.
// The baseline is the Newton iteration alone, by a general dense LU of the whole
// barrel, without any of the outputs.
func BenchmarkSolve(b *testing.B) {
	run := func(name string, p Stack, load *Load) {
		b.Run(name, func(b *testing.B) {
			s := solver(b, p, Options{})
			r := solve(b, s, load)
			b.ReportAllocs()
			for b.Loop() {
				solve(b, s, load)
			}
			b.ReportMetric(float64(r.Iterations), "iterations")
		})
	}
	run("folded, 100 slices", pair(), benchLoad())
	worn := benchLoad()
	worn.Work.WearUM = Points{XMM: []float64{-640, -560, -500, 500, 560, 640}, Value: []float64{0, 240, 150, 150, 240, 0}}
	run("folded, 100 slices, worn", pair(), worn)
	parted := benchLoad()
	parted.Work.CrownUM = 800
	run("folded, 100 slices, parted", pair(), parted)
	whole := benchLoad()
	whole.Whole = true
	run("whole, 100 slices", pair(), whole)
	shifted := pair()
	shifted.Work.AxialOffsetMM = 100
	run("shifted, 100 slices", shifted, benchLoad())
	six := &Load{Strip: evenly(9e6, 1000, 0), BendingForceN: 2e5, IntermediateBendingForceN: 3e5, Work: Profile{CrownUM: 60}}
	run("six-high folded, 100 slices each", sixHigh(), six)
	run("six-high shifted, 100 slices each", shiftedSixHigh(), six)
	b.Run("baseline, dense LU, 100 slices", func(b *testing.B) {
		s := solver(b, pair(), Options{})
		solve(b, s, whole)
		d := newDense(s.c.full.slices)
		iterations := 0
		for b.Loop() {
			var ok bool
			if iterations, ok = d.solve(&s.c.full, s.c.joints[0].law, s.newton.apart, s.newton.joints[0].force, s.newton.joints[0].moment); !ok {
				b.Fatal("no convergence")
			}
		}
		b.ReportMetric(float64(iterations), "iterations")
	})
}

// BenchmarkCoefficients is what a new stack, or a reground roll, costs once.
func BenchmarkCoefficients(b *testing.B) {
	for b.Loop() {
		if _, err := NewCoefficients(pair(), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
