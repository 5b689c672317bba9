package store

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"barrelbook/api/app/port"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// TestOldProjectionsAreReadAnew opens books whose projections an older version
// made: after the start they are those a replay gives, and stay so.
func TestOldProjectionsAreReadAnew(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) {
		s, err := OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "d.db"), Options{Migrate: true, Volatile: true})
		testReproject(t, s, err)
	})
	t.Run("postgres", func(t *testing.T) {
		s, err := OpenPostgres(t.Context(), pgtest.DSN(t), Options{Migrate: true})
		testReproject(t, s, err)
	})
}

func testReproject(t *testing.T, s *Store, err error) {
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	at := time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)
	must(s.Write(t.Context(), func(w port.Writer) error {
		if err := w.CreateMill(mill.Mill{Name: "M", Kind: mill.HotStrip}); err != nil {
			return err
		}
		if err := w.CreateGrade(port.Grade{Name: "g", Family: "forged_steel"}); err != nil {
			return err
		}
		var row port.RollRow
		for i, body := range []roll.Body{
			roll.Received{Roll: roll.Roll{Number: "R1", Role: mill.Work, Grade: "g", NewDiameter: 700_000, BarrelLength: 2_000_000, Scrap: roll.ScrapLimits{Nominal: 640_000}}, Mill: "M", Diameter: 700_000},
			roll.Reground{Found: 700_000, FoundAsRead: 700_000, Ground: 699_500, MaxPlausible: 8000, For: roll.ForIncoming, Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}},
		} {
			e := roll.Entry{Roll: "R1", Number: int64(i + 1), At: at.Add(time.Duration(i) * time.Hour), RecordedAt: at.Add(time.Duration(i) * time.Hour), By: "A. Hand", Body: body}
			after, err := roll.Append(row.State, e, func() ([]roll.Entry, error) { return w.Book("R1") })
			if err != nil {
				return err
			}
			if row, err = w.Append(row, e, after); err != nil {
				return err
			}
		}
		return nil
	}))
	// What the version before this rule kept: no tests seen.
	var row rollRow
	must(s.write.Where("number = ?", "R1").Take(&row).Error)
	state, err := decodeState(row.State)
	must(err)
	want := state
	state.Tested = nil
	old, err := encodeState(state)
	must(err)
	must(s.write.Model(&rollRow{}).Where("number = ?", "R1").Updates(map[string]any{"state": old}).Error)
	if s.Verify(t.Context()) == nil {
		t.Fatal("a projection that lacks a test was taken for whole")
	}
	must(s.write.Model(&rollRow{}).Where("number = ?", "R1").Updates(map[string]any{"rules": 0}).Error)
	must(s.Verify(t.Context())) // by its rules it says all it can
	must(s.Migrate(t.Context()))
	must(s.Verify(t.Context()))
	must(s.Read(t.Context(), func(r port.Reader) error {
		got, err := r.Roll("R1")
		if d := cmp.Diff(want, got.State, cmpopts.EquateEmpty()); d != "" {
			t.Error(d)
		}
		return err
	}))
}
