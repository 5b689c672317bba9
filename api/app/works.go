package app

import (
	"context"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
)

// Works is what the service keeps and who is asking.
type Works struct {
	Version string
	Now     time.Time
	Counts  Counts
	Mills   []string
}

// Works describes the service.
func (a *App) Works(ctx context.Context) (Works, error) {
	works := Works{Version: a.version, Now: a.clock.Now()}
	err := a.store.Read(ctx, func(r Reader) error {
		var err error
		if works.Counts, err = r.Counts(); err != nil {
			return err
		}
		mills, err := drain(r.Mills)
		for _, m := range mills {
			works.Mills = append(works.Mills, m.Name)
		}
		return err
	})
	return works, err
}

// Ready answers whether the service can serve.
func (a *App) Ready(ctx context.Context) error { return a.store.Ping(ctx) }

// Mills lists mills by name.
func (a *App) Mills(ctx context.Context, p Page) (items []mill.Mill, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		items, next, err = r.Mills(p)
		return err
	})
	return items, next, err
}

// CreateMill keeps a mill. Conflicting when the name is taken.
func (a *App) CreateMill(ctx context.Context, call Call, m mill.Mill) (mill.Mill, error) {
	return record(ctx, a, call, "added mill "+m.Name, func(w Writer, _ time.Time) (mill.Mill, error) {
		return m, w.CreateMill(m)
	})
}

// Practices lists the practices in force by name.
func (a *App) Practices(ctx context.Context, p Page) (items []practice.Practice, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		items, next, err = r.Practices(p)
		return err
	})
	return items, next, err
}

// Practice is the current version. NotFound when there is none of the name.
func (a *App) Practice(ctx context.Context, name string) (p practice.Practice, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		p, err = r.Practice(name)
		return err
	})
	return p, err
}

// CreatePractice keeps version 1 of a practice. Conflicting when the name is
// taken, Impossible when a value is out of range or the scope is unknown.
func (a *App) CreatePractice(ctx context.Context, call Call, p practice.Practice) (practice.Practice, error) {
	return record(ctx, a, call, "added practice "+p.Name, func(w Writer, _ time.Time) (practice.Practice, error) {
		p.Version = 1
		if err := checkPractice(w, p); err != nil {
			return practice.Practice{}, err
		}
		return p, w.CreatePractice(p)
	})
}

// ReplacePractice keeps a new version; the earlier ones stay. Stale when
// call.IfVersion is not the current version.
func (a *App) ReplacePractice(ctx context.Context, call Call, p practice.Practice) (practice.Practice, error) {
	return record(ctx, a, call, "changed practice "+p.Name, func(w Writer, _ time.Time) (practice.Practice, error) {
		if _, err := w.Practice(p.Name); err != nil {
			return practice.Practice{}, err
		}
		if err := checkPractice(w, p); err != nil {
			return practice.Practice{}, err
		}
		p.Version = call.IfVersion
		if err := w.ReplacePractice(p); err != nil {
			return practice.Practice{}, err
		}
		p.Version++
		return p, nil
	})
}

func checkPractice(r Reader, p practice.Practice) error {
	if err := p.Check(); err != nil {
		return impossible(err)
	}
	var c refusal.Check
	look := func(field, name string, find func() error) error {
		if name == "" {
			return nil
		}
		err := find()
		if IsKind(err, NotFound) {
			c.Add("scope/"+field, name, "is not known", "see: barrelbook "+field+" list")
			return nil
		}
		return err
	}
	if err := look("mill", p.Scope.Mill, func() error { _, err := r.Mill(p.Scope.Mill); return err }); err != nil {
		return err
	}
	if err := look("stand", p.Scope.Stand, func() error { _, err := r.Stand(p.Scope.Stand); return err }); err != nil {
		return err
	}
	if err := look("grade", p.Scope.Grade, func() error { _, err := r.Grade(p.Scope.Grade); return err }); err != nil {
		return err
	}
	return impossible(c.Err())
}
