package wearrate_test

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"barrelbook/domain/wearrate"
)

func learn(t interface{ Fatalf(string, ...any) }, past []wearrate.Run) wearrate.Rates {
	r, err := wearrate.Learn(past, wearrate.StandardDefaults(), nil)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return r
}

func predict(t interface{ Fatalf(string, ...any) }, r wearrate.Rates, c wearrate.Run) wearrate.Prediction {
	p, err := r.Predict(wearrate.Next{Roll: c.Roll, Cell: c.Cell, RolledKM: c.RolledKM, SpecificForceKNPerMM: c.SpecificForceKNPerMM})
	if err != nil {
		t.Fatalf("%+v: %v", c, err)
	}
	return p
}

// Twenty simulated fleets of every kind. The error of a slope is the learned rate
// of a roll against its hidden true one; the limit is on the root mean square over
// all rolls of the twenty fleets, the strictest of the usual summaries. Coverage
// is of the next campaign of every roll, free of incident, likewise over all.
func TestRatesOfSimulatedFleets(t *testing.T) {
	change := func(f func(*fleet)) fleet {
		c := hotStrip
		f(&c)
		return c
	}
	for _, c := range []struct {
		name      string
		fleet     fleet
		at3, at10 float64
	}{
		{"hot strip", hotStrip, 0.08, 0.05},
		{"wear that scatters by 5 %", change(func(f *fleet) { f.scatter = 0.05 }), 0.08, 0.05},
		{"rolls twice as unlike", change(func(f *fleet) { f.rateCV = 0.3 }), 0.08, 0.05},
		{"four rolls in a cell", change(func(f *fleet) { f.rolls = 4 }), 0.08, 0.05},
		{"every seventh campaign an incident", change(func(f *fleet) { f.incidents = 0.15 }), 0.08, 0.05},
		// 10 µm a measurement on some 100 µm of wear: the noise of three
		// campaigns is 8 % before any estimator; the median error is half of that.
		{"short campaigns, worst gauge", change(func(f *fleet) { f.gaugeSD, f.shortest, f.longest = 10, 15, 50 }), 0.09, 0.05},
	} {
		for n, limit := range map[int]float64{3: c.at3, 10: c.at10} {
			f := c.fleet
			f.campaigns = n
			var squares, count, covered float64
			for seed := range uint64(20) {
				past, future := f.simulate(seed)
				rates := learn(t, past)
				for _, next := range future {
					p := predict(t, rates, next.Run)
					off := p.RateUMPerKM/next.rate - 1
					squares += off * off
					count++
					if next.WearUM >= p.Low90UM && next.WearUM <= p.High90UM {
						covered++
					}
				}
			}
			rms, share := math.Sqrt(squares/count), covered/count
			t.Logf("%s, %d campaigns: slope error %.2f %%, coverage %.3f", c.name, n, 100*rms, share)
			if rms > limit {
				t.Errorf("%s, %d campaigns: slope error %.2f %%, limit %v %%", c.name, n, 100*rms, 100*limit)
			}
			if share < 0.87 || share > 0.93 {
				t.Errorf("%s, %d campaigns: the 90 %% interval covers %.3f", c.name, n, share)
			}
		}
	}
}

// Over many rolls, measured next wear against predicted lies on the diagonal.
func TestPredictionsAreCalibrated(t *testing.T) {
	f := hotStrip
	f.campaigns = 5
	var predicted, measured []float64
	for seed := range uint64(20) {
		past, future := f.simulate(seed)
		rates := learn(t, past)
		for _, next := range future {
			predicted = append(predicted, predict(t, rates, next.Run).WearUM)
			measured = append(measured, next.WearUM)
		}
	}
	intercept, slope := stat.LinearRegression(predicted, measured, nil, false)
	if math.Abs(slope-1) > 0.01 || math.Abs(intercept) > 2 {
		t.Errorf("measured = %.2f µm + %.4f predicted, over %d campaigns", intercept, slope, len(predicted))
	}
}

// One more campaign, that ended in an incident of 1 mm, against the same roll
// without it; for every roll of the fleet, and for its neighbours too.
func TestAnIncidentDoesNotMoveARate(t *testing.T) {
	for _, n := range []int{3, 5, 10} {
		f := hotStrip
		f.campaigns = n
		past, future := f.simulate(5)
		before := learn(t, past)
		worst := 0.0
		for _, next := range future {
			incident := next.Run
			incident.WearUM += 1000
			after := learn(t, append(slices.Clone(past), incident))
			moved := math.Abs(predict(t, after, incident).RateUMPerKM/predict(t, before, incident).RateUMPerKM - 1)
			worst = math.Max(worst, moved)
			if moved >= 0.03 {
				t.Errorf("%s with %d campaigns moved by %.2f %%", incident.Roll, n, 100*moved)
			}
			for i, r := range after.Rolls {
				if r.Roll != incident.Roll && math.Abs(r.RateUMPerKM/before.Rolls[i].RateUMPerKM-1) >= 0.01 {
					t.Errorf("%s's incident moved %s from %v to %v", incident.Roll, r.Roll, before.Rolls[i], r)
				}
			}
		}
		t.Logf("%d campaigns: moved by at most %.4f %%", n, 100*worst)
	}
}

// An incident on a campaign already counted costs what that campaign knew and no
// more: the rate becomes the one without it.
func TestAnIncidentCountsAsNoCampaign(t *testing.T) {
	f := hotStrip
	f.campaigns, f.incidents = 6, 0
	past, _ := f.simulate(8)
	for i := 0; i < len(past); i += f.campaigns {
		struck := slices.Clone(past)
		struck[i].WearUM += 1000
		with := predict(t, learn(t, struck), past[i]).RateUMPerKM
		without := predict(t, learn(t, slices.Delete(slices.Clone(past), i, i+1)), past[i]).RateUMPerKM
		if math.Abs(with/without-1) > 0.005 {
			t.Errorf("%s: %v with an incident, %v without that campaign", past[i].Roll, with, without)
		}
	}
}
