package storetest

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/chock"
	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// testChocks keeps the books of chocks: every body comes back as it went in, one
// chock is in one place, and a book grows entry by entry.
func testChocks(t *testing.T, s Store) {
	works(t, s)
	bodies := []chock.Body{
		chock.Received{Chock: chock.Chock{Name: "K1", Mill: "HSM", Role: mill.Work, Bearing: "four-row taper", InspectEvery: 1500 * time.Hour, InspectEveryT: 90_000, InspectEveryRevolutions: 2e6}, Note: "second hand"},
		chock.Inspected{Outcome: roll.Unknown, Note: "seal worn"},
		chock.Fitted{Set: "S1", Place: chock.TopDrive, Note: "n"},
		chock.TakenOff{Note: "off"},
		chock.Inspected{Outcome: roll.Passed, NewBearing: "four-row taper, second"},
	}
	entry := func(name string, i int, b chock.Body) chock.Entry {
		return chock.Entry{Chock: name, Number: int64(i + 1), At: hours(float64(i)), RecordedAt: hours(float64(i + 1)), By: "hand", Body: b}
	}
	row := func(name string, version int64, set string, place chock.Place) port.ChockRow {
		return port.ChockRow{Name: name, Mill: "HSM", Role: mill.Work, Set: set, Place: place, Version: version}
	}
	var want []chock.Entry
	for i, b := range bodies {
		e := entry("K1", i, b)
		want = append(want, e)
		after := row("K1", int64(i+1), "", "")
		if f, ok := b.(chock.Fitted); ok {
			after.Set, after.Place = f.Set, f.Place
		}
		write(t, s, func(w port.Writer) error { return w.AppendChock(after, e) })
	}
	read(t, s, func(r port.Reader) error {
		book, err := r.ChockBook("K1")
		same(t, "book of a chock", book, want)
		if err != nil {
			return err
		}
		page, next, err := r.ChockEntries("K1", port.Page{Limit: 2})
		same(t, "page of the book", page, want[:2])
		if next == "" {
			t.Error("a page of 2 of 5 entries gives no next place")
		}
		return err
	})
	write(t, s, func(w port.Writer) error {
		return w.AppendChock(row("K2", 1, "S1", chock.TopDrive), entry("K2", 0, bodies[0]))
	})
	// The place is taken, the name is taken, the book has another length.
	refused(t, s, port.Conflicting, func(w port.Writer) error {
		return w.AppendChock(row("K1", 6, "S1", chock.TopDrive), entry("K1", 5, bodies[2]))
	})
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.AppendChock(row("K1", 1, "", ""), entry("K1", 0, bodies[0])) })
	refused(t, s, port.Stale, func(w port.Writer) error { return w.AppendChock(row("K1", 9, "", ""), entry("K1", 8, bodies[3])) })
	refused(t, s, port.NotFound, func(w port.Writer) error { _, err := w.Chock("K9"); return err })
	refused(t, s, port.NotFound, func(w port.Writer) error { _, err := w.ChockBook("K9"); return err })
	read(t, s, func(r port.Reader) error {
		one, _, err := r.Chocks(port.ChockFilter{Set: "S1"}, port.Page{Limit: 10})
		same(t, "chocks of a set", one, []port.ChockRow{row("K2", 1, "S1", chock.TopDrive)})
		if err != nil {
			return err
		}
		all, _, err := r.Chocks(port.ChockFilter{Mill: "HSM"}, port.Page{Limit: 10})
		same(t, "chocks of a mill", all, []port.ChockRow{row("K1", 5, "", ""), row("K2", 1, "S1", chock.TopDrive)})
		return err
	})
}

// testGrooves keeps the grooves of a roll and what each has borne, added up
// groove by groove in the mounting and in the roll's totals.
func testGrooves(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1")
	m := port.Stay{Roll: "W1", Stand: "F1", Position: mill.TopWork, Set: "S1", MountedAt: day}
	write(t, s, func(w port.Writer) (err error) {
		if m.ID, err = w.OpenMounting(m); err != nil {
			return err
		}
		return w.AddUsage(map[int64]duty.Usage{m.ID: {Grooves: []duty.GrooveUse{{Number: 2, TonnageT: 10, WornUM: 15}}}})
	})
	write(t, s, func(w port.Writer) error {
		return w.AddUsage(map[int64]duty.Usage{m.ID: {Grooves: []duty.GrooveUse{{Number: 1, TonnageT: 4, WornUM: 6}, {Number: 2, TonnageT: 2.5, WornUM: 3.75}}}})
	})
	read(t, s, func(r port.Reader) error {
		rows, err := r.MountingsAt([]string{"F1"}, day)
		if err != nil || len(rows) != 1 {
			t.Fatalf("%d mountings: %v", len(rows), err)
		}
		same(t, "grooves of the mounting", rows[0].Usage.Grooves, []duty.GrooveUse{{Number: 1, TonnageT: 4, WornUM: 6}, {Number: 2, TonnageT: 12.5, WornUM: 18.75}})
		row, err := r.Roll("W1")
		same(t, "grooves in the totals", row.Totals.Grooves, rows[0].Usage.Grooves)
		return err
	})
}
