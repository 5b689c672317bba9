package wearrate_test

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"barrelbook/domain/refusal"
	"barrelbook/domain/wearrate"
)

func of(at wearrate.Cell, past []wearrate.Run) (out []wearrate.Run) {
	for _, c := range past {
		if c.Cell == at {
			out = append(out, c)
		}
	}
	return out
}

func relearn(t *testing.T, r wearrate.Rates, at wearrate.Cell, past []wearrate.Run) wearrate.Rates {
	t.Helper()
	out, err := r.Relearn(at, of(at, past), nil)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestRelearnOfTheSameCampaignsChangesNothing(t *testing.T) {
	past, _ := hotStrip.simulate(2)
	rates := learn(t, past)
	for _, c := range rates.Cells {
		if again := relearn(t, rates, c.Cell, past); !reflect.DeepEqual(rates, again) {
			t.Errorf("%v: got %+v, want %+v", c.Cell, again.Cells, rates.Cells)
		}
	}
}

func TestRelearnAfterARegrindIsCloseToLearningAllAgain(t *testing.T) {
	past, future := hotStrip.simulate(2)
	rates := learn(t, past)
	for _, next := range future {
		more := append(slices.Clone(past), next.Run)
		quick, full := relearn(t, rates, next.Cell, more), learn(t, more)
		for i := range full.Rolls {
			a, b := quick.Rolls[i], full.Rolls[i]
			if a.Roll != b.Roll || a.Campaigns != b.Campaigns || math.Abs(a.RateUMPerKM-b.RateUMPerKM) > 0.1*b.RateSD {
				t.Fatalf("after %+v: %+v, learned anew %+v", next.Run, a, b)
			}
		}
	}
}

func TestRelearnAddsAndRemovesCells(t *testing.T) {
	past, _ := hotStrip.simulate(4)
	all := learn(t, past)
	var rates wearrate.Rates
	rates.Defaults = all.Defaults
	for _, c := range []int{4, 1, 5, 0, 2, 3} { // any order
		rates = relearn(t, rates, all.Cells[c].Cell, past)
	}
	for i, c := range rates.Cells {
		if c.Cell != all.Cells[i].Cell || c.Campaigns != all.Cells[i].Campaigns {
			t.Errorf("cell %d is %+v, want %+v", i, c, all.Cells[i])
		}
	}
	// A grade with one cell only is learned in full, the fall-back with it.
	lone := of(all.Cells[0].Cell, past)
	if got, want := relearn(t, wearrate.Rates{Defaults: all.Defaults}, lone[0].Cell, lone), learn(t, lone); !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	for _, c := range all.Cells {
		rates = relearn(t, rates, c.Cell, nil)
	}
	if len(rates.Cells)+len(rates.Rolls)+len(rates.Grades) != 0 {
		t.Errorf("left over: %+v", rates)
	}
	if _, err := all.Relearn(all.Cells[0].Cell, past, nil); refusal.FieldsOf(err) == nil {
		t.Errorf("campaigns of other cells were taken: %v", err)
	}
}
