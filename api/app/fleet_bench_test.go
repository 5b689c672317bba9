package app_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"barrelbook/api/app"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// BenchmarkFleet asks for the buying plan of 2,000 rolls with 26,000 regrinds
// behind them: from a cold start, where all is read and learned, and again, where
// only the forecasts are made. Beside it, one more regrind and one roll's forecast
// after it, which learns one cell.
func BenchmarkFleet(b *testing.B) {
	w := newWorks(b)
	rolls := history(w, 2000, 13)
	b.Run("cold", func(b *testing.B) {
		for b.Loop() {
			cold := app.New(w.store, w.clock, &names{}, "test")
			if _, err := cold.ReportBuying(w.ctx, report.BuyingInput{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("warm", func(b *testing.B) {
		for b.Loop() {
			if _, err := w.ReportBuying(w.ctx, report.BuyingInput{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("one roll", func(b *testing.B) {
		for b.Loop() {
			w.clock.now = w.clock.now.Add(time.Second)
			if _, err := w.ForecastRoll(w.ctx, rolls[7]); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("one roll after a regrind", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			w.clock.now = w.clock.now.Add(time.Hour)
			row, err := w.Roll(w.ctx, rolls[i])
			w.must(err)
			_, err = w.RecordRegrind(w.ctx, engineer, rolls[i], record.RegrindInput{Found: row.State.Diameter - 10, Ground: row.State.Diameter - 100, For: roll.ForWear, Confirmed: lookedAt()})
			w.must(err)
			if _, err := w.ForecastRoll(w.ctx, rolls[7]); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// history writes rolls of six stands with so many cycles each.
func history(w *works, rolls, cycles int) []string {
	w.t.Helper()
	random := rand.New(rand.NewPCG(1, 1))
	for i := range 6 {
		w.stand(fmt.Sprintf("F%d", i+1), i+1)
	}
	var numbers []string
	for i := range rolls {
		number, stand := fmt.Sprintf("W%04d", i), fmt.Sprintf("F%d", i%6+1)
		numbers = append(numbers, number)
		w.roll(number, mill.Work, 720, stand)
		err := w.store.Write(w.ctx, func(wr port.Writer) error {
			row, err := wr.Roll(number)
			if err != nil {
				return err
			}
			rate := 3 + 0.3*random.NormFloat64()
			for c := range cycles {
				at := start.Add(time.Duration(c*240+24) * time.Hour)
				km := 40 + 30*random.Float64()
				m := port.Stay{Roll: number, Stand: stand, Position: mill.TopWork, MountedAt: at.Add(-20 * time.Hour), WithdrawnAt: at.Add(-time.Hour), Diameter: row.State.Diameter,
					Usage: duty.Usage{TonnageT: km * 40, RolledKM: km, ExposureKM: km, WearUM: make([]float64, 41)}}
				if _, err := wr.OpenMounting(m); err != nil {
					return err
				}
				found := row.State.Diameter - quantity.Micrometre(rate*km+10*random.NormFloat64())
				body := roll.Reground{Found: found, FoundAsRead: found, Ground: found - quantity.Micrometre(100+50*random.Float64()), For: roll.ForWear, GaugeUncertainty: 20, MaxPlausible: 8000}
				e := roll.Entry{Roll: number, Number: row.Version() + 1, At: at, RecordedAt: at, By: "bench", Body: body}
				after, err := roll.Append(row.State, e, func() ([]roll.Entry, error) { return wr.Book(number) })
				if err != nil {
					return err
				}
				if row, err = wr.Append(row, e, after); err != nil {
					return err
				}
			}
			return nil
		})
		w.must(err)
	}
	w.clock.now = start.Add(time.Duration(cycles*240+48) * time.Hour)
	return numbers
}
