package store_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/store"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// crashChild holds the database for a copy of this binary that appends until
// it is killed.
const crashChild = "BARRELBOOK_TEST_CRASH_CHILD"

// TestKilledProcess kills a process in the middle of writing. Every entry that
// it had reported must be there, at most one more, and the books whole.
func TestKilledProcess(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) { testKilled(t, "sqlite:"+tempFile(t)) })
	t.Run("postgres", func(t *testing.T) { testKilled(t, pgtest.EmptyDSN(t)) })
}

func testKilled(t *testing.T, database string) {
	binary, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	child := exec.Command(binary)
	child.Env = append(os.Environ(), crashChild+"="+database)
	child.Stderr = os.Stderr
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	var acknowledged int64
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if _, err := fmt.Sscan(lines.Text(), &acknowledged); err != nil {
			t.Fatalf("the child said %q", lines.Text())
		}
		if acknowledged == 40 { // in the middle of the next, with what is in the pipe to come
			if err := child.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	var exit *exec.ExitError
	if err := child.Wait(); !errors.As(err, &exit) || exit.ExitCode() != -1 {
		t.Fatalf("the child was not killed: %v", err)
	}
	if acknowledged < 40 {
		t.Fatalf("the child reported %d entries only", acknowledged)
	}
	s, err := openAny(t.Context(), database)
	opened(t, s, err)
	err = s.Read(t.Context(), func(r port.Reader) error {
		row, err := r.Roll("W1")
		if err != nil {
			return err
		}
		book, err := r.Book("W1")
		if stored := int64(len(book)); stored != row.Version() || stored < acknowledged || stored > acknowledged+1 {
			t.Errorf("%d entries were reported, %d are there, the version is %d", acknowledged, stored, row.Version())
		}
		return err
	})
	if err := errors.Join(err, s.Verify(t.Context())); err != nil {
		t.Error(err)
	}
}

func openAny(ctx context.Context, database string) (*store.Store, error) {
	if path, ok := strings.CutPrefix(database, "sqlite:"); ok {
		return store.OpenSQLite(ctx, path, store.Options{Migrate: true})
	}
	return store.OpenPostgres(ctx, database, store.Options{Migrate: true})
}

// appendUntilKilled is the child.
func appendUntilKilled() {
	ctx := context.Background()
	s, err := openAny(ctx, os.Getenv(crashChild))
	fatal(err)
	fatal(s.Write(ctx, func(w port.Writer) error { return w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}) }))
	for n := int64(1); ; n++ {
		fatal(appendOne(ctx, s, "W1"))
		fmt.Println(n)
	}
}

func fatal(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// appendOne receives the roll the first time and looks at it from then on.
func appendOne(ctx context.Context, s port.Store, number string) error {
	return s.Write(ctx, func(w port.Writer) error {
		if err := w.LockRolls([]string{number}); err != nil {
			return err
		}
		row, err := w.Roll(number)
		if err != nil && !port.IsKind(err, port.NotFound) {
			return err
		}
		now := time.Now()
		e := roll.Entry{Roll: number, Number: row.Version() + 1, At: now, RecordedAt: now, By: "a", Body: roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}}}
		if row.Version() == 0 {
			e.Body = roll.Received{Roll: roll.Roll{Number: number, Role: mill.Work, Grade: "HCR", BarrelLength: 2_000_000}, Mill: "HSM", Diameter: 740_000, Ground: true}
		}
		after, err := roll.Append(row.State, e, func() ([]roll.Entry, error) { return w.Book(number) })
		if err != nil {
			return err
		}
		_, err = w.Append(row, e, after)
		return err
	})
}
