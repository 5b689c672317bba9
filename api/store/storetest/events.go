package storetest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// events reads on from a place, a page of the size given at a time, until there is
// no more.
func events(t testing.TB, s port.Store, f port.EventFilter, after port.EventPlace, limit int) ([]port.Event, port.EventPlace) {
	t.Helper()
	if err := s.OrderEvents(t.Context()); err != nil {
		t.Fatal(err)
	}
	var all []port.Event
	for {
		var some []port.Event
		read(t, s, func(r port.Reader) (err error) {
			some, after, err = r.Events(f, after, limit)
			return err
		})
		if all = append(all, some...); len(some) < limit {
			return all, after
		}
	}
}

// testEvents wants an event of everything that is recorded, in order.
func testEvents(t *testing.T, s Store) {
	works(t, s)
	received(t, s, "W1", "W2")
	write(t, s, func(w port.Writer) error {
		set := port.SetRow{Name: "S", Role: mill.Work, Mill: "HSM", Top: "W1", Bottom: "W2", BuiltAt: day}
		in := set
		in.Version, in.Stand = 1, "F1"
		change := port.ChangeRow{Name: "C", Stand: "F1", Role: mill.Work, At: day, SetIn: "S"}
		incident := port.IncidentRow{Name: "I", What: roll.Cobble, Rolls: []string{"W2"}, At: day}
		_, err := w.InsertPieces([]mill.Piece{{Source: "m", ID: "1", Mill: "HSM", RolledAt: day}, {Source: "m", ID: "2", Mill: "HSM", RolledAt: day}})
		return errors.Join(err, w.CreateSet(set), w.ReplaceSet(in), w.CreateChange(change), w.MoveChange(change), w.UndoChange("C", day, "me", "why"),
			w.CreateIncident(incident), w.MoveIncident(incident), w.UndoIncident(incident.Name, hours(2), "ann", "typed wrong"),
			w.CreateCampaign(port.ProgrammeRow{Programme: mill.Programme{Name: "P", Mill: "HSM", StartsAt: day}}),
			w.CreateWearRates(port.WearRates{Version: 1, LearnedAt: day}),
			w.KeepForecasts([]port.ForecastRow{{Kind: port.ForecastWear, About: "a", Roll: "W1"}, {Kind: port.ForecastWear, About: "b", Roll: "W2"}, {Kind: port.ForecastFinish, About: "c", Stand: "B1"}}))
	})
	// What is refused, and what is taken back, is not told.
	refused(t, s, port.Conflicting, func(w port.Writer) error { return w.CreateGrade(port.Grade{Name: "HCR"}) })
	write(t, s, func(w port.Writer) error {
		if err := w.CreateGrade(port.Grade{Name: "HCR"}); !port.IsKind(err, port.Conflicting) {
			t.Errorf("a grade twice: %v", err)
		}
		return nil
	})
	got, end := events(t, s, port.EventFilter{}, port.EventPlace{}, 3)
	var lines []string
	for i, e := range got {
		if e.Position != int64(i+1) || e.At.IsZero() || e.At.Location() != time.UTC {
			t.Errorf("event %d is at %+v", i+1, e.EventPlace)
		}
		line := fmt.Sprintf("%s %s of %q", e.Kind, e.Subject, e.Mill)
		if e.Entry != nil {
			line += fmt.Sprint(" entry ", e.Entry.Roll, " ", e.Entry.Number)
		}
		lines = append(lines, line)
	}
	want := []string{`mill.added mills/HSM of "HSM"`, `mill.added mills/BAR of "BAR"`, `stand.added stands/F1 of "HSM"`, `stand.added stands/F2 of "HSM"`, `stand.added stands/B1 of "BAR"`,
		`grade.added grades/HCR of ""`, `entry.received rolls/W1 of "HSM" entry W1 1`, `entry.received rolls/W2 of "HSM" entry W2 1`, `pieces.stored pieces of "HSM"`, `set.built sets/S of "HSM"`,
		`set.changed sets/S of "HSM"`, `change.recorded changes/C of "HSM"`, `change.moved changes/C of "HSM"`, `change.undone changes/C of "HSM"`, `incident.recorded incidents/I of "HSM"`,
		`incident.moved incidents/I of "HSM"`, `incident.undone incidents/I of "HSM"`, `campaign.loaded campaigns/P of "HSM"`, `wear_rates.learned wear-rates of ""`, `forecast.kept forecasts of "HSM"`, `forecast.kept forecasts of "BAR"`}
	if !slices.Equal(lines, want) {
		t.Errorf("got\n%q\nwant\n%q", lines, want)
	}
	if kept := got[19]; kept.Count != 2 || !slices.Equal(kept.Rolls, []string{"W1", "W2"}) || kept.What != string(port.ForecastWear) {
		t.Errorf("forecasts of a kind in a mill: %+v", kept.EventData)
	}
	if change := got[11]; change.Stand != "F1" || change.SetIn != "S" || change.Role != "work" || !change.When.Equal(day) {
		t.Errorf("a change: %+v", change.EventData)
	}
	if end.Position != int64(len(want)) {
		t.Errorf("it ends at %d, want %d", end.Position, len(want))
	}
	some, upTo := events(t, s, port.EventFilter{Kinds: []string{"entry", "set.built"}, Mills: []string{"HSM"}}, got[6].EventPlace, 50)
	if len(some) != 2 || some[0].Subject != "rolls/W2" || some[1].Kind != port.EventSetBuilt || upTo != end {
		t.Errorf("filtered: %+v up to %v", some, upTo)
	}
	if bar, _ := events(t, s, port.EventFilter{Mills: []string{"BAR"}}, port.EventPlace{}, 50); len(bar) != 5 { // its own and those of no mill
		t.Errorf("of one mill: %+v", bar)
	}
	var oldest, newest port.EventPlace
	read(t, s, func(r port.Reader) (err error) { oldest, newest, err = r.EventSpan(); return err })
	if oldest != got[0].EventPlace || newest != end {
		t.Errorf("the span is %v to %v", oldest, newest)
	}
	for at, want := range map[time.Time]port.EventPlace{oldest.At: {}, newest.At.Add(time.Microsecond): newest} {
		var before port.EventPlace
		read(t, s, func(r port.Reader) (err error) { before, err = r.LastEventBefore(at); return err })
		if before != want {
			t.Errorf("the last before %v is %v, want %v", at, before, want)
		}
	}
}

