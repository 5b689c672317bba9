package changeplan

import (
	"cmp"
	"fmt"
	"slices"

	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// GrindJob is a set that has to be ground and built before it is due. Minutes
// count from the caller's zero.
type GrindJob struct {
	ID string
	// ReadyMin is when grinding may begin: the rolls are back and cool enough.
	ReadyMin float64
	// GrindMin is the time on the grinder, set-up and measuring included.
	GrindMin float64
	// AssemblyMin is what follows before the set can go out; it occupies no grinder.
	AssemblyMin float64
	// DueMin is when the set has to be beside the mill.
	DueMin float64
}

// latestFinish is when the job has to leave the grinder to be on time.
func (j GrindJob) latestFinish() float64 { return j.DueMin - j.AssemblyMin }

// Grinder takes one job at a time; all of them take the same time for it.
type Grinder struct {
	ID string
	// FreeMin is when it can begin.
	FreeMin float64
}

// QueueOptions bound the work of Queue.
type QueueOptions struct {
	// MaxNodes is the number of partial queues that the proof may look at.
	// Defaults to 200,000, at most 2,000,000.
	MaxNodes int
	// Stop ends the work early. Defaults to never.
	Stop stop.Check
}

// Grind is one job in the queue.
type Grind struct {
	Job, Grinder        string
	StartMin, FinishMin float64
	// SetReadyMin is FinishMin and the assembly.
	SetReadyMin float64
	// LatenessMin is SetReadyMin less due: negative is time in hand.
	LatenessMin float64
	// StartByMin is the latest start with which, in this order, this job and
	// those behind it on its grinder stay on time, or where they are late
	// already, become no later.
	StartByMin float64
}

// Schedule is a queue for the grinders.
type Schedule struct {
	// Grinds are in the order in which they start. The first is what to grind
	// next, by its StartByMin.
	Grinds []Grind
	// MaxLatenessMin is the greatest lateness (negative when all are early),
	// TotalLateMin the sum of the positive ones.
	MaxLatenessMin, TotalLateMin float64
	// Proved says that no order has a smaller greatest lateness, nor with the
	// same greatest one a smaller total.
	Proved bool
	Nodes  int
}

// Queue orders the jobs so that the greatest lateness is least and, with that
// kept, the total of the late minutes: a set that is late stops one stand, a
// set that is very late stops the mill.
//
// Starts from the rule "earliest due first among those that are cool", moves
// single jobs while that helps, then proves or improves it by branch and
// bound (queue_search.go) within QueueOptions.MaxNodes. Times compare to a
// millionth of a minute.
//
// Refuses jobs or grinders named twice, jobs without a grinder, and times that
// are not finite, beyond 1e9 minutes, or with nothing to grind. Tested equal
// to trying every order (grinders_test.go).
func Queue(jobs []GrindJob, grinders []Grinder, o QueueOptions) (Schedule, error) {
	if err := checkQueue(jobs, grinders, o); err != nil {
		return Schedule{}, err
	}
	if len(jobs) == 0 {
		return Schedule{Proved: true}, nil
	}
	q := newQueue(jobs, grinders)
	q.watch = stop.Watch{Check: o.Stop, Every: 32}
	q.improve(q.earliestDue())
	q.prove(cmp.Or(o.MaxNodes, 200_000))
	if err := q.watch.Err(); err != nil {
		return Schedule{}, err
	}
	return q.schedule(), nil
}

// schedule lays out the best order and runs back along each grinder for the
// latest starts.
func (q *queue) schedule() Schedule {
	s := Schedule{MaxLatenessMin: q.best.most, TotalLateMin: q.best.total, Proved: !q.stopped, Nodes: q.nodes}
	free := q.freeAt()
	by := make([]int, 0, len(q.jobs))
	for _, j := range q.order {
		job, g := q.jobs[j], soonest(free)
		start := max(job.ReadyMin, free[g])
		free[g] = start + job.GrindMin
		ready := free[g] + job.AssemblyMin
		s.Grinds = append(s.Grinds, Grind{Job: job.ID, Grinder: q.grinders[g].ID, StartMin: start, FinishMin: free[g],
			SetReadyMin: ready, LatenessMin: ready - job.DueMin})
		by = append(by, g)
	}
	limit := make([]float64, len(free))
	for g := range limit {
		limit[g] = inf
	}
	for i := len(s.Grinds) - 1; i >= 0; i-- {
		job := q.jobs[q.order[i]]
		finish := min(limit[by[i]], max(job.latestFinish(), s.Grinds[i].FinishMin))
		// Rounding must not put the limit before the planned start.
		limit[by[i]] = max(finish-job.GrindMin, s.Grinds[i].StartMin)
		s.Grinds[i].StartByMin = limit[by[i]]
	}
	slices.SortStableFunc(s.Grinds, func(a, b Grind) int { return cmp.Compare(a.StartMin, b.StartMin) })
	return s
}

func checkQueue(jobs []GrindJob, grinders []Grinder, o QueueOptions) error {
	const far, long = 1e9, 1e6
	var c refusal.Check
	seen := map[string]bool{}
	once := func(path, id string) {
		if id == "" {
			c.Add(path, "", "must not be empty", "")
		} else if seen[id] {
			c.Add(path, id, "is named twice", "name each once")
		}
		seen[id] = true
	}
	for i, j := range jobs {
		at := fmt.Sprintf("jobs/%d", i)
		once(at+"/id", j.ID)
		c.Within(at+"/ready_min", j.ReadyMin, -far, far)
		c.Within(at+"/due_min", j.DueMin, -far, far)
		c.Within(at+"/assembly_min", j.AssemblyMin, 0, long)
		if c.Positive(at+"/grind_min", j.GrindMin) {
			c.Within(at+"/grind_min", j.GrindMin, 0, long)
		}
	}
	clear(seen)
	for i, g := range grinders {
		at := fmt.Sprintf("grinders/%d", i)
		once(at+"/id", g.ID)
		c.Within(at+"/free_min", g.FreeMin, -far, far)
	}
	if len(grinders) == 0 && len(jobs) > 0 {
		c.Add("grinders", "", "must name at least one grinder", "")
	}
	c.Within("max_nodes", float64(o.MaxNodes), 0, 2e6)
	return c.Err()
}
