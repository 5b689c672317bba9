package rest

import (
	"context"
	"sync"
	"time"

	"golang.org/x/sync/semaphore"
)

// gate lets so much in at a time, lets a few wait for their turn in the order in
// which they came, and turns the rest away at once.
type gate struct {
	what string // that is full, for the refusal
	room *semaphore.Weighted
	// most waits at the gate, and patience is how long one waits.
	most     int
	patience time.Duration
	// share is what one caller may have of the room, so that one who sends much
	// does not keep the others out; each waits behind their own first.
	share int64

	mu      sync.Mutex
	waiting int
	callers map[string]*shareOf
}

type shareOf struct {
	room *semaphore.Weighted
	uses int
}

func newGate(what string, size int64, most int, patience time.Duration) *gate {
	return &gate{what: what, room: semaphore.NewWeighted(size), most: most, patience: patience, share: max(1, size/2), callers: map[string]*shareOf{}}
}

// enter waits for so much room. What it gives back must be called when the work
// is done. Weight is at most the size of the gate.
func (g *gate) enter(ctx context.Context, who string, weight int64) (leave func(), err error) {
	own, err := g.queue(who)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, g.patience)
	defer cancel()
	ofShare := min(weight, g.share)
	if err = own.Acquire(ctx, ofShare); err == nil {
		if err = g.room.Acquire(ctx, weight); err != nil {
			own.Release(ofShare)
		}
	}
	g.mu.Lock()
	g.waiting--
	g.mu.Unlock()
	if err != nil {
		g.forget(who)
		return nil, refuse(busy, "%s; wait and send it again", g.what)
	}
	return func() {
		g.room.Release(weight)
		own.Release(ofShare)
		g.forget(who)
	}, nil
}

// queue joins the caller to those who wait. One caller may be half of them.
func (g *gate) queue(who string) (*semaphore.Weighted, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	c := g.callers[who]
	if c == nil {
		c = &shareOf{room: semaphore.NewWeighted(g.share)}
	}
	if g.waiting >= g.most {
		return nil, refuse(busy, "%s; wait and send it again", g.what)
	}
	if c.uses >= max(1, g.most/2) {
		return nil, refuse(tooManyRequests, "%s, and %d requests of yours are under way or waiting; wait for one of them", g.what, c.uses)
	}
	c.uses++
	g.waiting++
	g.callers[who] = c
	return c.room, nil
}

func (g *gate) forget(who string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if c := g.callers[who]; c != nil {
		if c.uses--; c.uses == 0 {
			delete(g.callers, who)
		}
	}
}
