package record

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/refusal"
)

// dated gives the moment of an entry and of its recording. Call it when the
// locks are taken. A moment that was stated is held against the clock; one that
// was not is now, but never before what is in the books already, which since
// gives: whatever clock wrote that, nobody is refused for a moment they did not
// state.
func (a *Recorder) dated(w port.Writer, stated time.Time, since ...time.Time) (at, now time.Time, err error) {
	if now, err = a.clock.In(w); err != nil {
		return at, now, err
	}
	if at, err = resolveMoment(stated, now); err != nil || at.Before(now) {
		return at, now, err
	}
	for _, t := range since {
		if t.After(at) {
			at = t
		}
	}
	if at.After(now) {
		now = at
	}
	return at, now, nil
}

// lockDated takes the locks on rolls whose books an entry goes into, and dates
// it.
func (a *Recorder) lockDated(w port.Writer, stated time.Time, numbers ...string) (at, now time.Time, err error) {
	if err := w.LockRolls(numbers); err != nil {
		return at, now, err
	}
	rows, err := w.RollsByNumber(numbers)
	if err != nil {
		return at, now, err
	}
	since := make([]time.Time, len(rows))
	for i, row := range rows {
		since[i] = row.State.LastAt
	}
	return a.dated(w, stated, since...)
}

// resolveMoment gives the moment of an entry: the one given, or now. It refuses
// the future. A moment that is ahead by no more than clocks differ is now, so
// that nothing in the books lies ahead of what is recorded next.
func resolveMoment(at, now time.Time) (time.Time, error) {
	if at.IsZero() {
		return now, nil
	}
	at = at.UTC().Truncate(time.Microsecond)
	if at.After(now.Add(port.ClockSkew)) {
		return at, port.Refused(refusal.One("at", port.Moment(at), "is in the future; it is now "+port.Moment(now), "give the moment it happened, or leave it out for now"))
	}
	if at.After(now) {
		return now, nil
	}
	return at, nil
}
