package store_test

import (
	"database/sql"
	"errors"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/store"
	"barrelbook/domain/mill"
)

// shop opens a store with the rolls named, of four entries each.
func shop(t *testing.T, d database, numbers ...string) *store.Store {
	s, err := d.open(store.Options{Migrate: true, Volatile: true})
	opened(t, s, err)
	err = s.Write(t.Context(), func(w port.Writer) error { return w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}) })
	for _, number := range numbers {
		for range 4 {
			err = errors.Join(err, appendOne(t.Context(), s, number))
		}
	}
	if err := errors.Join(err, s.Verify(t.Context())); err != nil {
		t.Fatal(err)
	}
	return s
}

// TestAppendOnly goes past the service and wants the database itself to keep
// the entries as they are.
func TestAppendOnly(t *testing.T) {
	databases(t, func(t *testing.T, d database) {
		s := shop(t, d, "W1", "W2")
		db := d.raw(t)
		for _, statement := range []string{
			"UPDATE entries SET reason = 'x' WHERE roll = 'W1'",
			"DELETE FROM entries WHERE roll = 'W1' AND number = 4",
			"DELETE FROM entries",
			"TRUNCATE entries",
			"INSERT OR REPLACE INTO entries SELECT roll, number, kind, happened_at, recorded_at, recorded_by, 'x', body, hash FROM entries WHERE number = 2",
			"INSERT INTO entries (roll, number, kind, happened_at, recorded_at, recorded_by, reason, body, hash) SELECT roll, number, kind, happened_at, recorded_at, recorded_by, reason, body, hash FROM entries WHERE number = 2 ON CONFLICT (roll, number) DO UPDATE SET reason = 'x'",
		} {
			if _, err := db.Exec(statement); err == nil {
				t.Errorf("the database took %s", statement)
			}
		}
		if err := s.Verify(t.Context()); err != nil {
			t.Error(err)
		}
	})
}

// TestTampering takes the guards off, changes one thing in each of many books,
// and wants Verify to name those rolls and entries and no others.
func TestTampering(t *testing.T) {
	cases := []struct {
		roll, statement string
		entry           int64
		why             string
	}{
		{"body", `UPDATE entries SET body = replace(body, 'passed', 'failed') WHERE roll = $1 AND number = 3`, 3, "hash"},
		{"moment", `UPDATE entries SET happened_at = happened_at + 1 WHERE roll = $1 AND number = 2`, 2, "hash"},
		{"person", `UPDATE entries SET recorded_by = 'b' WHERE roll = $1 AND number = 4`, 4, "hash"},
		{"blank-in-the-body", `UPDATE entries SET body = body || ' ' WHERE roll = $1 AND number = 1`, 1, "hash"},
		{"unknown-field", `UPDATE entries SET body = '{"new":1}' WHERE roll = $1 AND number = 2`, 2, "unknown field"},
		{"out-of-the-middle", `DELETE FROM entries WHERE roll = $1 AND number = 2`, 2, "missing"},
		{"off-the-end", `DELETE FROM entries WHERE roll = $1 AND number = 4`, 0, "off the end"},
		{"whole-book", `DELETE FROM entries WHERE roll = $1`, 0, "no entry"},
		{"projection", `DELETE FROM roll_states WHERE number = $1`, 0, "no projection"},
		{"column", `UPDATE roll_states SET stage = 'scrapped' WHERE number = $1`, 0, "another state"},
		{"state", `UPDATE roll_states SET state = replace(state, '"diameter_um":740000', '"diameter_um":740001') WHERE number = $1`, 0, "another state"},
	}
	numbers := []string{"A", "whole", "z"} // three that nobody touches
	for _, c := range cases {
		numbers = append(numbers, c.roll)
	}
	databases(t, func(t *testing.T, d database) {
		s := shop(t, d, numbers...)
		db := d.raw(t)
		guardsOff(t, db)
		for _, c := range cases {
			result, err := db.Exec(c.statement, c.roll)
			if err != nil {
				t.Fatalf("%s: %v", c.roll, err)
			}
			if n, err := result.RowsAffected(); n == 0 || err != nil {
				t.Fatalf("%s: %d rows changed, %v", c.roll, n, err)
			}
		}
		found, unsealed := map[string]*store.Damage{}, map[string]bool{}
		for _, err := range s.Verify(t.Context()).(interface{ Unwrap() []error }).Unwrap() {
			var damage *store.Damage
			switch {
			case !errors.As(err, &damage) || found[damage.Roll] != nil:
				t.Fatalf("%v: no damage, or a roll named twice", err)
			case damage.Table != "":
				unsealed[damage.Table+" "+damage.Key] = true
			default:
				found[damage.Roll] = damage
			}
		}
		for _, c := range cases {
			table, _, _ := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(c.statement, "DELETE FROM "), "UPDATE "), " ")
			if !unsealed[table+" "+c.roll] {
				t.Errorf("the seals do not show %s in table %s", c.roll, table)
			}
			delete(unsealed, table+" "+c.roll)
			if got := found[c.roll]; got == nil || got.Entry != c.entry || !strings.Contains(got.Why, c.why) {
				t.Errorf("verify says of roll %s: %v, want entry %d: … %s …", c.roll, got, c.entry, c.why)
			}
			delete(found, c.roll)
		}
		if len(found) > 0 || len(unsealed) > 0 {
			t.Errorf("verify blames what nobody touched: %v %v", found, unsealed)
		}
	})
}

