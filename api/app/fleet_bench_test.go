package app_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/klauspost/compress/gzip"

	"barrelbook/api/app"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/api/rest"
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
	b.Run("scrap dates", func(b *testing.B) {
		edge := edgeOf(b, w)
		if size := scrapDates(b, edge, len(rolls)); size > 200_000 { // the forecasts are made here
			b.Errorf("they are %d bytes", size)
		}
		size := 0
		for b.Loop() {
			size = scrapDates(b, edge, len(rolls))
		}
		b.ReportMetric(float64(size), "bytes")
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

func edgeOf(t testing.TB, w *works) http.Handler {
	t.Helper()
	edge, err := rest.New(w.App, rest.Options{Local: &rest.Caller{Name: "bench", Role: port.Viewer}})
	if err != nil {
		t.Fatal(err)
	}
	return edge
}

// scrapDates asks for the scrap dates of all rolls and gives the size of the answer
// as it is sent, packed.
func scrapDates(t testing.TB, edge http.Handler, rolls int) int {
	t.Helper()
	r := httptest.NewRequest(http.MethodGet, "/v1/forecasts", nil)
	r.Header.Set("Accept-Encoding", "gzip")
	out := httptest.NewRecorder()
	edge.ServeHTTP(out, r)
	size := out.Body.Len()
	text, err := gzip.NewReader(out.Body)
	if err != nil {
		t.Fatal(err)
	}
	var answer struct {
		Items []struct {
			Roll string     `json:"roll"`
			P50  *time.Time `json:"scrap_at_p50"`
		} `json:"items"`
	}
	if err := json.NewDecoder(text).Decode(&answer); err != nil {
		t.Fatal(err)
	}
	for i, one := range answer.Items {
		if one.P50 == nil || i > 0 && one.P50.Before(*answer.Items[i-1].P50) {
			t.Fatalf("roll %s has no date, or comes too late", one.Roll)
		}
	}
	if len(answer.Items) != rolls {
		t.Errorf("%d of %d rolls are in the answer", len(answer.Items), rolls)
	}
	return size
}

// TestScrapDates asks for all scrap dates in one request: by date, in no more than
// a tenth of a kilobyte a roll, and anew where a book has changed or two hours are over.
func TestScrapDates(t *testing.T) {
	w := newWorks(t)
	rolls := history(w, 60, 6)
	edge := edgeOf(t, w)
	if size := scrapDates(t, edge, len(rolls)); size > 100*len(rolls) {
		t.Errorf("they are %d bytes", size)
	}
	made := func() map[string]time.Time {
		t.Helper()
		f, err := w.ReportForecasts(w.ctx, report.ForecastsInput{})
		w.must(err)
		at := map[string]time.Time{}
		for _, one := range f.Items {
			at[one.Roll] = one.AskedAt
		}
		return at
	}
	before := made()
	w.clock.now = w.clock.now.Add(10 * time.Minute)
	row, err := w.Roll(w.ctx, rolls[3])
	w.must(err)
	_, err = w.RecordRegrind(w.ctx, engineer, rolls[3], record.RegrindInput{Found: row.State.Diameter - 10, Ground: row.State.Diameter - 100, For: roll.ForProfile})
	w.must(err)
	after := made()
	for number, at := range after {
		if anew := !at.Equal(before[number]); anew != (number == rolls[3]) {
			t.Errorf("%s was forecast anew: %v", number, anew)
		}
	}
	w.clock.now = w.clock.now.Add(3 * time.Hour)
	for number, at := range made() {
		if !at.Equal(w.clock.now) {
			t.Errorf("%s was not forecast anew after three hours", number)
		}
	}
	first, err := w.ReportForecasts(w.ctx, report.ForecastsInput{By: report.ByOrderDate, Most: 5, RollFilter: port.RollFilter{Grade: row.State.Roll.Grade}})
	if w.must(err); len(first.Items) != 5 || first.Left != len(rolls)-5 || first.Items[4].OrderBy.Before(first.Items[0].OrderBy) {
		t.Errorf("the first five: %+v, %d left", first.Items, first.Left)
	}
	if _, err := w.ReportForecasts(w.ctx, report.ForecastsInput{RollFilter: port.RollFilter{Mill: "none"}}); !port.IsKind(err, port.NotFound) {
		t.Errorf("an unknown mill: %v", err)
	}
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
