package store

import (
	"testing"

	"barrelbook/api/app/port"
	"barrelbook/api/store/pgtest"
)

// TestLateEventIsNotSkipped keeps two transactions in the other order than that in
// which they drew their ids: the follower who has read the second reads the first
// when it is kept.
func TestLateEventIsNotSkipped(t *testing.T) {
	s, err := OpenPostgres(t.Context(), pgtest.DSN(t), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	change := func(name string, before, after func()) error {
		return s.Write(t.Context(), func(w port.Writer) error {
			if err := w.CreateChange(port.ChangeRow{Name: name}); err != nil {
				return err
			}
			before()
			err := w.(*writer).writeEvents()
			w.(*writer).untold = nil
			after()
			return err
		})
	}
	nothing := func() {}
	written, goOn, first := make(chan struct{}), make(chan struct{}), make(chan error)
	go func() {
		first <- change("FIRST", nothing, func() { close(written); <-goOn })
	}()
	<-written
	if err := change("SECOND", nothing, nothing); err != nil {
		t.Fatal(err)
	}
	place := port.EventPlace{}
	var subjects []string
	follow := func() {
		t.Helper()
		if err := s.OrderEvents(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := s.Read(t.Context(), func(r port.Reader) error {
			some, next, err := r.Events(port.EventFilter{}, place, 10)
			place = next
			for _, e := range some {
				subjects = append(subjects, e.Subject)
			}
			return err
		}); err != nil {
			t.Fatal(err)
		}
	}
	follow()
	close(goOn)
	if err := <-first; err != nil {
		t.Fatal(err)
	}
	follow()
	if len(subjects) != 2 || subjects[0] != "changes/SECOND" || subjects[1] != "changes/FIRST" {
		t.Errorf("followed: %v", subjects)
	}
}
