package store_test

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"

	"barrelbook/api/app/port"
	"barrelbook/api/store/pgtest"
	"barrelbook/domain/mill"
)

// TestDeadlock has pairs of transactions take two stands the wrong way round.
// PostgreSQL takes one of each pair back; it must run again and both be kept.
func TestDeadlock(t *testing.T) {
	dsn := pgtest.DSN(t)
	if err := presetDatabase(t, dsn, "deadlock_timeout", "20ms"); err != nil {
		t.Logf("the server looks for deadlocks in its own time: %v", err)
	}
	s := openPostgres(t, dsn)
	err := s.Write(t.Context(), func(w port.Writer) error {
		if err := w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip}); err != nil {
			return err
		}
		for _, name := range []string{"F1", "F2"} {
			if err := w.CreateStand(mill.Stand{Name: name, Mill: "HSM", Arrangement: mill.TwoHigh}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	var runs atomic.Int64
	var g errgroup.Group
	both := make(chan struct{}) // closed when both hold their first stand
	var holding atomic.Int64
	for i, order := range [][]string{{"F1", "F2"}, {"F2", "F1"}} {
		g.Go(func() error {
			return s.Write(t.Context(), func(w port.Writer) error {
				runs.Add(1)
				if err := w.LockStands(order[:1]); err != nil {
					return err
				}
				if holding.Add(1) == 2 {
					close(both)
				}
				select {
				case <-both:
				case <-time.After(10 * time.Second):
					return fmt.Errorf("transaction %d waited for the other in vain", i)
				}
				if err := w.LockStands(order[1:]); err != nil {
					return err
				}
				return w.WriteAudit(port.AuditRow{At: time.Now(), By: "a", What: fmt.Sprint(i)})
			})
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
	if runs.Load() < 3 {
		t.Errorf("the transactions ran %d times: no deadlock came about, and nothing was tested", runs.Load())
	}
	err = s.Read(t.Context(), func(r port.Reader) error {
		rows, _, err := r.Audit(port.AuditFilter{}, port.Page{})
		if len(rows) != 2 {
			t.Errorf("%d of 2 transactions were kept", len(rows))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
