package app_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// piecesOn is how many pieces each roll bore in the stay it is in or was in last.
func (w *works) piecesOn(rolls ...string) map[string]int64 {
	w.t.Helper()
	on := map[string]int64{}
	for _, number := range rolls {
		rows, _, err := w.Mountings(w.ctx, number, port.Page{Limit: 20})
		w.must(err)
		total := w.view(number).Totals.Pieces
		sum := int64(0)
		for _, m := range rows {
			sum += m.Usage.Pieces
		}
		if sum != total {
			w.t.Errorf("%s bore %d pieces in its life and %d in its stays", number, total, sum)
		}
		on[number] = total
	}
	return on
}

func (w *works) bore(want map[string]int64) {
	w.t.Helper()
	var rolls []string
	for number := range want {
		rolls = append(rolls, number)
	}
	if diff := cmp.Diff(want, w.piecesOn(rolls...)); diff != "" {
		w.t.Errorf("pieces by roll (-want +got):\n%s", diff)
	}
	w.sound()
}

// TestChangeRecordedAfterItsPieces: pieces come by machine and changes by hand,
// so that 12 of 50 coils, and a cobble, are in before the change that went
// before them.
func TestChangeRecordedAfterItsPieces(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.rollCoils(1, 38, "F5", "F6")
	moment := w.clock.now
	w.rollCoils(101, 12, "F5", "F6")
	w.must(second(w.RecordIncident(w.ctx, engineer, record.IncidentInput{What: roll.Cobble, Stand: "F5", Note: "strip went up"})))
	w.pass(time.Hour)
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: moment})
	want := []record.Moved{{Roll: "NEXT-T", From: "OLD-T", Pieces: 12, TonnageT: 240}, {Roll: "NEXT-B", From: "OLD-B", Pieces: 12, TonnageT: 240}}
	if diff := cmp.Diff(want, v.Moved); diff != "" {
		t.Errorf("moved (-want +got):\n%s", diff)
	}
	w.bore(map[string]int64{"OLD-T": 38, "OLD-B": 38, "NEXT-T": 12, "NEXT-B": 12, "BU-T": 50, "BU-B": 50})
	if d := w.view("NEXT-T").Damage; d == nil || d.Worst <= 0 {
		t.Errorf("damage of the roll that went in: %+v", d)
	}
	for number, owes := range map[string]bool{"OLD-T": false, "NEXT-T": true, "BU-T": true} {
		if owed := len(w.view(number).State.Owed) > 0; owed != owes {
			t.Errorf("after the cobble %s owes a test: %v, want %v", number, owed, owes)
		}
	}
	told, _, err := w.Incidents(w.ctx, port.Page{Limit: 1})
	w.must(err)
	if rolls := strings.Join(told[0].Rolls, " "); strings.Contains(rolls, "OLD") || !strings.Contains(rolls, "NEXT-T") {
		t.Errorf("the cobble was borne by %s", rolls)
	}
}

// TestChangeBetweenChanges: one that was forgotten is put in its place, and the
// one after it took out what it had put in.
func TestChangeBetweenChanges(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.rollCoils(1, 10, "F5")
	forgotten := w.clock.now
	w.rollCoils(11, 20, "F5")
	after := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "SPARE", Why: roll.Wear})
	w.rollCoils(31, 5, "F5")
	w.pass(time.Hour)
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: forgotten})
	if len(v.Moved) != 2 || v.Moved[0] != (record.Moved{Roll: "NEXT-T", From: "OLD-T", Pieces: 20, TonnageT: 400}) {
		t.Errorf("moved %+v", v.Moved)
	}
	w.bore(map[string]int64{"OLD-T": 10, "NEXT-B": 20, "SPARE-T": 5, "BU-T": 35})
	list, _, err := w.Changes(w.ctx, "F5", port.Page{Limit: 2})
	w.must(err)
	if list[0].Name != after.Name || list[0].SetOut != "NEXT" || list[0].Why != roll.Wear || list[1].Name != v.Name || list[1].SetOut != "OLD" {
		t.Errorf("the register: %+v", list)
	}
	if s := w.view("NEXT-T").State; s.Stage != roll.StageWorn || s.Campaigns != 1 || !s.WithdrawnAt.Equal(after.At) {
		t.Errorf("the roll put in between is %s with %d campaigns, out on %s", s.Stage, s.Campaigns, s.WithdrawnAt)
	}
	// And away again.
	undone, err := w.UndoChange(w.ctx, engineer, v.Name, "it never was")
	w.must(err)
	if len(undone.Moved) != 2 || undone.Moved[0] != (record.Moved{Roll: "OLD-T", From: "NEXT-T", Pieces: 20, TonnageT: 400}) {
		t.Errorf("moved back %+v", undone.Moved)
	}
	w.bore(map[string]int64{"OLD-T": 30, "NEXT-B": 0, "SPARE-T": 5, "BU-T": 35})
	if d := w.view("NEXT-T").Damage; d != nil {
		t.Errorf("a roll that bore nothing has damage %+v", d)
	}
}

