package changeplan_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/changeplan"
	"barrelbook/domain/refusal"
)

// yard draws jobs of a shift: cool at 0–8 h, 30–150 min on the grinder, due
// around the time in which the grinders can just about do them.
func yard(r *rand.Rand, jobs, grinders int) (j []changeplan.GrindJob, g []changeplan.Grinder) {
	for i := range grinders {
		g = append(g, changeplan.Grinder{ID: fmt.Sprintf("grinder %d", i), FreeMin: math.Floor(90 * r.Float64())})
	}
	for i := range jobs {
		ready := math.Floor(480 * r.Float64())
		j = append(j, changeplan.GrindJob{ID: fmt.Sprintf("set %d", i), ReadyMin: ready, GrindMin: 30 + math.Floor(120*r.Float64()),
			AssemblyMin: math.Floor(60 * r.Float64()), DueMin: ready + 60 + math.Floor(500*r.Float64())})
	}
	return j, g
}

// everyOrder tries each job next on each grinder, whichever is free.
func everyOrder(jobs []changeplan.GrindJob, grinders []changeplan.Grinder) (most, total float64) {
	most, total = math.Inf(1), math.Inf(1)
	free := make([]float64, len(grinders))
	for i, g := range grinders {
		free[i] = g.FreeMin
	}
	used := make([]bool, len(jobs))
	var try func(n int, m, t float64)
	try = func(n int, m, t float64) {
		if n == len(jobs) {
			if m < most-1e-9 || m < most+1e-9 && t < total {
				most, total = m, t
			}
			return
		}
		for j, job := range jobs {
			if used[j] {
				continue
			}
			used[j] = true
			for g, was := range free {
				free[g] = max(was, job.ReadyMin) + job.GrindMin
				late := free[g] + job.AssemblyMin - job.DueMin
				try(n+1, max(m, late), t+max(0, late))
				free[g] = was
			}
			used[j] = false
		}
	}
	try(0, math.Inf(-1), 0)
	return most, total
}

func TestQueueEqualToEveryOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 40))
	late := 0
	for i := range 300 {
		m := 1 + r.IntN(3)
		jobs, grinders := yard(r, 1+r.IntN(7-m), m)
		s, err := changeplan.Queue(jobs, grinders, changeplan.QueueOptions{})
		if err != nil {
			t.Fatal(err)
		}
		most, total := everyOrder(jobs, grinders)
		if !s.Proved || math.Abs(s.MaxLatenessMin-most) > 1e-6 || math.Abs(s.TotalLateMin-total) > 1e-6 {
			t.Fatalf("case %d: proved %v, greatest %v total %v; every order gives %v and %v\n%+v\n%+v", i, s.Proved, s.MaxLatenessMin, s.TotalLateMin, most, total, jobs, grinders)
		}
		if total > 0 {
			late++
		}
	}
	if late < 60 || late > 270 {
		t.Fatalf("draw too narrow: %d of 300 late", late)
	}
}

// A queue, however long and whether proved or not, holds together: each job
// once, none before it is cool or its grinder free, figures that agree, and
// latest starts that delay nobody beyond what the queue says.
func TestQueueHoldsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		jobs, grinders := yard(r, rapid.IntRange(1, 25).Draw(t, "jobs"), rapid.IntRange(1, 4).Draw(t, "grinders"))
		s, err := changeplan.Queue(jobs, grinders, changeplan.QueueOptions{MaxNodes: 300})
		if err != nil {
			t.Fatal(err)
		}
		checkQueue(t, jobs, grinders, s)
		// One grinder more never makes the proved greatest lateness worse.
		more, err := changeplan.Queue(jobs, append(grinders, changeplan.Grinder{ID: "spare"}), changeplan.QueueOptions{MaxNodes: 300})
		if err != nil {
			t.Fatal(err)
		}
		if s.Proved && more.Proved && more.MaxLatenessMin > s.MaxLatenessMin+1e-6 {
			t.Errorf("a spare grinder raised the lateness from %v to %v: %+v", s.MaxLatenessMin, more.MaxLatenessMin, jobs)
		}
	})
}

