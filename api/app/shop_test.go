package app_test

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/doubt"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// shop is the works on an ordinary day: set OLD is in F5 with backup set BU,
// sets NEXT and SPARE are ready, and single rolls wait in every state. The
// clock stands two days after the receipts and a day after the change.
func shop(t testing.TB) *works { return shopOf(newWorks(t)) }

func shopOf(w *works) *works {
	w.stand("F5", 5)
	w.stand("F6", 6)
	w.set("BU", mill.Backup, 1480)
	w.set("OLD", mill.Work, 720)
	w.set("NEXT", mill.Work, 715)
	w.set("SPARE", mill.Work, 712)
	for _, number := range []string{"FREE", "HELD", "GONE", "LONE"} {
		w.roll(number, mill.Work, 715)
	}
	w.pass(24 * time.Hour)
	w.mount("F5", mill.Backup, "BU")
	w.mount("F5", mill.Work, "OLD")
	w.happens("HELD", "soft spot", roll.Held{})
	w.happens("GONE", "neck crack", roll.Scrapped{Why: roll.ByNeck})
	w.pass(24 * time.Hour)
	return w
}

func (w *works) pass(d time.Duration) { w.clock.now = w.clock.now.Add(d) }

func (w *works) happens(number, reason string, body roll.Body) record.RollView {
	w.t.Helper()
	v, err := w.RecordHappening(w.ctx, engineer, record.Happening{Number: number, Reason: reason, Body: body})
	w.must(err)
	return v
}

func (w *works) change(in record.ChangeInput) record.ChangeView {
	w.t.Helper()
	v, err := w.RecordChange(w.ctx, engineer, in)
	w.must(err)
	return v
}

// grind is a regrind whose figures were looked at twice: what is asked of figures
// is another test's.
func grind(found, ground quantity.Micrometre) record.RegrindInput {
	return record.RegrindInput{Found: found, Ground: ground, For: roll.ForWear, Grinder: "G1", Confirmed: lookedAt()}
}

// lookedAt answers every question.
func lookedAt() (names []string) {
	for _, n := range doubt.Names() {
		names = append(names, string(n))
	}
	return names
}

func (w *works) regrind(number string, found, ground quantity.Micrometre) record.RegrindAnswer {
	w.t.Helper()
	a, err := w.RecordRegrind(w.ctx, engineer, number, grind(found, ground))
	w.must(err)
	return a
}

// everything is all that is in the data file, table by table, read past the
// service.
func (w *works) everything() string {
	w.t.Helper()
	w.NoteUse() // what is written beside the requests
	db, err := sql.Open("sqlite", "file:"+w.path)
	w.must(err)
	defer db.Close()
	var all strings.Builder
	for _, table := range column(w.t, db, "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'goose%' ORDER BY name") {
		fmt.Fprintf(&all, "%s\n%s\n", table, strings.Join(lines(w.t, db, "SELECT * FROM "+table), "\n"))
	}
	return all.String()
}

func column(t testing.TB, db *sql.DB, query string) []string { return lines(t, db, query) }

func lines(t testing.TB, db *sql.DB, query string) []string {
	t.Helper()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for rows.Next() {
		cells := make([]any, len(names))
		for i := range cells {
			cells[i] = new(any)
		}
		if err := rows.Scan(cells...); err != nil {
			t.Fatal(err)
		}
		parts := make([]string, len(cells))
		for i, c := range cells {
			parts[i] = fmt.Sprint(*c.(*any))
		}
		all = append(all, strings.Join(parts, "|"))
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

// sound replays every book and compares.
func (w *works) sound() {
	w.t.Helper()
	if err := w.store.Verify(w.ctx); err != nil {
		w.t.Errorf("the books are not sound: %v", err)
	}
	misfits, err := w.Recount(w.ctx)
	if err != nil || len(misfits) > 0 {
		w.t.Errorf("books and pieces do not give what is kept: %+v, %v", misfits, err)
	}
}

// refused runs what must be refused: with the kind, in words that say each of
// words, naming the field where one is at fault, and leaving the data file as
// it was and every book sound.
func (w *works) refused(kind port.Kind, field string, words []string, do func() error) {
	w.t.Helper()
	before := w.everything()
	err := do()
	var e *port.Error
	if !errors.As(err, &e) || e.Kind != kind {
		w.t.Fatalf("got %v, want an error of kind %s", err, kind)
	}
	said := fmt.Sprint(err, next.Of(err))
	for _, word := range words {
		if !strings.Contains(said, word) {
			w.t.Errorf("%q does not say %q", said, word)
		}
	}
	var paths []string
	for _, f := range refusal.FieldsOf(err) {
		paths = append(paths, f.Path)
	}
	if got := strings.Join(paths, " "); got != field {
		w.t.Errorf("fields at fault %q, want %q: %v", got, field, err)
	}
	if after := w.everything(); after != before {
		w.t.Errorf("something was stored by what was refused: %v", err)
	}
	w.sound()
}

// entries counts what is in the book of a roll.
func (w *works) entries(number string) int64 {
	w.t.Helper()
	v, err := w.Roll(w.ctx, number)
	w.must(err)
	return v.Version()
}
