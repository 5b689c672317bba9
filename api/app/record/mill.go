package record

import (
	"context"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
)

// Mills lists mills by name.
func (a *Recorder) Mills(ctx context.Context, p port.Page) (items []mill.Mill, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Mills(p)
		return err
	})
	return items, next, err
}

// CreateMill keeps a mill. Conflicting when the name is taken.
func (a *Recorder) CreateMill(ctx context.Context, call port.Call, m mill.Mill) (mill.Mill, error) {
	return record(ctx, a, call, "added mill "+m.Name, func(w port.Writer, _ time.Time) (mill.Mill, error) {
		return m, w.CreateMill(m)
	})
}
