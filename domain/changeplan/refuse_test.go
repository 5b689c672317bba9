package changeplan_test

import (
	"math"
	"strings"
	"testing"

	"barrelbook/domain/changeplan"
	"barrelbook/domain/refusal"
)

func two() changeplan.Problem {
	return changeplan.Problem{Pieces: 3, StopCost: 10, PlannedStopCost: 2, PlannedStops: []int{1}, Stands: []changeplan.Stand{
		{Name: "F1", Limit: 10, StartUsage: 4, ChangeCost: 2, Usage: []int64{4, 4, 4}},
		{Name: "F2", Limit: 10, ChangeCost: 2, Usage: []int64{3, 3, 3}},
	}}
}

func TestBadInputIsNamed(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(*changeplan.Problem)
		path  string
		says  string
	}{
		"empty programme": {func(p *changeplan.Problem) {
			*p = changeplan.Problem{Stands: []changeplan.Stand{{Name: "F1", Limit: 1}}}
		}, "pieces", "at least 1"},
		"no stand":           {func(p *changeplan.Problem) { p.Stands = nil }, "stands", "at least one stand"},
		"stop beyond":        {func(p *changeplan.Problem) { p.PlannedStops = []int{1, 3} }, "planned_stops/1", "from 0 to 2"},
		"stop before":        {func(p *changeplan.Problem) { p.PlannedStops = []int{-1} }, "planned_stops/0", "from 0 to 2"},
		"stand twice":        {func(p *changeplan.Problem) { p.Stands[1].Name = "F1" }, "stands/1/name", "already the name of stands/0"},
		"stand unnamed":      {func(p *changeplan.Problem) { p.Stands[0].Name = "" }, "stands/0/name", "must not be empty"},
		"usage missing":      {func(p *changeplan.Problem) { p.Stands[0].Usage = nil }, "stands/0/usage", "each of the 3 pieces"},
		"usage negative":     {func(p *changeplan.Problem) { p.Stands[0].Usage[2] = -1 }, "stands/0/usage/2", "below 0"},
		"usage too large":    {func(p *changeplan.Problem) { p.Stands[0].Usage[2] = math.MaxInt64 }, "stands/0/usage/2", "beyond"},
		"limit negative":     {func(p *changeplan.Problem) { p.Stands[1].Limit = -5 }, "stands/1/limit", "below 0"},
		"limit too large":    {func(p *changeplan.Problem) { p.Stands[1].Limit = math.MaxInt64 }, "stands/1/limit", "exceed"},
		"start negative":     {func(p *changeplan.Problem) { p.Stands[1].StartUsage = -5 }, "stands/1/start_usage", "below 0"},
		"stop cost negative": {func(p *changeplan.Problem) { p.StopCost = -1 }, "stop_cost", "below 0"},
		"planned cost NaN":   {func(p *changeplan.Problem) { p.PlannedStopCost = math.NaN() }, "planned_stop_cost", "finite"},
		"change cost NaN":    {func(p *changeplan.Problem) { p.Stands[0].ChangeCost = math.NaN() }, "stands/0/change_cost", "finite"},
		"unused cost Inf":    {func(p *changeplan.Problem) { p.Stands[0].UnusedCostPerUnit = math.Inf(1) }, "stands/0/unused_cost_per_unit", "finite"},
		"end cost negative":  {func(p *changeplan.Problem) { p.Stands[0].EndCostPerUnit = -2 }, "stands/0/end_cost_per_unit", "below 0"},
		"costs overflow":     {func(p *changeplan.Problem) { p.StopCost = 1e308 }, "stands", "beyond the range"},
		"demanded beyond":    {func(p *changeplan.Problem) { p.Stands[0].MustChange = []int{7} }, "stands/0/must_change/0", "from 0 to 2"},
		"criterion missing":  {func(p *changeplan.Problem) { p.Stands[0].Also = []changeplan.Criterion{{Limit: 3}} }, "stands/0/also/0/usage", "each of the 3 pieces"},
	} {
		t.Run(name, func(t *testing.T) {
			p := two()
			c.spoil(&p)
			r, err := changeplan.Plan(p, changeplan.Options{})
			for _, f := range refusal.FieldsOf(err) {
				if f.Path == c.path && strings.Contains(f.String(), c.says) {
					if r.Stops != nil || r.Cost != 0 {
						t.Errorf("refused and yet planned: %+v", r)
					}
					return
				}
			}
			t.Errorf("want a refusal of %q that says %q, got %v", c.path, c.says, err)
		})
	}
	for _, n := range []int{-1, 5_000_001} {
		if _, err := changeplan.Plan(two(), changeplan.Options{MaxLabels: n}); len(refusal.FieldsOf(err)) != 1 {
			t.Errorf("max labels %d: want a refusal, got %v", n, err)
		}
	}
}

// A piece that no fresh set can roll is named for every stand and criterion.
func TestPieceBeyondTheLimitIsNamed(t *testing.T) {
	p := two()
	p.Stands[1].Usage[2] = 11
	p.Stands[0].Also = []changeplan.Criterion{{Name: "fatigue", Limit: 5, Usage: []int64{1, 6, 7}}}
	r, err := changeplan.Plan(p, changeplan.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []changeplan.Misfit{
		{Stand: "F1", Criterion: "fatigue", Piece: 1, Usage: 6, Limit: 5},
		{Stand: "F2", Piece: 2, Usage: 11, Limit: 10},
	}
	if len(r.Infeasible) != 2 || r.Infeasible[0] != want[0] || r.Infeasible[1] != want[1] {
		t.Errorf("got %+v, want %+v", r.Infeasible, want)
	}
	if r.Stops != nil || r.Optimal || r.Cost != 0 {
		t.Errorf("infeasible and yet planned: %+v", r)
	}
}

// Rolls that start beyond their limit leave before the first piece.
func TestStartBeyondTheLimit(t *testing.T) {
	p := two()
	p.Stands[0].StartUsage, p.Stands[0].UnusedCostPerUnit = 25, 1
	r, err := changeplan.Plan(p, changeplan.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.Stops) == 0 || r.Stops[0].BeforePiece != 0 {
		t.Fatalf("want a stop before piece 0, got %+v", r.Stops)
	}
	if c := r.Stops[0].Changes[0]; c.Stand != "F1" || c.Unused != 0 || c.Usage != 25 || !c.Forced || c.Cost != 2 {
		t.Errorf("got %+v", c)
	}
}
