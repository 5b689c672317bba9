package changeplan

import (
	"slices"

	"barrelbook/domain/stop"
)

// tick is the difference below which two times count as equal, minutes.
const tick = 1e-6

// score is what a queue is judged by, the first before the second.
type score struct{ most, total float64 }

func (a score) below(b score) bool {
	return a.most < b.most-tick || a.most < b.most+tick && a.total < b.total-tick
}

func (a score) with(late float64) score {
	return score{max(a.most, late), a.total + max(0, late)}
}

var nothing = score{most: -inf}

// queue is a grinding problem and the best order known. An order stands for
// the schedule in which each job in turn goes to the grinder that is free
// first. As all grinders are alike, the best schedule is among those: take its
// jobs by their starts, and none starts later.
type queue struct {
	jobs     []GrindJob
	grinders []Grinder
	order    []int
	best     score
	nodes    int
	stopped  bool
	branch   branch
	watch    stop.Watch
}

func newQueue(jobs []GrindJob, grinders []Grinder) *queue {
	return &queue{jobs: jobs, grinders: grinders, best: score{inf, inf}}
}

func (q *queue) freeAt() []float64 {
	free := make([]float64, len(q.grinders))
	for i, g := range q.grinders {
		free[i] = g.FreeMin
	}
	return free
}

func soonest(free []float64) int {
	g := 0
	for i, f := range free {
		if f < free[g] {
			g = i
		}
	}
	return g
}

func (q *queue) score(order []int) score {
	s, free := nothing, q.freeAt()
	for _, j := range order {
		g := soonest(free)
		free[g] = max(free[g], q.jobs[j].ReadyMin) + q.jobs[j].GrindMin
		s = s.with(free[g] - q.jobs[j].latestFinish())
	}
	return s
}

// earliestDue gives the order of the rule: whenever a grinder is free, the job
// that has to leave first among those that are ready by then, and where none
// is, the one that will be ready first.
func (q *queue) earliestDue() []int {
	free := q.freeAt()
	var order []int
	left := make([]bool, len(q.jobs))
	for range q.jobs {
		g, pick := soonest(free), -1
		start := func(j int) float64 { return max(free[g], q.jobs[j].ReadyMin) }
		for j := range q.jobs {
			if left[j] {
				continue
			}
			if pick < 0 || start(j) < start(pick) ||
				start(j) == start(pick) && q.jobs[j].latestFinish() < q.jobs[pick].latestFinish() {
				pick = j
			}
		}
		left[pick] = true
		free[g] = start(pick) + q.jobs[pick].GrindMin
		order = append(order, pick)
	}
	return order
}

// improve moves one job at a time to the place where it helps most, until
// none does or ten rounds are done.
func (q *queue) improve(order []int) {
	q.order, q.best = slices.Clone(order), q.score(order)
	for range 10 {
		moved := false
		for i := range order {
			for to := range order {
				if q.watch.Ended() {
					return
				}
				trial := slices.Delete(slices.Clone(q.order), i, i+1)
				trial = slices.Insert(trial, to, q.order[i])
				if s := q.score(trial); s.below(q.best) {
					q.order, q.best, moved = trial, s, true
				}
			}
		}
		if !moved {
			return
		}
	}
}