func checkQueue(t *rapid.T, jobs []changeplan.GrindJob, grinders []changeplan.Grinder, s changeplan.Schedule) {
	free, delayed := map[string]float64{}, map[string]float64{}
	for _, g := range grinders {
		free[g.ID], delayed[g.ID] = g.FreeMin, g.FreeMin
	}
	most, total, seen := math.Inf(-1), 0.0, map[string]bool{}
	for i, g := range s.Grinds {
		k := slices.IndexFunc(jobs, func(j changeplan.GrindJob) bool { return j.ID == g.Job })
		job := jobs[k]
		if seen[g.Job] || g.StartMin < job.ReadyMin || g.StartMin < free[g.Grinder] || !near(g.FinishMin, g.StartMin+job.GrindMin) ||
			i > 0 && g.StartMin < s.Grinds[i-1].StartMin {
			t.Fatalf("grind %d %+v of %+v is out of place", i, g, job)
		}
		seen[g.Job], free[g.Grinder] = true, g.FinishMin
		if !near(g.SetReadyMin, g.FinishMin+job.AssemblyMin) || !near(g.LatenessMin, g.SetReadyMin-job.DueMin) {
			t.Fatalf("grind %d %+v: figures disagree with %+v", i, g, job)
		}
		most, total = max(most, g.LatenessMin), total+max(0, g.LatenessMin)
		// Start everything as late as allowed.
		if g.StartByMin < g.StartMin || g.StartByMin < delayed[g.Grinder]-1e-6 {
			t.Fatalf("grind %d %+v: latest start lies before the planned one or the grinder's last job", i, g)
		}
		delayed[g.Grinder] = g.StartByMin + job.GrindMin
		if late := delayed[g.Grinder] + job.AssemblyMin - job.DueMin; late > max(0, g.LatenessMin)+1e-6 {
			t.Fatalf("grind %d %+v: started at its latest it is %v late", i, g, late)
		}
	}
	if len(s.Grinds) != len(jobs) || math.Abs(most-s.MaxLatenessMin) > 1e-6 || math.Abs(total-s.TotalLateMin) > 1e-6 {
		t.Fatalf("greatest %v, total %v; the grinds give %v and %v", s.MaxLatenessMin, s.TotalLateMin, most, total)
	}
}

func TestQueueOfNothing(t *testing.T) {
	s, err := changeplan.Queue(nil, nil, changeplan.QueueOptions{})
	if err != nil || !s.Proved || len(s.Grinds) != 0 {
		t.Errorf("got %+v, %v", s, err)
	}
}

