package record

import (
	"context"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
)

// Practices lists the practices in force by name.
func (a *Recorder) Practices(ctx context.Context, p port.Page) (items []practice.Practice, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Practices(p)
		return err
	})
	return items, next, err
}

// Practice is the current version. NotFound when there is none of the name.
func (a *Recorder) Practice(ctx context.Context, name string) (p practice.Practice, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		p, err = r.Practice(name)
		return err
	})
	return p, err
}

// CreatePractice keeps version 1 of a practice. Conflicting when the name is
// taken, Impossible when a value is out of range or the scope is unknown.
func (a *Recorder) CreatePractice(ctx context.Context, call port.Call, p practice.Practice) (practice.Practice, error) {
	return record(ctx, a, call, "added practice "+p.Name, func(w port.Writer, _ time.Time) (practice.Practice, error) {
		p.Version = 1
		if err := checkPractice(w, p); err != nil {
			return practice.Practice{}, err
		}
		return p, w.CreatePractice(p)
	})
}

// ReplacePractice keeps a new version; the earlier ones stay. Stale when
// call.IfVersion is not the current version.
func (a *Recorder) ReplacePractice(ctx context.Context, call port.Call, p practice.Practice) (practice.Practice, error) {
	return record(ctx, a, call, "changed practice "+p.Name, func(w port.Writer, _ time.Time) (practice.Practice, error) {
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

func checkPractice(r port.Reader, p practice.Practice) error {
	if err := p.Check(); err != nil {
		return port.Refused(err)
	}
	var c refusal.Check
	look := func(field, name string, find func() error) error {
		if name == "" {
			return nil
		}
		err := find()
		if port.IsKind(err, port.NotFound) {
			c.Add("scope/"+field, name, "is not known", "see what there is", next.Of(err)...)
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
	return port.Refused(c.Err())
}
