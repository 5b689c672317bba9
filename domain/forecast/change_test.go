package forecast_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/forecast"
	"barrelbook/domain/refusal"
)

var june = time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC)

// Worked by hand: 2500 of 4000 t are left, 60 of 100 km at 0.03 km/t are 2000 t,
// 300 of 400 µm at 0.2 µm/t are 1500 t.
func TestNextChangeByHand(t *testing.T) {
	in := forecast.ChangeInput{Now: june, In: true, UsedT: 1500, UsedKM: 40, WearUM: 100, MaxT: 4000, MaxKM: 100, MaxWearUM: 400,
		KMPerT: 0.03, WearUMPerT: 0.2, PerDay: forecast.Estimate{Mean: 3000}}
	c := change(t, in)
	if c.TonnageT.P50 != 1500 || c.TonnageT.P5 != 1500 || c.Limit != "wear" || c.RolledKM.P50 != 45 || !c.At.P50.Equal(june.Add(12*time.Hour)) {
		t.Errorf("%+v", c)
	}
	in.MaxWearUM = 0
	if c = change(t, in); c.TonnageT.P50 != 2000 || c.Limit != "km" {
		t.Errorf("without a wear limit: %+v", c)
	}
	in.MaxKM = 0
	if c = change(t, in); c.TonnageT.P50 != 2500 || c.Limit != "tonnes" {
		t.Errorf("tonnes alone: %+v", c)
	}
	in.PastT = []float64{1000, 1700, 1900, 2100}
	if c = change(t, in); c.TonnageT.P50 != 400 || c.TonnageT.P10 != 200 || c.Limit != "habit" {
		t.Errorf("with past campaigns of which three got further: %+v", c)
	}
	in.MaxT, in.PastT = 0, []float64{1000}
	if c = change(t, in); c.Dates || c.Limit != "" || len(c.Notes) != 2 {
		t.Errorf("no end in sight: %+v", c)
	}
}

// A rate that is off by a factor f uses 400 µm up when 100·f + w·f has passed it:
// the quantiles are those of the factor.
func TestNextChangeFollowsTheRate(t *testing.T) {
	c := change(t, forecast.ChangeInput{Now: june, WearUM: 0, MaxWearUM: 400, WearUMPerT: 0.2, KMPerT: 0.03, RateCV: 0.15})
	// exp(±0.149·1.2816) about 2000 t·exp(s²/2); five points give steps, so 15 %.
	if c.TonnageT.P10 > 1900 || c.TonnageT.P10 < 1500 || c.TonnageT.P90 < 2100 || c.TonnageT.P90 > 2600 || c.Dates {
		t.Errorf("%+v", c)
	}
}

func change(t testing.TB, in forecast.ChangeInput) forecast.Change {
	t.Helper()
	c, err := forecast.NextChange(in)
	if err != nil {
		t.Fatalf("%+v: %v", in, err)
	}
	return c
}

// More used never leaves more, quantiles rise, nothing is infinite.
func TestNextChangeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount := func(name string, high float64) float64 { return rapid.Float64Range(0, high).Draw(t, name) }
		in := forecast.ChangeInput{Now: june, In: true, UsedT: amount("used_t", 5000), UsedKM: amount("km", 200), WearUM: amount("wear", 500),
			MaxT: amount("max_t", 6000), MaxKM: amount("max_km", 200), MaxWearUM: amount("max_wear", 500), KMPerT: amount("km_t", 0.1),
			WearUMPerT: amount("um_t", 0.5), RateCV: amount("cv", 0.5), PerDay: forecast.Estimate{Mean: amount("day", 5000), SD: amount("sd", 2000)}}
		c, err := forecast.NextChange(in)
		if err != nil {
			t.Fatal(err)
		}
		q := c.TonnageT
		if q.P5 < 0 || q.P5 > q.P10 || q.P10 > q.P50 || q.P50 > q.P90 || q.P90 > q.P95 || math.IsInf(q.P95, 0) || math.IsNaN(q.Mean) {
			t.Fatalf("%+v", q)
		}
		more := in
		more.UsedT, more.UsedKM, more.WearUM = in.UsedT+100, in.UsedKM+1, in.WearUM+5
		d, err := forecast.NextChange(more)
		if err != nil {
			t.Fatal(err)
		}
		if d.Limit != "" && (d.TonnageT.P50 > q.P50+1e-9 || d.TonnageT.P90 > q.P90+1e-9) {
			t.Fatalf("after more rolling there is more left: %+v, before %+v", d.TonnageT, q)
		}
	})
}

func TestNextChangeRefusals(t *testing.T) {
	_, err := forecast.NextChange(forecast.ChangeInput{UsedT: -1, KMPerT: math.NaN()})
	if n := len(refusal.FieldsOf(err)); n != 2 {
		t.Errorf("%d refusals: %v", n, err)
	}
}
