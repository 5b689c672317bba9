package changeplan_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"barrelbook/domain/changeplan"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*max(1, math.Abs(a), math.Abs(b)) }

func TestEqualToExhaustiveSearch(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 2))
	var planned, impossible, ends, forcedOnly int
	for i := range 1000 {
		p := small(r)
		want := cheapest(p)
		got, err := changeplan.Plan(p, changeplan.Options{})
		if err != nil {
			t.Fatalf("instance %d %+v: %v", i, p, err)
		}
		if math.IsInf(want, 1) {
			impossible++
			if len(got.Infeasible) == 0 {
				t.Fatalf("instance %d %+v: no plan exists, got %+v", i, p, got)
			}
			continue
		}
		if len(got.Infeasible) > 0 || !got.Optimal || got.Gap != 0 {
			t.Fatalf("instance %d %+v: want a proved plan, got %+v", i, p, got)
		}
		if !near(got.Cost, want) {
			t.Fatalf("instance %d %+v: cost %v, exhaustive search %v, plan %+v", i, p, got.Cost, want, got)
		}
		if alone := changeplan.CostWithoutHeadStart(p); !near(alone, want) {
			t.Fatalf("instance %d %+v: without a plan to prune by %v, exhaustive search %v", i, p, alone, want)
		}
		untuned, tuned := changeplan.RootBound(p)
		if tuned > want+1e-9*max(1, want) || untuned > tuned+1e-9*max(1, want) {
			t.Fatalf("instance %d %+v: lower bound %v, tuned %v, optimum %v", i, p, untuned, tuned, want)
		}
		if again := price(p, got.Stops); !near(got.Cost, again) {
			t.Fatalf("instance %d %+v: cost %v, its stops priced anew %v: %+v", i, p, got.Cost, again, got.Stops)
		}
		unforced := 0
		for _, s := range got.Stops {
			if s.Planned {
				planned++
			}
			for _, c := range s.Changes {
				if !c.Forced {
					unforced++
				}
			}
		}
		if unforced == 0 {
			forcedOnly++
		}
		if got.EndCost > 0 {
			ends++
		}
	}
	// The draw has to reach what it is there for.
	if planned < 200 || impossible < 20 || ends < 200 || forcedOnly > 700 {
		t.Fatalf("draw too narrow: planned stops used %d, infeasible %d, with end costs %d, forced changes only %d", planned, impossible, ends, forcedOnly)
	}
	t.Logf("planned stops used %d, infeasible %d, with end costs %d, forced changes only %d", planned, impossible, ends, forcedOnly)
}
