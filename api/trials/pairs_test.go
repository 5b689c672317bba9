package trials

import (
	"bytes"
	"context"
	"database/sql"
	"flag"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	_ "modernc.org/sqlite"

	"barrelbook/api/embedded"
)

var allPairs = flag.Bool("all-pairs", false, "run every pair of writing operations side by side")

// The works of a pair: rolls A and B have served both stands, so that pieces of
// either stand may be theirs; A is in F1 and B in F2.
var epoch = time.Date(2031, 3, 3, 6, 0, 0, 0, time.UTC)

func pairWorks(s *site, now *time.Time) {
	at := func(hours int) time.Time { return epoch.Add(time.Duration(hours) * time.Hour) }
	*now = at(100)
	s.mill()
	for _, set := range []string{"A", "B", "C"} {
		s.set(set, "work", 700, at(0))
	}
	s.set("BU1", "backup", 1500, at(0))
	s.set("BU2", "backup", 1500, at(0))
	s.roll("X", "work", 700, at(0))
	s.roll("Y", "work", 700, at(0))
	s.must("/v1/chocks", `{"name":"K1","mill":"hot","role":"work","bearing":"four_row_roller"}`)
	for i, set := range []string{"BU1", "BU2"} {
		s.must("/v1/changes", change(fmt.Sprint("F", i+1), "backup", set, at(1)))
	}
	s.must("/v1/changes", change("F1", "work", "B", at(2)))
	s.must("/v1/changes", change("F2", "work", "A", at(2)))
	s.must("/v1/changes", change("F1", "work", "", at(50)))
	s.must("/v1/changes", change("F2", "work", "", at(50)))
	s.must("/v1/changes", change("F1", "work", "A", at(51)))
	s.must("/v1/changes", change("F2", "work", "B", at(51)))
	s.must("/v1/pieces", piece("OLD", at(10), 12000, "F1", "F2")+piece("NEW", at(60), 12000, "F1", "F2"))
}

// operation is one writing request.
type operation struct{ name, path, body string }

func operations() []operation {
	late, new := epoch.Add(20*time.Hour), epoch.Add(70*time.Hour)
	return []operation{
		{"import now and late in F1", "/v1/pieces", piece("P1", new, 11000, "F1") + piece("P2", late, 11000, "F1")},
		{"import now and late in F2", "/v1/pieces", piece("Q1", new, 12500, "F2") + piece("Q2", late, 12500, "F2")},
		{"change F1 to C", "/v1/changes", change("F1", "work", "C", time.Time{})},
		{"change F2 to C", "/v1/changes", change("F2", "work", "C", time.Time{})},
		{"empty F1, stated", "/v1/changes", `{"stand":"F1","role":"work","empty":true,"stated_tonnage_t":100,"stated_rolled_km":10}`},
		{"break C", "/v1/sets/C/breakings", `{"reason":"why"}`},
		{"hold AT", "/v1/rolls/AT/holds", `{"reason":"why"}`},
		{"mishap in F1", "/v1/incidents", `{"what":"cobble","stand":"F1"}`},
		{"grind CT", "/v1/rolls/CT/regrinds", `{"found_mm":699.99,"ground_mm":699.9,"purpose":"wear"` + sure},
		{"inspect CT", "/v1/rolls/CT/inspections", `{"tests":[{"test":"visual","outcome":"failed"}]}`},
		{"pair X and Y", "/v1/sets", `{"name":"XY","top":"X","bottom":"Y"}`},
		{"scrap X", "/v1/rolls/X/scrappings", `{"why":"crack","reason":"why"}`},
		{"fit K1 to C", "/v1/chocks/K1/fittings", `{"set":"C","place":"top_operator"}`},
		{"receive Z", "/v1/rolls", receipt("Z", "work", 700, epoch)},
		{"correct AT", "/v1/rolls/AT/corrections", `{"entry":1,"reason":"why","receipt":{"barrel_length_mm":1790}}`},
	}
}

// always are the pairs that run each time; the others take minutes.
var always = [][2]string{
	{"import now and late in F1", "import now and late in F2"}, {"import now and late in F1", "change F1 to C"}, {"change F1 to C", "change F2 to C"},
	{"change F1 to C", "fit K1 to C"}, {"pair X and Y", "scrap X"},
}

// TestPairsSideBySide runs operations two at a time, and wants what one of the
// two orders gives. On PostgreSQL both are held up at their first writing, after
// all that they read without a lock, so that they do overlap.
func TestPairsSideBySide(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, template string) {
		now := epoch
		s := open(t, embedded.Options{Path: template, MaxConns: 2, Now: func() time.Time { return now }})
		pairWorks(s, &now)
		s.close()
		now = now.Add(time.Hour) // names are made from the moment: no two of the same
		ran := 0
		for i, a := range operations() {
			for _, b := range operations()[i:] {
				if *allPairs || slices.Contains(always, [2]string{a.name, b.name}) {
					sideBySide(t, template, now, a, b)
					ran++
				}
			}
		}
		t.Logf("%d pairs", ran)
	})
}

// outcome is what became of two operations and what is kept afterwards.
type outcome struct{ answers, kept string }

