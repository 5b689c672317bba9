package changeplan_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"barrelbook/domain/changeplan"
)

// Two planned stops cost the same and the set lasts past both: it comes out at
// the later, and does not come out before piece 30 with half its life unused.
func TestOfEqualPlannedStopsTheLatest(t *testing.T) {
	usage := make([]int64, 90)
	for i := range usage {
		usage[i] = 6700
	}
	for name, c := range map[string]struct {
		stops   []int
		planned float64
		want    int
	}{
		"both in reach":          {[]int{30, 60}, 30, 60},
		"the second out of it":   {[]int{30, 84}, 30, 30},
		"each stop costs alike":  {[]int{30, 60}, 300, 83},
		"no planned stop at all": {nil, 30, 83},
	} {
		p := changeplan.Problem{Pieces: 90, StopCost: 300, PlannedStopCost: c.planned, PlannedStops: c.stops,
			Stands: []changeplan.Stand{{Name: "C1", Limit: 560_000, ChangeCost: 220, Usage: usage}}}
		r, err := changeplan.Plan(p, changeplan.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Stops) != 1 || r.Stops[0].BeforePiece != c.want {
			t.Errorf("%s: %+v, want one stop before piece %d", name, r.Stops, c.want)
		}
	}
}

// No stop of a plan can be moved later, with all its changes, without passing a
// limit or costing more.
func TestNoStopCanWaitAtTheSameCost(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 3))
	tried := 0
	for i := range 400 {
		p := small(r)
		if i%2 == 0 {
			p.PlannedStopCost = p.StopCost // the case with most plans of equal cost
		}
		got, err := changeplan.Plan(p, changeplan.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for n, s := range got.Stops {
			next := p.Pieces
			if n+1 < len(got.Stops) {
				next = got.Stops[n+1].BeforePiece
			}
			for j := s.BeforePiece + 1; j < next; j++ {
				moved := slices.Clone(got.Stops)
				moved[n].BeforePiece = j
				tried++
				if lasts(p, moved) && price(p, moved) <= got.Cost {
					t.Fatalf("instance %d %+v: the stop before piece %d could wait until %d at the same cost: %+v", i, p, s.BeforePiece, j, got.Stops)
				}
			}
		}
	}
	if tried < 400 {
		t.Fatalf("only %d moves were there to try", tried)
	}
}

// lasts says whether no limit is passed and no demanded change left out.
func lasts(p changeplan.Problem, stops []changeplan.Stop) bool {
	for _, s := range p.Stands {
		last := -1
		for j := range p.Pieces {
			if slices.ContainsFunc(stops, func(st changeplan.Stop) bool { return st.BeforePiece == j && slices.Contains(st.Stands(), s.Name) }) {
				last = j
			} else if slices.Contains(s.MustChange, j) {
				return false
			}
			if usage(s.StartUsage, s.Usage, last, j+1) > s.Limit {
				return false
			}
			for _, c := range s.Also {
				if usage(c.StartUsage, c.Usage, last, j+1) > c.Limit {
					return false
				}
			}
		}
	}
	return true
}
