package storetest

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
)

func testTransactions(t *testing.T, s Store) {
	if err := s.Ping(t.Context()); err != nil {
		t.Fatalf("ping: %v", err)
	}
	mine := errors.New("mine")
	err := s.Write(t.Context(), func(w port.Writer) error {
		if err := w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}); err != nil {
			return err
		}
		if _, err := w.Mill("HSM"); err != nil { // a transaction reads what it wrote
			return err
		}
		return mine
	})
	if !errors.Is(err, mine) {
		t.Errorf("the error of fn came back as %v", err)
	}
	read(t, s, func(r port.Reader) error {
		if _, err := r.Mill("HSM"); !port.IsKind(err, port.NotFound) {
			t.Errorf("a mill of a transaction that was taken back: %v", err)
		}
		return nil
	})
	func() {
		defer func() {
			if recover() == nil {
				t.Error("a panic in fn was swallowed")
			}
		}()
		_ = s.Write(t.Context(), func(w port.Writer) error {
			_ = w.CreateMill(mill.Mill{Name: "P", Kind: mill.Bar})
			panic("in fn")
		})
	}()
	// The panic left neither a lock nor a mill.
	write(t, s, func(w port.Writer) error { return w.CreateMill(mill.Mill{Name: "P", Kind: mill.Bar}) })
	done, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.Write(done, func(port.Writer) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("write with a context that is done: %v", err)
	}
	if err := s.Read(done, func(port.Reader) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("read with a context that is done: %v", err)
	}
	// Ending after the transaction, a handle reads nothing.
	var late port.Reader
	read(t, s, func(r port.Reader) error { late = r; return nil })
	if _, _, err := late.Mills(port.Page{}); err == nil {
		t.Error("a reader worked after its transaction")
	}
}

// testSnapshot wants a reader to see one moment while others write.
func testSnapshot(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	read(t, s, func(r port.Reader) error {
		first, err := r.Roll("W1")
		if err != nil {
			return err
		}
		write(t, s, func(w port.Writer) error {
			if _, err := enter(w, "W1", hours(1), looked()); err != nil {
				return err
			}
			_, err := enter(w, "W2", hours(1), looked())
			return err
		})
		again, err1 := r.Roll("W1")
		other, err2 := r.Roll("W2")
		book, err3 := r.Book("W1")
		if again.Version() != first.Version() || other.Version() != 1 || len(book) != 1 {
			t.Errorf("a reader saw a later moment: W1 v%d then v%d with %d entries, W2 v%d", first.Version(), again.Version(), len(book), other.Version())
		}
		return errors.Join(err1, err2, err3)
	})
	read(t, s, func(r port.Reader) error {
		now, err := r.Roll("W1")
		if now.Version() != 2 {
			t.Errorf("a later reader sees version %d, want 2", now.Version())
		}
		return err
	})
}

// testLocks has transactions that lock the same things named in different
// orders, read, wait and write: none may fail, and none may miss another.
func testLocks(t *testing.T, s Store) {
	works(t, s)
	numbers := []string{"W1", "W2", "W3", "W4"}
	received(t, s, numbers...)
	const workers, rounds = 4, 5
	var g errgroup.Group
	for i := range workers {
		g.Go(func() error {
			for k := range rounds {
				err := s.Write(t.Context(), func(w port.Writer) error {
					mine := slices.Concat(numbers[i:], numbers[:i], []string{"unknown"})
					if err := errors.Join(w.LockStands([]string{"F2", "F1"}[i%2:]), w.LockRolls(mine)); err != nil {
						return err
					}
					rows, err := w.RollsByNumber(mine)
					if err != nil {
						return err
					}
					time.Sleep(time.Millisecond)
					for _, row := range rows {
						if _, err := follow(w, row, row.State.Roll.Number, row.State.LastAt, looked()); err != nil {
							return fmt.Errorf("worker %d round %d: %w", i, k, err)
						}
					}
					return nil
				})
				if err != nil {
					return err
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	read(t, s, func(r port.Reader) error {
		rows, err := r.RollsByNumber(numbers)
		for _, row := range rows {
			if want := int64(1 + workers*rounds); row.Version() != want {
				t.Errorf("roll %s is at version %d, want %d", row.State.Roll.Number, row.Version(), want)
			}
		}
		return err
	})
}

// testConcurrency has many hands write to few books without locks, each again
// when it finds its book changed, and counts.
func testConcurrency(t *testing.T, s Store) {
	works(t, s)
	numbers := []string{"W1", "W2", "W3"}
	received(t, s, numbers...)
	const hands, each = 8, 12
	var mu sync.Mutex
	acknowledged, lost := map[string]int64{}, 0
	var g errgroup.Group
	for i := range hands {
		g.Go(func() error {
			for k := range each {
				number := numbers[(i+k)%len(numbers)]
				for {
					err := attempt(t.Context(), s, number)
					if port.IsKind(err, port.Stale) {
						mu.Lock()
						lost++
						mu.Unlock()
						continue
					}
					if err != nil {
						return err
					}
					break
				}
				mu.Lock()
				acknowledged[number]++
				mu.Unlock()
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d entries acknowledged, %d attempts were stale", hands*each, lost)
	read(t, s, func(r port.Reader) error {
		for _, number := range numbers {
			row, err := r.Roll(number)
			if err != nil {
				return err
			}
			book, err := r.Book(number)
			if err != nil {
				return err
			}
			if want := acknowledged[number] + 1; row.Version() != want || int64(len(book)) != want {
				t.Errorf("roll %s: version %d and %d entries, but %d were acknowledged", number, row.Version(), len(book), want)
			}
		}
		return nil
	})
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}

// attempt reads a roll in one transaction and appends in another, so that
// somebody may come between.
func attempt(ctx context.Context, s port.Store, number string) error {
	var row port.RollRow
	err := s.Read(ctx, func(r port.Reader) (err error) {
		row, err = r.Roll(number)
		return err
	})
	if err != nil {
		return err
	}
	return s.Write(ctx, func(w port.Writer) error {
		_, err := follow(w, row, number, row.State.LastAt, looked())
		return err
	})
}