func sideBySide(t *testing.T, template string, now time.Time, a, b operation) {
	t.Helper()
	if a.name == b.name {
		b.body = strings.NewReplacer(`"P1"`, `"P3"`, `"P2"`, `"P4"`, `"Q1"`, `"Q3"`, `"Q2"`, `"Q4"`).Replace(b.body)
	}
	run := func(work func(hold func() func(), doA, doB func() reply) [2]reply) outcome {
		database, again := copied(t, template)
		s := open(t, embedded.Options{Path: database, MaxConns: 6, Now: func() time.Time { return now }})
		defer s.close()
		do := func(o operation) func() reply {
			header := ifMatch(s, o) // read before either
			return func() reply { return send(s.url, "POST", o.path, newKey(), o.body, header...) }
		}
		replies := work(func() func() { return again.holdWriters(t) }, do(a), do(b))
		statuses := fmt.Sprint(verdict(replies[0]), " ", verdict(replies[1]))
		if err := s.service.Verify(t.Context()); err != nil {
			t.Errorf("%s, %s: %v", a.name, b.name, err)
		}
		return outcome{statuses, again.kept(t)}
	}
	first := run(func(_ func() func(), doA, doB func() reply) [2]reply {
		x := doA()
		if x.status/100 != 2 || bytes.Contains(x.body, []byte(`"refused"`)) {
			t.Fatalf("%q by itself: %s", a.name, x)
		}
		return [2]reply{x, doB()}
	})
	second := run(func(_ func() func(), doA, doB func() reply) [2]reply { y := doB(); return [2]reply{doA(), y} })
	together := run(func(hold func() func(), doA, doB func() reply) (replies [2]reply) {
		var g sync.WaitGroup
		release := hold()
		g.Go(func() { replies[0] = doA() })
		g.Go(func() { replies[1] = doB() })
		release()
		g.Wait()
		return replies
	})
	if together != first && together != second {
		t.Errorf("%q and %q side by side are like neither order:\n%s", a.name, b.name, difference(together, first, second))
	}
}

// verdict is a status without what depends on the order of two refusals.
func verdict(r reply) int {
	if r.status == 412 {
		return 409
	}
	return r.status
}

// ifMatch is the header that breaking a set must have.
func ifMatch(s *site, o operation) []string {
	if !strings.HasSuffix(o.path, "/breakings") {
		return nil
	}
	return []string{"If-Match", s.get(strings.TrimSuffix(o.path, "/breakings")).header.Get("ETag")}
}

func difference(got, one, other outcome) string {
	text := fmt.Sprintf("answers %s; in turn %s or %s\n", got.answers, one.answers, other.answers)
	left, right, third := strings.Split(got.kept, "\n"), strings.Split(one.kept, "\n"), strings.Split(other.kept, "\n")
	for i, line := range left {
		if i < len(right) && i < len(third) && line != right[i] && line != third[i] {
			text += fmt.Sprintf("kept %.300s\nor   %.300s\nor   %.300s\n", line, right[i], third[i])
		}
	}
	return text
}

// rawDatabase reads a database past the service.
type rawDatabase struct {
	driver, dsn string
}

// holdWriters keeps every writing of pieces, entries and audit waiting on
// PostgreSQL until the result is called, which first gives both time to come
// there. On a data file there is nothing to hold: it has one writer.
func (d rawDatabase) holdWriters(t *testing.T) func() {
	if d.driver == "sqlite" {
		return func() {}
	}
	db, err := sql.Open(d.driver, d.dsn)
	if err != nil {
		t.Fatal(err)
	}
	tx, err := db.BeginTx(context.Background(), nil)
	if err == nil {
		_, err = tx.Exec("LOCK TABLE pieces, entries, chock_entries, audit, mountings, sets IN SHARE MODE")
	}
	if err != nil {
		t.Fatal(err)
	}
	return func() {
		time.Sleep(60 * time.Millisecond)
		_ = tx.Rollback()
		_ = db.Close()
	}
}

// tables are what is compared; columns that name a request or a moment of
// recording are not.
var tables = map[string]string{
	"entries": "roll, number, kind, happened_at, reason, body", "roll_states": "number, version, stage, stand, set_name, held, diameter_um, totals",
	"sets": "name, top, bottom, broken_at, stand, version", "mountings": "roll, stand, position, set_name, mounted_at, withdrawn_at, diameter_um, usage",
	"changes": "stand, role, happened_at, set_out, set_in, why, stated_t", "incidents": "what, stand, happened_at, rolls", "pieces": "source, id, mill, rolled_at",
	"piece_counts": "mill, pieces", "chocks": "name, set_name, place, version", "chock_entries": "chock, number, kind, happened_at", "grinds": "roll, entry, happened_at, found_um, ground_um",
	"roll_damage": "roll, diameter_um, stations, layers, layer_mm, off_mm, thermal_um, damage",
}

// kept is all of it as text. Names that the service made up are left out, and
// figures are rounded to what two orders of adding leave the same.
func (d rawDatabase) kept(t *testing.T) string {
	db, err := sql.Open(d.driver, d.dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var all []string
	for _, table := range sortedKeys(tables) {
		all = append(all, rowsOf(t, db, table, tables[table])...)
	}
	text := strings.Join(all, "\n")
	text = madeUp.ReplaceAllString(text, "$1-…")
	return figure.ReplaceAllStringFunc(text, rounded)
}

var (
	madeUp = regexp.MustCompile(`(change|incident|set)-[0-9a-z]{13}`)
	figure = regexp.MustCompile(`-?\d+\.\d{6,}(e[-+]?\d+)?|-?\d+(\.\d+)?e[-+]?\d+`)
)
