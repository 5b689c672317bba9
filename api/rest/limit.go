package rest

import (
	"math"
	"strconv"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
	"golang.org/x/time/rate"
)

// limiter holds a token bucket for each caller.
type limiter struct {
	perSecond float64
	burst     int
	now       func() time.Time

	mu      sync.Mutex
	buckets map[string]*bucket
}

type bucket struct {
	rate.Limiter
	seen time.Time
}

// maxBuckets is how many callers are remembered before those that have been
// quiet are forgotten.
const maxBuckets = 4096

func newLimiter(perSecond float64, burst int, now func() time.Time) *limiter {
	return &limiter{perSecond: perSecond, burst: burst, now: now, buckets: map[string]*bucket{}}
}

// take lets one request of who pass, or says how long to wait.
func (l *limiter) take(who string) (wait time.Duration, ok bool) {
	if l.perSecond <= 0 {
		return 0, true
	}
	now := l.now()
	l.mu.Lock()
	defer l.mu.Unlock()
	b := l.buckets[who]
	if b == nil {
		l.forgetQuiet(now)
		b = &bucket{Limiter: *rate.NewLimiter(rate.Limit(l.perSecond), l.burst)}
		l.buckets[who] = b
	}
	b.seen = now
	reservation := b.ReserveN(now, 1)
	if wait = reservation.DelayFrom(now); wait > 0 {
		reservation.CancelAt(now)
		return wait, false
	}
	return 0, true
}

// forgetQuiet drops buckets that have filled up again, so that a bucket made
// anew allows no more than the one forgotten.
func (l *limiter) forgetQuiet(now time.Time) {
	if len(l.buckets) < maxBuckets {
		return
	}
	full := time.Duration(float64(l.burst) / l.perSecond * float64(time.Second))
	for who, b := range l.buckets {
		if now.Sub(b.seen) > full {
			delete(l.buckets, who)
		}
	}
}

// tooMany is the 429 of a caller who must wait.
func tooMany(c echo.Context, wait time.Duration) error {
	seconds := int(math.Ceil(wait.Seconds()))
	c.Response().Header().Set("Retry-After", strconv.Itoa(max(1, seconds)))
	return refuse(tooManyRequests, "wait %d s and send the request again", max(1, seconds))
}
