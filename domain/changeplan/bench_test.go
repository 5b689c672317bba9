package changeplan_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"barrelbook/domain/changeplan"
)

func BenchmarkPlan(b *testing.B) {
	for _, k := range []int{120, 300} {
		for seed := range uint64(3) {
			p := train(rand.New(rand.NewPCG(seed, 1)), 7, k)
			b.Run(fmt.Sprintf("stands=7/pieces=%d/draw=%d", k, seed), func(b *testing.B) { benchPlan(b, p) })
			b.Run(fmt.Sprintf("stands=7/pieces=%d/dear=%d", k, seed), func(b *testing.B) { benchPlan(b, dear(p)) })
		}
	}
}

func benchPlan(b *testing.B, p changeplan.Problem) {
	var res changeplan.Result
	for b.Loop() {
		res, _ = changeplan.Plan(p, changeplan.Options{})
	}
	b.ReportMetric(float64(res.Labels), "labels")
	b.ReportMetric(100*res.Gap, "gap_pct")
}

// The baseline: dynamic programming over the tuples of last changes with every
// subset of stands at every boundary, equal tuples merged and nothing else.
// It grows too fast for 7 × 120, so both run on sizes it can still do.
func BenchmarkPlanBesidePlainDP(b *testing.B) {
	for _, size := range [][2]int{{2, 120}, {3, 60}, {4, 30}} {
		p := train(rand.New(rand.NewPCG(1, 1)), size[0], size[1])
		for i := range p.Stands {
			p.Stands[i].Limit /= 3
			p.Stands[i].StartUsage /= 3
		}
		b.Run(fmt.Sprintf("labels/%d×%d", size[0], size[1]), func(b *testing.B) { benchPlan(b, p) })
		b.Run(fmt.Sprintf("plain/%d×%d", size[0], size[1]), func(b *testing.B) {
			cost := 0.0
			for b.Loop() {
				cost = plain(p)
			}
			if got, _ := changeplan.Plan(p, changeplan.Options{}); !near(got.Cost, cost) {
				b.Fatalf("plain %v, labels %v", cost, got.Cost)
			}
		})
	}
}

// plain keeps, for each tuple of usages, the least cost so far.
func plain(p changeplan.Problem) float64 {
	n := len(p.Stands)
	here := map[string]float64{}
	start := make([]int64, n)
	for i, s := range p.Stands {
		start[i] = s.StartUsage
	}
	here[pack(start)] = 0
	for j := range p.Pieces {
		stop := p.StopCost
		for _, planned := range p.PlannedStops {
			if planned == j {
				stop = p.PlannedStopCost
			}
		}
		next := map[string]float64{}
		for key, cost := range here {
			for set := range 1 << n {
				plainStep(p, j, unpack(key, n), set, cost, stop, next)
			}
		}
		here = next
	}
	best := math.Inf(1)
	for key, cost := range here {
		for i, u := range unpack(key, n) {
			cost += p.Stands[i].EndCostPerUnit * float64(u)
		}
		best = min(best, cost)
	}
	return best
}

func plainStep(p changeplan.Problem, j int, used []int64, set int, cost, stop float64, next map[string]float64) {
	if set != 0 {
		cost += stop
	}
	for i, s := range p.Stands {
		if set>>i&1 == 1 {
			cost += s.ChangeCost + float64(s.Limit-used[i])*s.UnusedCostPerUnit
			used[i] = 0
		}
		if used[i] += s.Usage[j]; used[i] > s.Limit {
			return
		}
	}
	key := pack(used)
	if old, ok := next[key]; !ok || cost < old {
		next[key] = cost
	}
}

func pack(v []int64) string {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint64(b, uint64(x))
	}
	return string(b)
}

func unpack(key string, n int) []int64 {
	v := make([]int64, n)
	for i := range v {
		v[i] = int64(binary.LittleEndian.Uint64([]byte(key[8*i:])))
	}
	return v
}
