package embedded

import (
	"math/rand/v2"
	"sync"
	"time"
)

// names makes names that nobody chose: prefix-13 characters, which sort by the
// moment they were made. The characters hold 52 bits of microseconds, enough
// until the year 2112, and 12 random ones, so that two services on one database
// do not meet. Within a service each name is above the one before.
type names struct {
	now func() time.Time

	mu   sync.Mutex
	last uint64
}

func newNames(now func() time.Time) *names { return &names{now: now} }

// digits sort as bytes in the order of their value; i, l, o and u are left out,
// as they are misread.
const digits = "0123456789abcdefghjkmnpqrstvwxyz"

// Name implements app.IDs.
func (n *names) Name(prefix string) string {
	n.mu.Lock()
	defer n.mu.Unlock()
	v := uint64(n.now().UnixMicro())<<12 | uint64(rand.Uint32N(1<<12))
	if v <= n.last {
		v = n.last + 1
	}
	n.last = v
	text := make([]byte, 13)
	for i := len(text) - 1; i >= 0; i-- {
		text[i] = digits[v&31]
		v >>= 5
	}
	return prefix + "-" + string(text)
}
