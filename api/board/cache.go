package board

import (
	"sync"
	"time"

	"golang.org/x/sync/singleflight"
)

// cache keeps answers that many screens show at the same time for a moment, and
// makes each once however many ask.
type cache struct {
	now    func() time.Time
	mu     sync.Mutex
	values map[string]kept
	flight singleflight.Group
}

type kept struct {
	at    time.Time
	value any
}

func (c *cache) get(name string, make func() (any, error)) (kept, error) {
	c.mu.Lock()
	k, ok := c.values[name]
	c.mu.Unlock()
	if ok && c.now().Sub(k.at) < wallKept {
		return k, nil
	}
	made, err, _ := c.flight.Do(name, func() (any, error) {
		value, err := make()
		if err != nil {
			return nil, err
		}
		k := kept{c.now(), value}
		c.mu.Lock()
		defer c.mu.Unlock()
		if c.values == nil {
			c.values = map[string]kept{}
		}
		c.values[name] = k
		return k, nil
	})
	if err != nil {
		return kept{}, err
	}
	return made.(kept), nil
}