// testFollow has writers, some of which take back what they wrote, while others
// follow: each sees each entry once, and those of a book in the order of the book.
func testFollow(t *testing.T, s Store) {
	works(t, s)
	const writers, rounds, followers = 8, 12, 2
	var numbers []string
	for i := range writers {
		numbers = append(numbers, fmt.Sprint("W", i))
	}
	received(t, s, numbers...)
	takenBack := errors.New("taken back")
	var writing, following sync.WaitGroup
	var mu sync.Mutex
	kept := writers
	for range writers {
		writing.Go(func() {
			for range rounds {
				number, another := numbers[rand.IntN(writers)], numbers[rand.IntN(writers)]
				err := s.Write(t.Context(), func(w port.Writer) error {
					if err := w.LockRolls([]string{number, another}); err != nil {
						return err
					}
					for _, n := range slices.Compact([]string{number, another}) {
						if _, err := enter(w, n, hours(1), looked()); err != nil {
							return err
						}
					}
					if rand.IntN(4) == 0 {
						return takenBack
					}
					return nil
				})
				switch {
				case err == nil:
					mu.Lock()
					kept += len(slices.Compact([]string{number, another}))
					mu.Unlock()
				case !errors.Is(err, takenBack):
					t.Error(err)
				}
			}
		})
	}
	done := make(chan struct{})
	for range followers {
		following.Go(func() {
			var place port.EventPlace
			books, seen := map[string]int64{}, 0
			for last := false; ; {
				news := s.Recorded()
				some, next := events(t, s, port.EventFilter{Kinds: []string{"entry"}}, place, 7)
				place = next
				for _, e := range some {
					if e.Entry.Number != books[e.Entry.Roll]+1 {
						t.Errorf("entry %d of %s comes after entry %d", e.Entry.Number, e.Entry.Roll, books[e.Entry.Roll])
					}
					books[e.Entry.Roll] = e.Entry.Number
					seen++
				}
				if last {
					if seen != kept {
						t.Errorf("a follower saw %d entries, %d were kept", seen, kept)
					}
					return
				}
				select {
				case <-news:
				case <-done:
					last = true
				}
			}
		})
	}
	writing.Wait()
	close(done)
	following.Wait()
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}

// testForgetEvents drops old events and wants those who were left behind told so.
func testForgetEvents(t *testing.T, s Store) {
	var empty port.EventPlace
	if got, end := events(t, s, port.EventFilter{}, empty, 10); len(got) != 0 || end != empty {
		t.Fatalf("a store without events has %v up to %v", got, end)
	}
	works(t, s)
	before, end := events(t, s, port.EventFilter{}, empty, 10)
	write(t, s, func(w port.Writer) error { return w.ForgetEvents(time.Now().Add(-time.Hour), 100) })
	if got, _ := events(t, s, port.EventFilter{}, empty, 10); len(got) != len(before) {
		t.Errorf("%d of %d events are left, though none is old", len(got), len(before))
	}
	write(t, s, func(w port.Writer) error { return w.ForgetEvents(time.Now().Add(time.Hour), 2) })
	got, _ := events(t, s, port.EventFilter{}, before[1].EventPlace, 10) // exactly what was dropped had been read
	if len(got) != len(before)-2 || got[0].Position != 3 {
		t.Errorf("after two were dropped: %+v", got)
	}
	write(t, s, func(w port.Writer) error { return w.ForgetEvents(time.Now().Add(time.Hour), 100) })
	if got, again := events(t, s, port.EventFilter{}, end, 10); len(got) != 0 || again != end {
		t.Errorf("who has read all: %v up to %v", got, again)
	}
	other := end
	other.At = other.At.Add(time.Second)
	for name, place := range map[string]port.EventPlace{"the beginning": empty, "dropped": before[1].EventPlace, "to come": {Position: end.Position + 1, At: end.At}, "of other books": other} {
		err := s.Read(t.Context(), func(r port.Reader) error {
			_, _, err := r.Events(port.EventFilter{}, place, 10)
			return err
		})
		if !port.IsKind(err, port.Gone) {
			t.Errorf("a place that is %s: %v", name, err)
		}
	}
	write(t, s, func(w port.Writer) error { return w.CreateGrade(port.Grade{Name: "NEW"}) })
	if got, _ := events(t, s, port.EventFilter{}, end, 10); len(got) != 1 || got[0].Position != end.Position+1 {
		t.Errorf("the next event: %+v", got)
	}
	if err := s.Verify(t.Context()); err != nil {
		t.Error(err)
	}
}
