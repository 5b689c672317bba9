package life_test

import (
	"sync"
	"testing"

	"barrelbook/domain/life"
)

func BenchmarkOneRoll(b *testing.B) {
	follows := finishing
	follows.WearFollowsTonnes = true
	for name, in := range map[string]life.Input{"independent": finishing, "wear follows tonnes": follows} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				remaining(b, in)
			}
		})
	}
	// The baseline: 100 000 simulated lives know a P10 to 0.001 of probability,
	// ten times worse than the lattice; as good takes a hundred times as many.
	b.Run("simulation of 100000", func(b *testing.B) {
		for b.Loop() {
			simulate(finishing, 100_000, 1)
		}
	})
}

// BenchmarkFleet forecasts rolls of all stocks on two goroutines; the time per
// roll stays the same as the fleet grows.
func BenchmarkFleet(b *testing.B) {
	for _, c := range []struct {
		name    string
		rolls   int
		follows bool
	}{{"500", 500, false}, {"2000", 2000, false}, {"2000 wear follows tonnes", 2000, true}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				var wait sync.WaitGroup
				for worker := range 2 {
					wait.Go(func() {
						for i := worker; i < c.rolls; i += 2 {
							in := finishing
							in.WearFollowsTonnes = c.follows
							in.StockMM = 60 * float64(i+1) / float64(c.rolls)
							remaining(b, in)
						}
					})
				}
				wait.Wait()
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*c.rolls), "µs/roll")
		})
	}
}
