package forecast_test

import (
	"math/rand/v2"
	"sync"
	"testing"

	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
)

// BenchmarkFleet forecasts 2,000 rolls with scrap dates on two goroutines, and
// beside it simulates one of them with as many lives as give its P10 to about
// 0.001 of probability.
func BenchmarkFleet(b *testing.B) {
	w := newSimWorks(1)
	day := simStart.AddDate(1, 0, 0)
	w.run(day)
	habits := forecast.LearnHabits(w.known(day), forecast.Defaults{NormalStockUM: 400})
	in := func(i int) forecast.LifeInput {
		return forecast.LifeInput{Stock: quantity.Micrometre(1000 + 30*i), Rate: forecast.Rate{MeanUMPerKM: 3 + float64(i%7)/10, SDUMPerKM: 0.15},
			Habit: habits.Of(simGrades[i%2], simStands[i%3], mill.Work), Own: w.cycles[:3], LastGrind: day, Now: day}
	}
	b.Run("2000 rolls", func(b *testing.B) {
		for b.Loop() {
			var wait sync.WaitGroup
			for worker := range 2 {
				wait.Go(func() {
					for i := worker; i < 2000; i += 2 {
						if _, err := forecast.Remaining(in(i), nil); err != nil {
							b.Error(err)
						}
					}
				})
			}
			wait.Wait()
		}
	})
	b.Run("one by simulation", func(b *testing.B) {
		random := rand.New(rand.NewPCG(1, 1))
		f := in(1000)
		h := f.Habit
		draw := func(mean, sd float64) float64 { return max(0, mean+sd*random.NormFloat64()) }
		for b.Loop() {
			for range 100_000 {
				for left := f.Stock.MM(); left >= 0; {
					left -= (f.Rate.MeanUMPerKM*draw(h.ExposureKM.Mean, h.ExposureKM.SD) + draw(h.StockUM.Mean, h.StockUM.SD)) / 1000
					if random.Float64() < h.Incident.Probability {
						left -= h.Incident.MinimumMM + h.Incident.MeanExcessMM*random.ExpFloat64()
					}
				}
			}
		}
	})
	b.Run("habits of 25000 cycles", func(b *testing.B) {
		var many []forecast.Run
		for len(many) < 25_000 {
			many = append(many, w.cycles...)
		}
		many = many[:25_000]
		for b.Loop() {
			forecast.LearnHabits(many, forecast.Defaults{NormalStockUM: 400})
		}
	})
}
