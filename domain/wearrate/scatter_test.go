package wearrate_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"barrelbook/domain/wearrate"
)

// TestScatterIsToldFromTheGauge learns fleets whose campaigns truly scatter by
// so much about rate × exposure, measured with two gauges: over twenty seeds the
// learned scatter is near it, whatever the gauge adds.
func TestScatterIsToldFromTheGauge(t *testing.T) {
	for _, gauge := range []float64{3, 7.5} {
		for _, truth := range []float64{0, 0.03, 0.06, 0.12} {
			f := hotStrip
			f.gaugeSD, f.scatter, f.campaigns = gauge, truth, 8
			sum, n := 0.0, 0.0
			for seed := range uint64(20) {
				past, _ := f.simulate(seed)
				rates, err := wearrate.Learn(past, wearrate.StandardDefaults(), nil)
				if err != nil {
					t.Fatal(err)
				}
				for _, g := range rates.Grades {
					sum += g.ScatterCV * g.ScatterCV
					n++
				}
			}
			// Mean squares: near 0 the root of an estimate that may not be below 0
			// lies above the truth.
			if got := math.Sqrt(sum / n); math.Abs(got-truth) > 0.018 {
				t.Errorf("gauge %g µm: learned a scatter of %.3f, it is %.3f", gauge, got, truth)
			} else {
				t.Logf("gauge %g µm: %.4f learned, %.4f is true", gauge, got, truth)
			}
		}
	}
}

// TestScatterOfEqualCampaigns has nothing to tell the gauge from the wear by. What
// the gauge is believed to do explains all that is seen: no scatter is made up
// beside it, and the two together are about what was seen.
func TestScatterOfEqualCampaigns(t *testing.T) {
	f := hotStrip
	f.grades, f.stands, f.incidents, f.campaigns = 1, 1, 0, 6
	f.shortest, f.longest, f.rateCV = 60, 60, 1e-6
	past, _ := f.simulate(1)
	for i := range past {
		off := past[i].WearUM - 3*60*past[i].SpecificForceKNPerMM/10
		past[i].SpecificForceKNPerMM, past[i].WearUM = 10, 180+math.Mod(off, 10)
	}
	rates, err := wearrate.Learn(past, wearrate.StandardDefaults(), nil)
	if err != nil {
		t.Fatal(err)
	}
	g := rates.Grades[0]
	wear := make([]float64, len(past))
	for i, c := range past {
		wear[i] = c.WearUM
	}
	seen, said := stat.StdDev(wear, nil), math.Hypot(g.NoiseUM, 180*g.ScatterCV)
	if g.ScatterCV > 0.02 || math.Abs(said/seen-1) > 0.25 {
		t.Errorf("scatter %.4f and gauge %.1f µm are %.1f µm together, %.1f are seen", g.ScatterCV, g.NoiseUM, said, seen)
	}
}

// TestPredictionPartsItsDoubt: the two parts make up the whole, and a roll shares
// less of its doubt with its cell the more it has rolled.
func TestPredictionPartsItsDoubt(t *testing.T) {
	shares := map[int]float64{}
	for _, campaigns := range []int{1, 10} {
		f := hotStrip
		f.campaigns = campaigns
		past, _ := f.simulate(3)
		rates, err := wearrate.Learn(past, wearrate.StandardDefaults(), nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, roll := range append([]wearrate.RollRate{{Cell: rates.Cells[0].Cell}, {Cell: wearrate.Cell{Grade: rates.Grades[0].Grade, Stand: "new"}},
			{Cell: wearrate.Cell{Grade: "new", Stand: "new"}}}, rates.Rolls...) {
			p, err := rates.Predict(wearrate.Next{Roll: roll.Roll, Cell: roll.Cell})
			if err != nil {
				t.Fatal(err)
			}
			if whole := math.Hypot(p.SharedSD, p.OwnSD); math.Abs(whole-p.RateSD) > 1e-9*p.RateSD || p.SharedSD <= 0 || p.OwnSD <= 0 {
				t.Errorf("%s at %+v: shared %g, own %g, whole %g", roll.Roll, roll.Cell, p.SharedSD, p.OwnSD, p.RateSD)
			}
			if p.Source == wearrate.FromRoll {
				shares[campaigns] += p.SharedSD * p.SharedSD / (p.RateSD * p.RateSD) / float64(len(rates.Rolls))
			}
		}
	}
	if shares[1] < 2*shares[10] {
		t.Errorf("mean share %.3f after one campaign, %.3f after ten", shares[1], shares[10])
	}
}
