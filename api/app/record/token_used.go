package record

import (
	"context"
	"sync"
	"time"

	"barrelbook/api/app/port"
)

// usedEvery is how often it is written down that a token is in use.
const usedEvery = time.Hour

// usedTokens writes down when tokens were used, beside the requests.
type usedTokens struct {
	mu    sync.Mutex
	noted map[string]time.Time
	under sync.WaitGroup
}

// note writes it down where the last time is long ago. What fails is done the next
// time.
func (u *usedTokens) note(store port.Store, t port.TokenRow, now time.Time) {
	u.mu.Lock()
	defer u.mu.Unlock()
	last := u.noted[t.Name]
	if last.Before(t.UsedAt) {
		last = t.UsedAt
	}
	if age := now.Sub(last); !last.IsZero() && age >= 0 && age < usedEvery {
		return
	}
	if u.noted == nil || len(u.noted) > mostTokens {
		u.noted = map[string]time.Time{}
	}
	u.noted[t.Name] = now
	u.under.Go(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		_ = store.Write(ctx, func(w port.Writer) error { return w.UseToken(t.Name, now) })
	})
}

// NoteUse waits for what is written beside the requests.
func (a *Recorder) NoteUse() { a.used.under.Wait() }
