package record

import (
	"context"
	"time"

	"barrelbook/api/app/port"
)

// signsEvery is how often the service signs the works off by itself.
const signsEvery = 24 * time.Hour

// SignOff signs the whole works off as it is: what is taken away or changed later,
// past the service, then shows even where the seals were made to agree. Its hash
// is to be noted outside.
func (a *Recorder) SignOff(ctx context.Context, call port.Call, note string) (port.SignOff, error) {
	return record(ctx, a, call, "signed off the works", func(w port.Writer, now time.Time) (port.SignOff, error) {
		return w.SignOff(port.SignOff{At: now, By: call.Actor, Note: note})
	})
}

// SignOffs lists the sign-offs, newest first.
func (a *Recorder) SignOffs(ctx context.Context, p port.Page) (items []port.SignOff, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.SignOffs(p)
		return err
	})
	return items, next, err
}

// SignOffDaily signs the works off for the service, where that was not done for a
// day, however many processes call it.
func (a *Recorder) SignOffDaily(ctx context.Context) error {
	due := func(r port.Reader, now time.Time) (bool, error) {
		last, _, err := r.SignOffs(port.Page{Limit: 1})
		return len(last) == 0 || now.Sub(last[0].At) >= signsEvery, err
	}
	var first bool
	err := a.store.Read(ctx, func(r port.Reader) (err error) {
		first, err = due(r, a.clock.Now())
		return err
	})
	if err != nil || !first {
		return err
	}
	return a.store.Write(ctx, func(w port.Writer) error {
		if err := w.ClaimKey("service", "signOff", ""); err != nil { // one process at a time
			return err
		}
		now, err := a.clock.In(w)
		if err != nil {
			return err
		}
		if still, err := due(w, now); err != nil || !still {
			return err
		}
		_, err = w.SignOff(port.SignOff{At: now, By: "service"})
		return err
	})
}
