package record

import (
	"context"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

// Stands lists the stands of a mill, or all, in pass order.
func (a *Recorder) Stands(ctx context.Context, millName string, p port.Page) (items []mill.Stand, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Stands(millName, p)
		return err
	})
	return items, next, err
}

// CreateStand keeps a stand. Conflicting when the name is taken, Impossible
// when its mill is unknown or its limits cross.
func (a *Recorder) CreateStand(ctx context.Context, call port.Call, s mill.Stand) (mill.Stand, error) {
	return record(ctx, a, call, "added stand "+s.Name, func(w port.Writer, _ time.Time) (mill.Stand, error) {
		s.Version = 1
		if err := checkStandLimits(w, s); err != nil {
			return mill.Stand{}, err
		}
		return s, w.CreateStand(s)
	})
}

// ReplaceStand keeps a new version. Stale when call.IfVersion is not the
// current one.
func (a *Recorder) ReplaceStand(ctx context.Context, call port.Call, s mill.Stand) (mill.Stand, error) {
	return record(ctx, a, call, "changed stand "+s.Name, func(w port.Writer, _ time.Time) (mill.Stand, error) {
		if err := w.LockStands([]string{s.Name}); err != nil { // no roll goes in meanwhile
			return mill.Stand{}, err
		}
		old, err := w.Stand(s.Name)
		if err != nil {
			return mill.Stand{}, err
		}
		if err := checkStandLimits(w, s); err != nil {
			return mill.Stand{}, err
		}
		if old.Mill != s.Mill || old.Arrangement != s.Arrangement {
			mounted, err := w.MountingsAt([]string{s.Name}, port.EndOfTime)
			if err != nil {
				return mill.Stand{}, err
			}
			if len(mounted) > 0 {
				return mill.Stand{}, port.Fail(port.Conflicting, "stand %s has rolls in it; take them out before its mill or arrangement changes", s.Name)
			}
		}
		s.Version = call.IfVersion
		if err := w.ReplaceStand(s); err != nil {
			return mill.Stand{}, err
		}
		s.Version++
		return s, nil
	})
}

func checkStandLimits(r port.Reader, s mill.Stand) error {
	var c refusal.Check
	if err := checkKnown(&c, "mill", s.Mill, func() error { _, err := r.Mill(s.Mill); return err }); err != nil {
		return err
	}
	if s.MaxRPM > 0 && s.MinRPM > s.MaxRPM {
		c.Add("min_rpm", refusal.Number(s.MinRPM), "must not be above max_rpm "+refusal.Number(s.MaxRPM), "")
	}
	if s.MaxStack > 0 && s.MinStack > s.MaxStack {
		c.Add("min_stack_mm", s.MinStack.String(), "must not be above max_stack_mm "+s.MaxStack.String(), "")
	}
	return port.Refused(c.Err())
}
