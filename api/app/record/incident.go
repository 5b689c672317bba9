package record

import (
	"context"
	"fmt"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// IncidentInput is a mishap at a stand, to all rolls that were in it, or to
// one roll.
type IncidentInput struct {
	What  roll.What
	Stand string
	Roll  string
	At    time.Time
	Note  string
}

// IncidentView is an incident with what it leaves owed.
type IncidentView struct {
	port.IncidentRow
	Owed          []string
	Before, After []RollStanding // of the rolls that bore it, where it was undone
	Cautions      []string
}

// Incidents lists mishaps, newest first.
func (a *Recorder) Incidents(ctx context.Context, p port.Page) (items []port.IncidentRow, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Incidents(p)
		return err
	})
	return items, next, err
}

// RecordIncident writes the mishap into the books of the rolls that bore it.
// Impossible when neither or both of stand and roll are named, Conflicting when
// no roll was in the stand at that time.
func (a *Recorder) RecordIncident(ctx context.Context, call port.Call, in IncidentInput) (IncidentView, error) {
	return record(ctx, a, call, "recorded an incident: "+string(in.What), func(w port.Writer, _ time.Time) (IncidentView, error) {
		if (in.Stand == "") == (in.Roll == "") {
			return IncidentView{}, port.Refused(refusal.One("stand", in.Stand, "give either the stand, for all rolls in it, or one roll", ""))
		}
		rolls, err := a.rollsHit(w, in)
		if err != nil {
			return IncidentView{}, err
		}
		at, now, err := a.lockDated(w, in.At, rolls...)
		if err != nil {
			return IncidentView{}, err
		}
		v := IncidentView{IncidentRow: port.IncidentRow{Name: a.ids.Name("incident"), What: in.What, Stand: in.Stand, At: at, Rolls: rolls, By: call.Actor, Note: in.Note}}
		practices, err := gather.AllPractices(w)
		if err != nil {
			return IncidentView{}, err
		}
		for _, number := range rolls {
			row, err := w.Roll(number)
			if err != nil {
				return IncidentView{}, err
			}
			asks := release.AfterIncident(practice.Resolve(practices, gather.CaseOf(row.State)), in.What)
			if row, err = a.enter(w, row, call, at, now, in.Note, roll.Incident{Name: v.Name, What: in.What, Stand: in.Stand, Asks: asks, Note: in.Note}); err != nil {
				return IncidentView{}, err
			}
			for _, o := range row.State.Owed {
				v.Owed = append(v.Owed, fmt.Sprintf("%s: %s", number, o.Sentence()))
			}
		}
		v.Cautions = caution.ForMishap(in.What)
		return v, w.CreateIncident(v.IncidentRow)
	})
}

// rollsHit gives the rolls that bore it: those in the stand at the moment
// stated, else those that are in it now, whatever a clock says.
func (a *Recorder) rollsHit(w port.Writer, in IncidentInput) ([]string, error) {
	if in.Roll != "" {
		if _, err := w.Roll(in.Roll); err != nil {
			return nil, err
		}
		return []string{in.Roll}, nil
	}
	if _, err := w.Stand(in.Stand); err != nil {
		return nil, err
	}
	if err := w.LockStands([]string{in.Stand}); err != nil {
		return nil, err
	}
	at, words := in.At, "on "+port.Moment(in.At)
	if at.IsZero() {
		at, words = port.EndOfTime, "now"
	}
	mounted, err := w.MountingsAt([]string{in.Stand}, at)
	if err != nil {
		return nil, err
	}
	if len(mounted) == 0 {
		return nil, port.Fail(port.Conflicting, "no roll was in %s %s; check the stand and the moment", in.Stand, words)
	}
	rolls := make([]string, len(mounted))
	for i, m := range mounted {
		rolls[i] = m.Roll
	}
	return rolls, nil
}