// Without nodes to prove it the queue says so, and still is a queue.
func TestQueueUnproved(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	unproved := 0
	for range 40 {
		jobs, grinders := yard(r, 14, 2)
		s, err := changeplan.Queue(jobs, grinders, changeplan.QueueOptions{MaxNodes: 5})
		if err != nil {
			t.Fatal(err)
		}
		full, err := changeplan.Queue(jobs, grinders, changeplan.QueueOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if !s.Proved {
			unproved++
		} else if math.Abs(s.MaxLatenessMin-full.MaxLatenessMin) > 1e-6 || math.Abs(s.TotalLateMin-full.TotalLateMin) > 1e-6 {
			t.Errorf("called proved at %v, %v but %v, %v is possible: %+v", s.MaxLatenessMin, s.TotalLateMin, full.MaxLatenessMin, full.TotalLateMin, jobs)
		}
	}
	if unproved == 0 {
		t.Error("five nodes proved everything: the draw tests nothing")
	}
}

func TestQueueRefuses(t *testing.T) {
	job := changeplan.GrindJob{ID: "7", GrindMin: 60, DueMin: 100}
	g := []changeplan.Grinder{{ID: "A"}}
	spoilt := func(f func(*changeplan.GrindJob)) []changeplan.GrindJob {
		j := job
		f(&j)
		return []changeplan.GrindJob{j}
	}
	for path, c := range map[string]struct {
		jobs     []changeplan.GrindJob
		grinders []changeplan.Grinder
		nodes    int
	}{
		"jobs/1/id":           {[]changeplan.GrindJob{job, job}, g, 0},
		"jobs/0/id":           {spoilt(func(j *changeplan.GrindJob) { j.ID = "" }), g, 0},
		"jobs/0/grind_min":    {spoilt(func(j *changeplan.GrindJob) { j.GrindMin = 0 }), g, 0},
		"jobs/0/ready_min":    {spoilt(func(j *changeplan.GrindJob) { j.ReadyMin = math.NaN() }), g, 0},
		"jobs/0/due_min":      {spoilt(func(j *changeplan.GrindJob) { j.DueMin = math.Inf(1) }), g, 0},
		"jobs/0/assembly_min": {spoilt(func(j *changeplan.GrindJob) { j.AssemblyMin = -1 }), g, 0},
		"grinders":            {[]changeplan.GrindJob{job}, nil, 0},
		"grinders/1/id":       {[]changeplan.GrindJob{job}, []changeplan.Grinder{{ID: "A"}, {ID: "A"}}, 0},
		"grinders/0/free_min": {[]changeplan.GrindJob{job}, []changeplan.Grinder{{ID: "A", FreeMin: math.NaN()}}, 0},
		"max_nodes":           {[]changeplan.GrindJob{job}, g, -1},
	} {
		_, err := changeplan.Queue(c.jobs, c.grinders, changeplan.QueueOptions{MaxNodes: c.nodes})
		if f := refusal.FieldsOf(err); len(f) != 1 || f[0].Path != path {
			t.Errorf("want a refusal of %s, got %v", path, err)
		}
	}
}

// Two grinders, four sets. The set due first is still warm; grinding the long
// one meanwhile on the only free grinder would make it late.
func ExampleQueue() {
	s, err := changeplan.Queue([]changeplan.GrindJob{
		{ID: "F1 set 3", ReadyMin: 0, GrindMin: 120, AssemblyMin: 30, DueMin: 480},
		{ID: "F2 set 5", ReadyMin: 30, GrindMin: 60, AssemblyMin: 30, DueMin: 130},
		{ID: "F5 set 2", ReadyMin: 0, GrindMin: 45, AssemblyMin: 30, DueMin: 240},
		{ID: "F6 set 9", ReadyMin: 60, GrindMin: 50, AssemblyMin: 30, DueMin: 300},
	}, []changeplan.Grinder{{ID: "A"}, {ID: "B", FreeMin: 90}}, changeplan.QueueOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, g := range s.Grinds {
		fmt.Printf("%s on %s from %g to %g, start by %g, lateness %g\n", g.Job, g.Grinder, g.StartMin, g.FinishMin, g.StartByMin, g.LatenessMin)
	}
	fmt.Printf("greatest lateness %g, proved %v\n", s.MaxLatenessMin, s.Proved)
	// Output:
	// F2 set 5 on A from 30 to 90, start by 40, lateness -10
	// F5 set 2 on A from 90 to 135, start by 165, lateness -75
	// F6 set 9 on B from 90 to 140, start by 220, lateness -130
	// F1 set 3 on A from 135 to 255, start by 330, lateness -195
	// greatest lateness -10, proved true
}

func BenchmarkQueue(b *testing.B) {
	for _, n := range []int{8, 12, 16, 24, 60} {
		jobs, grinders := yard(rand.New(rand.NewPCG(4, uint64(n))), n, 2)
		b.Run(fmt.Sprintf("jobs=%d", n), func(b *testing.B) {
			var s changeplan.Schedule
			for b.Loop() {
				s, _ = changeplan.Queue(jobs, grinders, changeplan.QueueOptions{})
			}
			proved := 0.0
			if s.Proved {
				proved = 1
			}
			b.ReportMetric(proved, "proved")
			b.ReportMetric(float64(s.Nodes), "nodes")
		})
	}
}
