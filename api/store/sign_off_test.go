package store_test

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/store"
	"barrelbook/domain/mill"
)

// forge gives a session whose writing is sealed as the service's own is, with the
// guards of the books off: what it does leaves the seals in agreement.
func (d database) forge(t *testing.T) *sql.DB {
	t.Helper()
	db := d.sealing(t)
	db.SetMaxOpenConns(1)
	rows, err := db.Query("SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%keep%'")
	if err != nil { // PostgreSQL
		if _, err := db.Exec("ALTER TABLE entries DISABLE TRIGGER entries_keep_rows; SET barrelbook.writer = 'on'"); err != nil {
			t.Fatal(err)
		}
		return db
	}
	var guards []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		guards = append(guards, "DROP TRIGGER "+name)
	}
	if err := rows.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(strings.Join(guards, "; ")); err != nil {
		t.Fatal(err)
	}
	return db
}

func signOff(t *testing.T, s *store.Store, note string) port.SignOff {
	t.Helper()
	var signed port.SignOff
	err := s.Write(t.Context(), func(w port.Writer) (err error) {
		signed, err = w.SignOff(port.SignOff{At: time.Unix(1_800_000_000, 0).UTC(), By: "chief", Note: note})
		return err
	})
	if err = errors.Join(err, s.Verify(t.Context())); err != nil {
		t.Fatal(err)
	}
	return signed
}

// TestSignedOffShows takes rows away past the service and makes the seals agree, one
// kind after another in one works. The chain of sign-offs names table and part.
func TestSignedOffShows(t *testing.T) {
	cases := []struct{ name, do, table, key, says string }{
		{"newest entries", "DELETE FROM entries WHERE roll = 'W1' AND number = 4", "entries", "W1", "holds 4 rows and there are now 3"},
		{"a whole roll", "DELETE FROM entries WHERE roll = 'W2'; DELETE FROM roll_states WHERE number = 'W2'", "entries", "W2", "holds 4 rows and there are now 0"},
		{"a body, below later entries", "UPDATE entries SET body = replace(body, 'passed', 'failed') WHERE roll = 'W3' AND number = 3", "entries", "W3", "the first 4 rows are not those of sign-off 1"},
		{"the tail of the audit", "DELETE FROM audit WHERE id = (SELECT max(id) FROM audit)", "audit", "of the hour from 2027-01-15 10:00Z", "holds 2 rows and there are now 1"},
		{"a line of the audit", "UPDATE audit SET actor = 'b' WHERE what = 'b'", "audit", "of the hour from 2027-01-15 08:00Z", "rows were changed"},
		{"a mill", "DELETE FROM mills WHERE name = 'PLATE'", "mills", "PLATE", "there are now 0"},
		{"a token", "DELETE FROM tokens", "tokens", "t", "there are now 0"},
		{"pieces", "DELETE FROM pieces WHERE id = 'p2'; UPDATE piece_counts SET pieces = 1", "pieces", "HSM of the hour from 2027-01-15 08:00Z", "holds 2 rows and there are now 1"},
		{"a head", "UPDATE signed_heads SET kept = 1 WHERE source = 'audit'", "sign_offs", "number 1", "not what its hash was taken over"},
		{"a sign-off", "DELETE FROM sign_offs WHERE number = 1", "sign_offs", "number 1", "missing"},
		{"the whole chain", "DELETE FROM signed_heads", "sign_offs", "", "no sign-off has the hash"},
	}
	databases(t, func(t *testing.T, d database) {
		s := shop(t, d, "W1", "W2", "W3")
		at := time.Unix(1_800_000_000, 0).UTC()
		err := s.Write(t.Context(), func(w port.Writer) error {
			_, err := w.InsertPieces([]mill.Piece{{Source: "l2", ID: "p1", Mill: "HSM", RolledAt: at}, {Source: "l2", ID: "p2", Mill: "HSM", RolledAt: at}})
			return errors.Join(err, w.WriteAudit(port.AuditRow{At: at, By: "a", What: "b"}), w.WriteAudit(port.AuditRow{At: at, By: "a", What: "c"}),
				w.WriteAudit(port.AuditRow{At: at.Add(2 * time.Hour), By: "a", What: "d"}), w.WriteAudit(port.AuditRow{At: at.Add(2 * time.Hour), By: "a", What: "e"}),
				w.CreateMill(mill.Mill{Name: "PLATE", Kind: mill.Plate}), w.CreateToken(port.TokenRow{Name: "t", Hash: "h", Role: port.Viewer, ExpiresAt: time.Unix(1_900_000_000, 0)}))
		})
		if err != nil {
			t.Fatal(err)
		}
		noted := signOff(t, s, "first").Hash
		// The works goes on.
		if err := errors.Join(appendOne(t.Context(), s, "W3"), s.VerifySigned(t.Context(), noted)); err != nil {
			t.Fatal(err)
		}
		db := d.forge(t)
		for _, c := range cases {
			for _, statement := range strings.Split(c.do, "; ") {
				r, err := db.Exec(statement)
				if err != nil {
					t.Fatal(err)
				}
				if n, _ := r.RowsAffected(); n == 0 {
					t.Fatalf("nothing to do for %s", statement)
				}
			}
			found := false
			err := s.VerifySigned(t.Context(), noted)
			for _, err := range err.(interface{ Unwrap() []error }).Unwrap() {
				var damage *store.Damage
				found = found || errors.As(err, &damage) && damage.Table == c.table && damage.Key == c.key && strings.Contains(damage.Why, c.says)
			}
			if !found {
				t.Errorf("%s: verify does not say of table %s, %s: … %s …\n%v", c.name, c.table, c.key, c.says, err)
			}
		}
	})
}

// TestSignOffsGoOn: each holds what has changed since the one before it, and a loss
// that a later one was signed over still shows.
func TestSignOffsGoOn(t *testing.T) {
	databases(t, func(t *testing.T, d database) {
		s := shop(t, d, "W1", "W2")
		for i := range 3 {
			if err := appendOne(t.Context(), s, "W1"); err != nil {
				t.Fatal(err)
			}
			if got := signOff(t, s, fmt.Sprint(i)); got.Number != int64(i+1) || got.Kept == 0 || len(got.Hash) != 64 {
				t.Fatalf("%+v", got)
			}
		}
		db := d.forge(t)
		var heads int
		if err := db.QueryRow("SELECT count(*) FROM signed_heads WHERE source = 'entries'").Scan(&heads); err != nil || heads != 4 {
			t.Errorf("%d heads of books, want 2 of the first sign-off and 1 of each later, %v", heads, err)
		}
		if _, err := db.Exec("DELETE FROM entries WHERE roll = 'W2' AND number = 4"); err != nil {
			t.Fatal(err)
		}
		err := s.Write(t.Context(), func(w port.Writer) error {
			_, err := w.SignOff(port.SignOff{At: time.Unix(1_800_000_000, 0), By: "service"})
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		var damage *store.Damage
		if err := s.Verify(t.Context()); !errors.As(err, &damage) || !strings.Contains(damage.Error(), "table entries, W2: sign-off 1 of 2027-01-15 08:00Z by chief holds 4 rows and sign-off 4 3") {
			t.Errorf("a loss that was signed over: %v", err)
		}
	})
}
