package record

import (
	"context"
	"slices"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/port"
	"barrelbook/domain/next"
	"barrelbook/domain/roll"
)

// UndoIncident takes an incident that was recorded wrongly out of the books of all
// rolls that bore it, with the tests it made owed. It stays in the register,
// marked. NotFound when there is none of the name; Conflicting when it was undone,
// or a book does not bear it.
func (a *Recorder) UndoIncident(ctx context.Context, call port.Call, name, reason string) (IncidentView, error) {
	return record(ctx, a, call, "undid incident "+name, func(w port.Writer, _ time.Time) (IncidentView, error) {
		row, err := w.Incident(name)
		if err != nil {
			return IncidentView{}, err
		}
		_, now, err := a.lockDated(w, time.Time{}, row.Rolls...)
		if err != nil {
			return IncidentView{}, err
		}
		if row, err = w.Incident(name); err != nil { // as it is now that nobody else can undo it
			return IncidentView{}, err
		}
		if !row.UndoneAt.IsZero() {
			return IncidentView{}, port.Fail(port.Conflicting, "incident %s was undone on %s by %s: %s", name, port.Moment(row.UndoneAt), row.UndoneBy, row.UndoneWhy)
		}
		v := IncidentView{Cautions: []string{caution.Limits}}
		if v.Before, err = a.standings(w, now, row.Rolls); err != nil {
			return IncidentView{}, err
		}
		if err := a.takeIncidentBack(w, call, now, reason, row); err != nil {
			return IncidentView{}, err
		}
		if v.After, err = a.standings(w, now, row.Rolls); err != nil {
			return IncidentView{}, err
		}
		v.IncidentRow, err = w.Incident(name)
		return v, err
	})
}

// bornIncident is an incident that an entry tells of; without a name where the
// entry tells of none, or it stands no more.
type bornIncident struct{ port.IncidentRow }

func (i bornIncident) stands() bool { return i.Name != "" }

// rollsWith are the rolls that bore it, the one named first.
func (i bornIncident) rollsWith(number string) []string {
	rolls := []string{number}
	for _, other := range i.Rolls {
		if other != number {
			rolls = append(rolls, other)
		}
	}
	return rolls
}

// incidentOf reads the incident that a withdrawal takes out of the books.
func incidentOf(r port.Reader, c Correction) (bornIncident, error) {
	if c.Regrind != nil || c.Receipt != nil {
		return bornIncident{}, nil
	}
	book, err := r.Book(c.Number)
	if err != nil {
		return bornIncident{}, err
	}
	e, _ := standsIn(book, c.Entry)
	told, is := e.Body.(roll.Incident)
	if !is {
		return bornIncident{}, nil
	}
	row, err := r.Incident(told.Name)
	if port.IsKind(err, port.NotFound) {
		return bornIncident{}, nil // of a register that was not kept: it is in this book alone
	}
	return bornIncident{row}, err
}

// takeIncidentBack withdraws an incident in all books that it stands in, and marks
// it in the register.
func (a *Recorder) takeIncidentBack(w port.Writer, call port.Call, now time.Time, reason string, row port.IncidentRow) error {
	v, err := a.newRevision(w, call, now, reason, row.Rolls)
	if err != nil {
		return err
	}
	found := false
	for _, number := range row.Rolls {
		book, err := v.book(number)
		if err != nil {
			return err
		}
		effective, err := roll.Effective(book)
		if err != nil {
			return port.BookError(err)
		}
		i := slices.IndexFunc(effective, func(e roll.Entry) bool { told, is := e.Body.(roll.Incident); return is && told.Name == row.Name })
		if i >= 0 { // else it was taken out of this one before
			v.withdraw(number, effective[i])
			found = true
		}
	}
	if !found {
		return port.FailNext(next.ListIncidents(), port.Conflicting, "incident %s stands in no book any more", row.Name)
	}
	if _, err := v.write(); err != nil {
		return err
	}
	return w.UndoIncident(row.Name, now, call.Actor, reason)
}
