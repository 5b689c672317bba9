package record

import (
	"context"
	"time"

	"barrelbook/api/app/port"
)

// CreateGrade keeps a roll material. Conflicting when the name is taken.
func (a *Recorder) CreateGrade(ctx context.Context, call port.Call, g port.Grade) (port.Grade, error) {
	return record(ctx, a, call, "added grade "+g.Name, func(w port.Writer, _ time.Time) (port.Grade, error) {
		return g, w.CreateGrade(g)
	})
}

// Grades lists roll materials by name.
func (a *Recorder) Grades(ctx context.Context, p port.Page) (items []port.Grade, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Grades(p)
		return err
	})
	return items, next, err
}
