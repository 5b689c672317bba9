package changeplan

import (
	"cmp"
	"slices"
)

// branch is the state of the search: which jobs are placed, and what partial
// queues of the same jobs have been seen.
type branch struct {
	placed uint64
	path   []int
	seen   map[uint64][]partial
	budget int
}

// partial is a queue of some of the jobs: when the grinders are free,
// ascending, and the score so far.
type partial struct {
	free  []float64
	score score
}

// mostExact is the number of jobs that a set of bits holds.
const mostExact = 64

// prove looks for a better order or shows that there is none. Longer queues
// than 64 jobs are proved only where the order meets the lower bound at once.
func (q *queue) prove(budget int) {
	free := q.freeAt()
	if !q.bound(free, nothing, make([]bool, len(q.jobs))).below(q.best) {
		return
	}
	if len(q.jobs) > mostExact {
		q.stopped = true
		return
	}
	q.branch = branch{seen: map[uint64][]partial{}, budget: budget}
	q.descend(free, nothing)
}

func (q *queue) descend(free []float64, s score) {
	b := &q.branch
	if len(b.path) == len(q.jobs) {
		if s.below(q.best) {
			q.best, q.order = s, slices.Clone(b.path)
		}
		return
	}
	if q.watch.Ended() || q.nodes >= b.budget {
		q.stopped = true
		return
	}
	q.nodes++
	if !q.bound(free, s, q.placedFlags()).below(q.best) || q.dominated(free, s) {
		return
	}
	g := soonest(free)
	for _, j := range q.nextJobs(free[g]) {
		before := free[g]
		free[g] = max(before, q.jobs[j].ReadyMin) + q.jobs[j].GrindMin
		b.placed |= 1 << j
		b.path = append(b.path, j)
		q.descend(free, s.with(free[g]-q.jobs[j].latestFinish()))
		b.path = b.path[:len(b.path)-1]
		b.placed &^= 1 << j
		free[g] = before
	}
}

func (q *queue) placedFlags() []bool {
	flags := make([]bool, len(q.jobs))
	for _, j := range q.branch.path {
		flags[j] = true
	}
	return flags
}

// nextJobs are the jobs worth placing on a grinder free at the given time, the
// most urgent first. A job is left out where another could be finished before
// it even starts: that one can go in front and delays nothing.
func (q *queue) nextJobs(free float64) []int {
	start := func(j int) float64 { return max(free, q.jobs[j].ReadyMin) }
	first := inf
	var left []int
	for j := range q.jobs {
		if q.branch.placed>>j&1 == 0 {
			left = append(left, j)
			first = min(first, start(j)+q.jobs[j].GrindMin)
		}
	}
	left = slices.DeleteFunc(left, func(j int) bool { return start(j) >= first })
	slices.SortStableFunc(left, func(a, b int) int { return cmp.Compare(q.jobs[a].latestFinish(), q.jobs[b].latestFinish()) })
	return left
}

// dominated says whether the same jobs have been placed before with no grinder
// free later and no worse score; else it notes this queue.
func (q *queue) dominated(free []float64, s score) bool {
	sorted := slices.Sorted(slices.Values(free))
	seen := q.branch.seen[q.branch.placed]
	for _, p := range seen {
		if p.score.most <= s.most && p.score.total <= s.total && allAtMost(p.free, sorted) {
			return true
		}
	}
	q.branch.seen[q.branch.placed] = append(seen, partial{sorted, s})
	return false
}

func allAtMost(a, b []float64) bool {
	for i := range a {
		if a[i] > b[i] {
			return false
		}
	}
	return true
}

// bound is a score that no completion beats. No job leaves before it would if
// it were alone. And the grinders together do no more than one that works at
// their joint speed, may lay jobs aside, and always takes the one that has to
// leave first: for that one the rule is best (Jackson's rule with preemption;
// Horn, 1974, quoted from memory).
func (q *queue) bound(free []float64, s score, placed []bool) score {
	first := free[soonest(free)]
	work := make([]float64, len(q.jobs))
	left := 0
	for j, job := range q.jobs {
		if !placed[j] {
			s = s.with(max(first, job.ReadyMin) + job.GrindMin - job.latestFinish())
			work[j] = job.GrindMin
			left++
		}
	}
	for t := first; left > 0; {
		pick, speed, next := -1, 0.0, inf
		for _, f := range free {
			if f <= t {
				speed++
			} else {
				next = min(next, f)
			}
		}
		for j, job := range q.jobs {
			switch {
			case work[j] == 0:
			case job.ReadyMin > t:
				next = min(next, job.ReadyMin)
			case pick < 0 || job.latestFinish() < q.jobs[pick].latestFinish():
				pick = j
			}
		}
		if pick < 0 {
			t = next
			continue
		}
		if end := t + work[pick]/speed; end <= next {
			t, work[pick] = end, 0
			left--
			s.most = max(s.most, end-q.jobs[pick].latestFinish())
			continue
		}
		// Some work is left here; rounding must not make it none, which is the
		// mark of a finished job.
		work[pick] = max(work[pick]-(next-t)*speed, tick/1000)
		t = next
	}
	return s
}
