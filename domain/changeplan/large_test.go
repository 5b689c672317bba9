package changeplan_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"barrelbook/domain/changeplan"
)

// train draws a finishing train: usage in metres rolled at the stand's exit,
// 500–1600 m a piece growing from the first stand to the last, limits of
// 30–120 km that differ by stand, rolls part worn at the start, planned stops
// every 55–75 pieces. Costs are minutes: a stop 6–14, joining a planned one
// less, each stand 1–3, unused and end life about what a regrind is worth.
func train(r *rand.Rand, stands, pieces int) changeplan.Problem {
	p := changeplan.Problem{Pieces: pieces, StopCost: 6 + 8*r.Float64(), PlannedStopCost: 2 * r.Float64()}
	for j := 55 + r.IntN(20); j < pieces; j += 55 + r.IntN(20) {
		p.PlannedStops = append(p.PlannedStops, j)
	}
	length := draw(r, pieces, 300)
	for i := range stands {
		s := changeplan.Stand{Name: fmt.Sprintf("F%d", i+1), Limit: 30_000 + r.Int64N(90_001),
			ChangeCost: 1 + 2*r.Float64(), UnusedCostPerUnit: 1e-4 * r.Float64(), EndCostPerUnit: 5e-5 * r.Float64()}
		s.StartUsage = r.Int64N(s.Limit)
		for _, l := range length {
			s.Usage = append(s.Usage, 500+l+int64(i)*800/int64(max(stands-1, 1)))
		}
		p.Stands = append(p.Stands, s)
	}
	return p
}

// dear makes the changes themselves cost more than the stops, which leaves
// many plans close together: the hard kind.
func dear(p changeplan.Problem) changeplan.Problem {
	p.StopCost, p.PlannedStopCost = 3, 0.3
	for i := range p.Stands {
		s := &p.Stands[i]
		s.Limit = 20_000 + s.Limit/3 // 30–60 km
		s.StartUsage = min(s.StartUsage, s.Limit)
		s.ChangeCost *= 5
	}
	return p
}

// latest stops when a stand is forced and changes with it every stand that has
// done at least the given part of its limit: 1 is each stand as late as it
// can, 0 is all together, between is what a careful planner does by hand.
func latest(p changeplan.Problem, part float64) []changeplan.Stop {
	last := make([]int, len(p.Stands))
	for i := range last {
		last[i] = -1
	}
	var stops []changeplan.Stop
	for j := range p.Pieces {
		forced := make([]bool, len(p.Stands))
		for i, s := range p.Stands {
			forced[i] = usage(s.StartUsage, s.Usage, last[i], j+1) > s.Limit
		}
		if !slices.Contains(forced, true) {
			continue
		}
		stop := changeplan.Stop{BeforePiece: j}
		for i, s := range p.Stands {
			if forced[i] || float64(usage(s.StartUsage, s.Usage, last[i], j)) >= part*float64(s.Limit) {
				stop.Changes = append(stop.Changes, changeplan.Change{Stand: s.Name})
				last[i] = j
			}
		}
		stops = append(stops, stop)
	}
	return stops
}

// careful is the best of latest over the parts 0.05 to 0.95.
func careful(p changeplan.Problem) []changeplan.Stop {
	var best []changeplan.Stop
	least := math.Inf(1)
	for i := 1; i < 20; i++ {
		stops := latest(p, float64(i)/20)
		if c := price(p, stops); c < least {
			best, least = stops, c
		}
	}
	return best
}

// apart plans every stand for itself, exactly, and lays the plans together.
func apart(t *testing.T, p changeplan.Problem) []changeplan.Stop {
	at := map[int]*changeplan.Stop{}
	for _, s := range p.Stands {
		one := p
		one.Stands = []changeplan.Stand{s}
		r, err := changeplan.Plan(one, changeplan.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, st := range r.Stops {
			if at[st.BeforePiece] == nil {
				at[st.BeforePiece] = &changeplan.Stop{BeforePiece: st.BeforePiece}
			}
			at[st.BeforePiece].Changes = append(at[st.BeforePiece].Changes, st.Changes...)
		}
	}
	var stops []changeplan.Stop
	for _, st := range at {
		stops = append(stops, *st)
	}
	return stops
}

func TestNeverWorseThanSimplerMethods(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 300))
	better := map[string]float64{}
	const draws = 24
	for i := range draws {
		p := train(r, 2+r.IntN(6), 40+r.IntN(261))
		if i%6 == 5 {
			p = dear(p)
		}
		got, err := changeplan.Plan(p, changeplan.Options{MaxLabels: 300_000})
		if err != nil {
			t.Fatal(err)
		}
		if again := price(p, got.Stops); !near(got.Cost, again) {
			t.Fatalf("draw %d %+v: cost %v, priced anew %v", i, p, got.Cost, again)
		}
		if got.Optimal != (got.Gap == 0) || got.LowerBound > got.Cost {
			t.Errorf("draw %d: optimal %v with gap %v, bound %v, cost %v", i, got.Optimal, got.Gap, got.LowerBound, got.Cost)
		}
		for name, stops := range map[string][]changeplan.Stop{
			"latest": latest(p, 1), "together": latest(p, 0), "careful": careful(p), "apart": apart(t, p),
		} {
			other := price(p, stops)
			if math.IsInf(other, 1) {
				t.Fatalf("draw %d: the comparison %q passes a limit", i, name)
			}
			if got.Cost > other*(1+1e-9) {
				t.Errorf("draw %d %+v: cost %v, %s costs %v", i, p, got.Cost, name, other)
			}
			better[name] += (other/got.Cost - 1) / draws
		}
	}
	for name, by := range better {
		t.Logf("%s costs %.1f %% more on average", name, 100*by)
		if by < 0.01 {
			t.Errorf("%s is hardly ever beaten (%.3f): the draw tests nothing", name, by)
		}
	}
}

// With too few labels the plan still keeps the limits, the bound still lies
// below the true cost, and the gap says so.
func TestGapWhenLabelsRunOut(t *testing.T) {
	p := dear(train(rand.New(rand.NewPCG(1, 1)), 7, 300))
	full, err := changeplan.Plan(p, changeplan.Options{})
	if err != nil || !full.Optimal {
		t.Fatalf("want a proof to compare with, got %+v, %v", full, err)
	}
	for _, labels := range []int{1, 100, 2000} {
		got, err := changeplan.Plan(p, changeplan.Options{MaxLabels: labels})
		if err != nil {
			t.Fatal(err)
		}
		if got.Optimal || got.Gap <= 0 || got.Gap > 0.25 {
			t.Errorf("%d labels: want no proof and a gap below a quarter, got optimal %v, gap %v", labels, got.Optimal, got.Gap)
		}
		if got.LowerBound > full.Cost*(1+1e-9) || got.Cost < full.Cost*(1-1e-9) {
			t.Errorf("%d labels: optimum %v lies outside [%v, %v]", labels, full.Cost, got.LowerBound, got.Cost)
		}
		if again := price(p, got.Stops); !near(again, got.Cost) {
			t.Errorf("%d labels: cost %v, priced anew %v", labels, got.Cost, again)
		}
	}
}
