package forecast_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/duty"
	"barrelbook/domain/forecast"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/standing"
)

var june = time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC)

// given is a roll with its limits and what it has borne, and what once of the
// same does.
type given struct {
	usedKM, wearUM, maxT, maxKM, maxWearUM, kmPerT, wearUMPerT float64
}

// into states the limits of the roll over 100 t.
func (g given) into(in forecast.ChangeInput) forecast.ChangeInput {
	limits := standing.Given{}
	enter := func(k practice.Key, v float64) {
		if v > 0 {
			limits[k] = practice.Value{Number: v, Set: true}
		}
	}
	enter(practice.MaxCampaignT, g.maxT)
	enter(practice.MaxCampaignKM, g.maxKM)
	enter(practice.MaxWearUM, g.maxWearUM)
	stay := duty.Usage{TonnageT: in.UsedT, RolledKM: g.usedKM}
	r := standing.Roll{Stay: stay, SinceGrind: duty.Usage{WearUM: []float64{g.wearUM}}, Limits: limits}
	in.OnceT, in.OnceKM = 100, 100*g.kmPerT
	in.Limits = limit.Again(&r, mill.Stand{}, duty.Usage{TonnageT: in.OnceT, RolledKM: in.OnceKM, WearUM: []float64{100 * g.wearUMPerT}})
	return in
}

// Worked by hand: 2500 of 4000 t are left, 60 of 100 km at 0.03 km/t are 2000 t,
// 300 of 400 µm at 0.2 µm/t are 1500 t.
func TestNextChangeByHand(t *testing.T) {
	in := forecast.ChangeInput{Now: june, In: true, UsedT: 1500, PerDay: forecast.Estimate{Mean: 3000}}
	g := given{usedKM: 40, wearUM: 100, maxT: 4000, maxKM: 100, maxWearUM: 400, kmPerT: 0.03, wearUMPerT: 0.2}
	c := change(t, g.into(in))
	if !near(c.TonnageT.P50, 1500) || !near(c.TonnageT.P5, 1500) || c.Limit != "wear" || !near(c.RolledKM.P50, 45) || !c.At.P50.Equal(june.Add(12*time.Hour)) {
		t.Errorf("%+v", c)
	}
	g.maxWearUM = 0
	if c = change(t, g.into(in)); !near(c.TonnageT.P50, 2000) || c.Limit != "km" {
		t.Errorf("without a wear limit: %+v", c)
	}
	g.maxKM = 0
	if c = change(t, g.into(in)); !near(c.TonnageT.P50, 2500) || c.Limit != "tonnes" {
		t.Errorf("tonnes alone: %+v", c)
	}
	in.PastT = []float64{1000, 1700, 1900, 2100}
	if c = change(t, g.into(in)); c.TonnageT.P50 != 400 || c.TonnageT.P10 != 200 || c.Limit != "habit" {
		t.Errorf("with past campaigns of which three got further: %+v", c)
	}
	g.maxT, in.PastT = 0, []float64{1000}
	if c = change(t, g.into(in)); c.Dates || c.Limit != "" || len(c.Notes) != 2 {
		t.Errorf("no end in sight: %+v", c)
	}
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(b) }

// A rate that is off by a factor f uses 400 µm up when 100·f + w·f has passed it:
// the quantiles are those of the factor.
func TestNextChangeFollowsTheRate(t *testing.T) {
	c := change(t, given{maxWearUM: 400, wearUMPerT: 0.2, kmPerT: 0.03}.into(forecast.ChangeInput{Now: june, RateCV: 0.15}))
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
		g := given{usedKM: amount("km", 200), wearUM: amount("wear", 500), maxT: amount("max_t", 6000), maxKM: amount("max_km", 200), maxWearUM: amount("max_wear", 500),
			kmPerT: amount("km_t", 0.1), wearUMPerT: amount("um_t", 0.5)}
		in := g.into(forecast.ChangeInput{Now: june, In: true, UsedT: amount("used_t", 5000), RateCV: amount("cv", 0.5), PerDay: forecast.Estimate{Mean: amount("day", 5000), SD: amount("sd", 2000)}})
		c, err := forecast.NextChange(in)
		if err != nil {
			t.Fatal(err)
		}
		q := c.TonnageT
		if q.P5 < 0 || q.P5 > q.P10 || q.P10 > q.P50 || q.P50 > q.P90 || q.P90 > q.P95 || math.IsInf(q.P95, 0) || math.IsNaN(q.Mean) {
			t.Fatalf("%+v", q)
		}
		more := in
		more.UsedT, g.usedKM, g.wearUM = in.UsedT+100, g.usedKM+1, g.wearUM+5
		more = g.into(more)
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
	_, err := forecast.NextChange(forecast.ChangeInput{UsedT: -1, OnceKM: math.NaN()})
	if n := len(refusal.FieldsOf(err)); n != 2 {
		t.Errorf("%d refusals: %v", n, err)
	}
}