// TestPiecesBeforeTheFirstMounting find their rolls when it is recorded, with the
// overload that nobody bore.
func TestPiecesBeforeTheFirstMounting(t *testing.T) {
	t.Parallel()
	w := shop(t)
	moment := w.clock.now
	w.rollCoils(1, 3, "F6")
	heavy := coil("H1", 1400, "F6")
	heavy.Source, heavy.Passes[0].ForceKN = "mill", 31_000
	w.pass(time.Minute)
	heavy.RolledAt = w.clock.now.Add(-time.Second)
	w.must(second(w.ImportPieces(w.ctx, engineer, []mill.Piece{heavy})))
	w.pass(time.Hour)
	v := w.change(record.ChangeInput{Stand: "F6", Role: mill.Work, SetIn: "NEXT", At: moment})
	if len(v.Moved) != 2 || v.Moved[0] != (record.Moved{Roll: "NEXT-T", Pieces: 4, TonnageT: 80}) {
		t.Errorf("moved %+v", v.Moved)
	}
	w.bore(map[string]int64{"NEXT-T": 4, "NEXT-B": 4})
	told, _, err := w.Incidents(w.ctx, port.Page{Limit: 5})
	w.must(err)
	if len(told) != 1 || told[0].What != roll.Overload || len(told[0].Rolls) != 2 || len(w.view("NEXT-T").State.Owed) == 0 {
		t.Errorf("overloads %+v, owed %+v", told, w.view("NEXT-T").State.Owed)
	}
}

// TestCorrectTheMomentOfAChange: what was rolled between the two moments moves.
func TestCorrectTheMomentOfAChange(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.rollCoils(1, 10, "F5")
	earlier := w.clock.now
	w.rollCoils(11, 7, "F5")
	v := w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
	w.rollCoils(21, 4, "F5")
	w.pass(time.Hour)
	for _, c := range []struct {
		at        time.Time
		old, next int64
		moved     record.Moved
	}{
		{earlier, 10, 11, record.Moved{Roll: "NEXT-T", From: "OLD-T", Pieces: 7, TonnageT: 140}},
		{w.clock.now, 21, 0, record.Moved{Roll: "OLD-T", From: "NEXT-T", Pieces: 11, TonnageT: 220}},
		{v.At, 17, 4, record.Moved{Roll: "NEXT-T", From: "OLD-T", Pieces: 4, TonnageT: 80}},
	} {
		got, err := w.CorrectChange(w.ctx, engineer, v.Name, c.at, "wrong clock")
		w.must(err)
		if len(got.Moved) != 2 || got.Moved[0] != c.moved || !got.At.Equal(c.at) || len(got.In) != 2 || len(got.Out) != 2 {
			t.Errorf("moved to %s: %+v", c.at, got)
		}
		w.bore(map[string]int64{"OLD-T": c.old, "NEXT-T": c.next, "BU-T": 21})
	}
	w.refused(port.Impossible, "at", []string{"is the moment it has"}, func() error {
		return second(w.CorrectChange(w.ctx, engineer, v.Name, v.At, "again"))
	})
	w.refused(port.Conflicting, "", []string{"were changed on 2031-03-04 06:00Z, between"}, func() error {
		return second(w.CorrectChange(w.ctx, engineer, v.Name, at(23), "long before"))
	})
	w.refused(port.NotFound, "", nil, func() error { return second(w.CorrectChange(w.ctx, engineer, "none", v.At, "again")) })
}

// TestWearRateLearnsFromTheRollsThatWereIn is the case of a works where
// every second change is told after its pieces: the rolls wear 3 µm per km, and
// regrinds held against the kilometres of other rolls taught 1.07.
func TestWearRateLearnsFromTheRollsThatWereIn(t *testing.T) {
	t.Parallel()
	w := shop(t)
	thin := func(name string, n int) {
		var pieces []mill.Piece
		for i := range n {
			w.pass(2 * time.Minute)
			p := coil(fmt.Sprintf("%s-%d", name, i), 1400, "F5")
			p.Source, p.RolledAt, p.Passes[0].ExitThicknessMM = "mill", w.clock.now.Add(-time.Second), 3
			pieces = append(pieces, p)
		}
		w.must(second(w.ImportPieces(w.ctx, engineer, pieces)))
	}
	thin("first", 1)
	km := w.view("OLD-T").Totals.ExposureKM // of each piece, weighted
	sets := []string{"OLD", "NEXT", "SPARE"}
	truly := 1.0 // pieces on the set that is in
	for i := range 6 {
		set, next := sets[i%3], sets[(i+1)%3]
		thin(fmt.Sprint("a", i), 20)
		truly += 20
		moment, late := w.clock.now, 75*(i%2)
		thin(fmt.Sprint("b", i), late)
		w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: next, At: moment})
		w.pass(20 * time.Hour)
		for _, end := range []string{"-T", "-B"} {
			found := w.view(set+end).State.Diameter - quantity.Micrometre(math.Round(3*truly*km))
			w.regrind(set+end, found, found-100)
		}
		truly = float64(late)
		w.pass(time.Hour)
	}
	rates, err := w.CurrentWearRates(w.ctx)
	w.must(err)
	if len(rates.Mills) != 1 || len(rates.Mills[0].Cells) != 1 {
		t.Fatalf("learned %+v", rates)
	}
	if c := rates.Mills[0].Cells[0]; math.Abs(c.RateUMPerKM-3) > 0.05 || c.Campaigns != 12 {
		t.Errorf("learned %.3g µm per km from %d campaigns, true 3", c.RateUMPerKM, c.Campaigns)
	}
}

func second[T any](_ T, err error) error { return err }
