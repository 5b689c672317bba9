package trials

import (
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"barrelbook/api/store/pgtest"
)

// chaos kills the processes of a works one after the other: a daemon, backends
// of PostgreSQL, PostgreSQL itself.
type chaos struct {
	t        *testing.T
	cluster  *pgtest.Cluster // nil on a data file
	database string
	daemons  []*process
	random   *rand.Rand
	pause    time.Duration // between two, at most
	kills    map[string]int
}

// run kills until stop is closed, at most most times.
func (c *chaos) run(stop <-chan struct{}, most int) {
	c.kills = map[string]int{}
	for n := 0; n < most; n++ {
		select {
		case <-stop:
			return
		case <-time.After(c.pause/2 + rand.N(c.pause)):
		}
		switch what := c.random.IntN(10); {
		case what < 5 || c.cluster == nil:
			d := c.daemons[c.random.IntN(len(c.daemons))]
			d.kill()
			d.start()
			c.kills["daemon"]++
		case what < 9:
			if c.cluster.KillBackends(c.database, 1+c.random.IntN(3)) > 0 {
				c.kills["backends"]++
			}
			if err := c.cluster.Await(); err != nil {
				c.t.Error(err)
			}
		default:
			c.cluster.Kill()
			c.cluster.Start()
			c.kills["server"]++
		}
	}
}

// total is how many kills there were.
func (c *chaos) total() int {
	sum := 0
	for _, n := range c.kills {
		sum += n
	}
	return sum
}

// begin runs the chaos beside the test; the result ends it.
func (c *chaos) begin(most int) (end func()) {
	stop := make(chan struct{})
	var g sync.WaitGroup
	g.Go(func() { c.run(stop, most) })
	return func() { close(stop); g.Wait() }
}
