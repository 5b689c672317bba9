package changeplan_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/changeplan"
)

func drawn(t *rapid.T) changeplan.Problem {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
	if rapid.Bool().Draw(t, "large") {
		return train(r, 1+r.IntN(6), 20+r.IntN(100))
	}
	return small(r)
}

// planned is the cost, or skips the draw when there is no plan.
func planned(t *rapid.T, p changeplan.Problem) float64 {
	r, err := changeplan.Plan(p, changeplan.Options{})
	if err != nil {
		t.Fatalf("%+v: %v", p, err)
	}
	if len(r.Infeasible) > 0 {
		t.SkipNow()
	}
	if !r.Optimal {
		t.Fatalf("%+v: not proved", p)
	}
	return r.Cost
}

func notAbove(t *rapid.T, what string, p changeplan.Problem, after, before float64) {
	if after > before+1e-9*max(1, before) {
		t.Errorf("%s raised the cost from %v to %v: %+v", what, before, after, p)
	}
}

// Every one of these leaves each plan possible and no dearer.
func TestRelaxingNeverCosts(t *testing.T) {
	for name, relax := range map[string]func(*rapid.T, *changeplan.Problem){
		// With a charge for unused life a looser limit leaves more unused, so
		// that charge is off here.
		"a looser limit": func(t *rapid.T, p *changeplan.Problem) {
			s := &p.Stands[rapid.IntRange(0, len(p.Stands)-1).Draw(t, "stand")]
			s.Limit += rapid.Int64Range(0, s.Limit/2+1).Draw(t, "more")
		},
		"a looser criterion": func(t *rapid.T, p *changeplan.Problem) { p.Stands[0].Also = nil },
		"a planned stop": func(t *rapid.T, p *changeplan.Problem) {
			p.PlannedStops = append(slices.Clone(p.PlannedStops), rapid.IntRange(0, p.Pieces-1).Draw(t, "stop"))
		},
		"fewer demands":      func(t *rapid.T, p *changeplan.Problem) { p.Stands[0].MustChange = nil },
		"one stand less":     func(t *rapid.T, p *changeplan.Problem) { p.Stands = p.Stands[:max(1, len(p.Stands)-1)] },
		"a cheaper stop":     func(t *rapid.T, p *changeplan.Problem) { p.StopCost *= 0.7 },
		"a cheaper change":   func(t *rapid.T, p *changeplan.Problem) { p.Stands[0].ChangeCost *= 0.7 },
		"one piece less":     func(t *rapid.T, p *changeplan.Problem) { shorten(p) },
		"a fresher start":    func(t *rapid.T, p *changeplan.Problem) { p.Stands[0].StartUsage /= 2 },
		"a less wearing mix": func(t *rapid.T, p *changeplan.Problem) { lighter(p) },
	} {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				p := drawn(t)
				p.PlannedStopCost = min(p.PlannedStopCost, p.StopCost*0.7)
				p.Stands = slices.Clone(p.Stands)
				for i := range p.Stands {
					p.Stands[i].UnusedCostPerUnit = 0
				}
				before := planned(t, p)
				relax(t, &p)
				notAbove(t, name, p, planned(t, p), before)
			})
		})
	}
}

// shorten drops the last piece: the plan without a stop before it remains. That
// stop may have saved more at the end than it cost, so that charge goes too.
func shorten(p *changeplan.Problem) {
	if p.Pieces == 1 {
		return
	}
	p.Pieces--
	in := func(j int) bool { return j >= p.Pieces }
	p.PlannedStops = slices.DeleteFunc(slices.Clone(p.PlannedStops), in)
	for i := range p.Stands {
		s := &p.Stands[i]
		s.EndCostPerUnit = 0
		s.Usage = s.Usage[:p.Pieces]
		if s.Reach != nil {
			s.Reach = slices.Clone(s.Reach[:p.Pieces+1])
			for l := range s.Reach {
				s.Reach[l] = min(s.Reach[l], p.Pieces)
			}
		}
		s.MustChange = slices.DeleteFunc(slices.Clone(s.MustChange), in)
		s.Also = slices.Clone(s.Also)
		for c := range s.Also {
			s.Also[c].Usage = s.Also[c].Usage[:p.Pieces]
		}
	}
}

func lighter(p *changeplan.Problem) {
	s := &p.Stands[0]
	s.Usage = slices.Clone(s.Usage)
	for i := range s.Usage {
		s.Usage[i] = s.Usage[i] * 3 / 4
	}
}

// Costs scale, the order of the stands does not matter, and the parts add up.
func TestCostScalesAndAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t)
		before := planned(t, p)
		r, _ := changeplan.Plan(p, changeplan.Options{})
		if sum := r.StopsCost + r.ChangesCost + r.UnusedCost + r.EndCost; !near(sum, r.Cost) {
			t.Errorf("parts add up to %v, cost %v: %+v", sum, r.Cost, p)
		}
		f := rapid.Float64Range(0.01, 100).Draw(t, "factor")
		scaled := p
		scaled.StopCost *= f
		scaled.PlannedStopCost *= f
		scaled.Stands = slices.Clone(p.Stands)
		slices.Reverse(scaled.Stands)
		for i := range scaled.Stands {
			s := &scaled.Stands[i]
			s.ChangeCost *= f
			s.UnusedCostPerUnit *= f
			s.EndCostPerUnit *= f
		}
		if got := planned(t, scaled); !near(got, f*before) {
			t.Errorf("cost %v, times %v is %v: %+v", before, f, got, p)
		}
	})
}

// Three stands of a train, one planned stop before piece 4. F2 cannot wait for
// it, and fresh rolls put in before piece 2 would not finish either, so it is
// changed again in the planned stop, where the others join it.
func ExamplePlan() {
	r, err := changeplan.Plan(changeplan.Problem{
		Pieces: 8, StopCost: 12, PlannedStopCost: 1, PlannedStops: []int{4},
		Stands: []changeplan.Stand{
			{Name: "F1", Limit: 60_000, StartUsage: 20_000, ChangeCost: 2, Usage: []int64{9_000, 9_000, 9_000, 9_000, 9_000, 9_000, 9_000, 9_000}},
			{Name: "F2", Limit: 60_000, StartUsage: 35_000, ChangeCost: 2, Usage: []int64{11_000, 11_000, 11_000, 11_000, 11_000, 11_000, 11_000, 11_000}},
			{Name: "F3", Limit: 90_000, StartUsage: 30_000, ChangeCost: 2, Usage: []int64{14_000, 14_000, 14_000, 14_000, 14_000, 14_000, 14_000, 14_000}},
		},
	}, changeplan.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("cost %g min, proved %v\n", r.Cost, r.Optimal)
	for _, s := range r.Stops {
		fmt.Printf("before piece %d: %v\n", s.BeforePiece, s.Stands())
	}
	// Output:
	// cost 21 min, proved true
	// before piece 2: [F2]
	// before piece 4: [F1 F2 F3]
}