// guardsOff takes away what keeps others from writing.
func guardsOff(t *testing.T, db *sql.DB) {
	t.Helper()
	rows, err := db.Query("SELECT name FROM sqlite_master WHERE type = 'trigger'")
	if err != nil { // PostgreSQL
		if _, err := db.Exec("ALTER TABLE entries DISABLE TRIGGER entries_keep_rows; ALTER TABLE chock_entries DISABLE TRIGGER USER"); err != nil {
			t.Fatal(err)
		}
		return
	}
	defer rows.Close()
	var triggers []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		triggers = append(triggers, name)
	}
	for _, trigger := range triggers {
		if _, err := db.Exec("DROP TRIGGER " + trigger); err != nil {
			t.Fatal(err)
		}
	}
}

// TestOutsidersShow lets a session that is not the service's write to one table after
// another. On PostgreSQL the triggers of the seals are there and do not heed it; on
// SQLite they are taken away, because no other program could write past them.
func TestOutsidersShow(t *testing.T) {
	databases(t, func(t *testing.T, d database) {
		s := shop(t, d, "W1", "W2")
		err := s.Write(t.Context(), func(w port.Writer) error {
			return errors.Join(w.WriteAudit(port.AuditRow{At: time.Unix(1_800_000_000, 0), By: "a", What: "b"}), w.CreateMill(mill.Mill{Name: "PLATE", Kind: mill.Plate}),
				w.CreateToken(port.TokenRow{Name: "t", Hash: "h", Role: port.Viewer, ExpiresAt: time.Unix(1_900_000_000, 0)}))
		})
		if err = errors.Join(err, s.Verify(t.Context())); err != nil {
			t.Fatal(err)
		}
		db := d.raw(t)
		guardsOff(t, db)
		for _, c := range []struct{ table, key, do string }{
			{"audit", "of the hour from 2027-01-15 08:00Z", "DELETE FROM audit"},
			{"mills", "PLATE", "UPDATE mills SET title = 'x' WHERE name = 'PLATE'"},
			{"tokens", "t", "UPDATE tokens SET role = 'admin'"},
			{"entries", "W2", "DELETE FROM entries WHERE roll = 'W2'"},
			{"piece_counts", "PLATE", "INSERT INTO piece_counts VALUES ('PLATE', 5)"},
		} {
			if _, err := db.Exec(c.do); err != nil {
				t.Fatalf("%s: %v", c.do, err)
			}
			found := false
			for _, err := range s.Verify(t.Context()).(interface{ Unwrap() []error }).Unwrap() {
				var damage *store.Damage
				found = found || errors.As(err, &damage) && damage.Table == c.table && damage.Key == c.key
			}
			if !found {
				t.Errorf("%s: verify does not name %s %s: %v", c.do, c.table, c.key, s.Verify(t.Context()))
			}
		}
	})
}
