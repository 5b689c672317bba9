package app_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// rolled is a coil that was rolled.
func rolled(id string, at time.Time, stands ...string) mill.Piece {
	p := coil(id, 1400, stands...)
	p.Source, p.RolledAt = "level2", at
	return p
}

func (w *works) importAll(pieces ...mill.Piece) []record.PieceAnswer {
	w.t.Helper()
	answers, err := w.ImportPieces(w.ctx, engineer, pieces)
	w.must(err)
	return answers
}

// TestPiecesThatCannotBe sends one bad piece of each sort between two good
// ones: it alone is refused, by the field at fault, and leaves nothing.
func TestPiecesThatCannotBe(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*mill.Piece)
		field  string
	}{
		"without mass":           {func(p *mill.Piece) { p.MassT = 0 }, "mass_t"},
		"with a mass of NaN":     {func(p *mill.Piece) { p.MassT = math.NaN() }, "mass_t"},
		"with a mass of 1e400":   {func(p *mill.Piece) { p.MassT = math.Inf(1) }, "mass_t"},
		"without thickness":      {func(p *mill.Piece) { p.EntryThicknessMM = 0 }, "entry_thickness_mm passes/0/entry_thickness_mm"},
		"thicker out than in":    {func(p *mill.Piece) { p.Passes[1].ExitThicknessMM = 30 }, "passes/1/exit_thickness_mm"},
		"with a force of NaN":    {func(p *mill.Piece) { p.Passes[0].ForceKN = math.NaN() }, "passes/0/force_kn"},
		"of a mill nobody knows": {func(p *mill.Piece) { p.Mill = "xx" }, "mill"},
		"at a stand of no mill":  {func(p *mill.Piece) { p.Passes[1].Stand = "F9" }, "passes/1/stand"},
		"in the future":          {func(p *mill.Piece) { p.RolledAt = at(48.1) }, "rolled_at"},
		"against the order":      {func(p *mill.Piece) { p.Passes[0].Stand, p.Passes[1].Stand = "F6", "F5" }, "passes/1/stand"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			bad := rolled("bad", at(30), "F5", "F6")
			c.change(&bad)
			before := w.everything()
			alone := w.importAll(bad)
			if alone[0].Status != record.PieceRefused || w.everything() != before {
				t.Fatalf("alone it was %s and something was stored", alone[0].Status)
			}
			var paths []string
			for _, f := range refusal.FieldsOf(alone[0].Err) {
				paths = append(paths, f.Path)
			}
			if got := strings.Join(paths, " "); got != c.field || !port.IsKind(alone[0].Err, port.Impossible) {
				t.Errorf("at fault %q, want %q: %v", got, c.field, alone[0].Err)
			}
			answers := w.importAll(rolled("g1", at(30), "F5", "F6"), bad, rolled("g2", at(30.1), "F5", "F6"))
			if answers[0].Status != record.PieceStored || answers[1].Status != record.PieceRefused || answers[2].Status != record.PieceStored {
				t.Errorf("answers %+v", answers)
			}
			if v, err := w.Roll(w.ctx, "OLD-T"); err != nil || v.Totals.Pieces != 2 || v.Totals.TonnageT != 40 {
				t.Errorf("OLD-T bore %d pieces and %g t (%v)", v.Totals.Pieces, v.Totals.TonnageT, err)
			}
			w.sound()
		})
	}
}

func TestPiecesSentAgainAreHarmless(t *testing.T) {
	t.Parallel()
	w := shop(t)
	group := []mill.Piece{rolled("p1", at(30), "F5"), rolled("p2", at(31), "F5"), rolled("p1", at(30), "F5")}
	answers := w.importAll(group...)
	if answers[0].Status != record.PieceStored || answers[1].Status != record.PieceStored || answers[2].Status != record.PieceDuplicate {
		t.Fatalf("answers %+v", answers)
	}
	before := w.everything()
	changed := rolled("p2", at(32), "F5") // the id decides, not what it says
	changed.MassT = 99
	for _, a := range w.importAll(append(group, changed)...) {
		if a.Status != record.PieceDuplicate {
			t.Errorf("sent again: %+v", a)
		}
	}
	if w.everything() != before {
		t.Error("pieces sent again changed something")
	}
	other := rolled("p1", at(33), "F5")
	other.Source = "by hand"
	if a := w.importAll(other); a[0].Status != record.PieceStored {
		t.Errorf("the same id of another source: %+v", a)
	}
	if v, _ := w.Roll(w.ctx, "OLD-T"); v.Totals.Pieces != 3 || v.Mounting.Usage.Pieces != 3 {
		t.Errorf("OLD-T bore %d pieces, in this mounting %d; want 3", v.Totals.Pieces, v.Mounting.Usage.Pieces)
	}
}

// TestLatePieces load the rolls that were in the stand at their time: at the
// moment of a change those that went in.
func TestLatePieces(t *testing.T) {
	t.Parallel()
	w := shop(t) // OLD is in since hour 24
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: at(40)})
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, At: at(44)})
	answers := w.importAll(
		rolled("before", at(23.9), "F5"), rolled("first", at(24), "F5"), rolled("last", at(39.9), "F5"),
		rolled("change", at(40), "F5"), rolled("next", at(43.9), "F5"), rolled("out", at(44), "F5"), rolled("f6", at(30), "F6"))
	for number, pieces := range map[string]int64{"OLD-T": 2, "OLD-B": 2, "NEXT-T": 2, "NEXT-B": 2, "BU-T": 5, "SPARE-T": 0} {
		v, err := w.Roll(w.ctx, number)
		w.must(err)
		mountings, _, err := w.Mountings(w.ctx, number, port.Page{Limit: 5})
		w.must(err)
		sum := int64(0)
		for _, m := range mountings {
			sum += m.Usage.Pieces
		}
		if v.Totals.Pieces != pieces || sum != pieces || v.Totals.TonnageT != 20*float64(pieces) {
			t.Errorf("%s bore %d pieces of %g t, its mountings %d; want %d", number, v.Totals.Pieces, v.Totals.TonnageT, sum, pieces)
		}
	}
	warned := map[int]string{0: "no roll was in F5 on 2031-03-04T05:54:00Z", 6: "no roll was in F6"}
	for i, a := range answers {
		all := strings.Join(a.Warnings, " ")
		if want, ok := warned[i]; a.Status != record.PieceStored || ok && !strings.Contains(all, want) {
			t.Errorf("piece %d: %s, warnings %q, want %q", i, a.Status, a.Warnings, want)
		}
	}
	w.sound()
}

// TestOneByOneOrTogether: the order in which pieces come does not matter.
func TestOneByOneOrTogether(t *testing.T) {
	t.Parallel()
	var pieces []mill.Piece
	for i := range 20 {
		pieces = append(pieces, rolled("p"+string(rune('a'+i)), at(25+float64(i)), "F5"))
	}
	borne := func(send func(*works)) [2]float64 {
		w := shop(t)
		w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", At: at(35)})
		send(w)
		old, err := w.Roll(w.ctx, "OLD-T")
		w.must(err)
		next, err := w.Roll(w.ctx, "NEXT-T")
		w.must(err)
		w.sound()
		return [2]float64{old.Totals.DeepestWearUM() + old.Totals.RolledKM, next.Totals.DeepestWearUM() + next.Totals.RolledKM}
	}
	together := borne(func(w *works) { w.importAll(pieces...) })
	backwards := borne(func(w *works) {
		for i := range pieces {
			w.importAll(pieces[len(pieces)-1-i])
		}
	})
	for i := range together {
		if math.Abs(together[i]-backwards[i]) > 1e-9*together[i] || together[i] == 0 {
			t.Errorf("together %g, one by one and backwards %g", together, backwards)
		}
	}
}

// TestForceOverTheLimit: F5 bears 30,000 kN. More is an entry in the books of
// all that were in it, and an inspection is owed.
func TestForceOverTheLimit(t *testing.T) {
	t.Parallel()
	w := shop(t)
	within, over := rolled("within", at(30), "F5"), rolled("over", at(31), "F5")
	within.Passes[0].ForceKN, over.Passes[0].ForceKN = 30_000, 30_001
	w.importAll(within)
	if n := w.entries("OLD-T"); n != 3 {
		t.Fatalf("at the limit: %d entries, want 3", n)
	}
	w.importAll(over)
	for _, number := range []string{"OLD-T", "OLD-B", "BU-T", "BU-B"} {
		v, err := w.Roll(w.ctx, number)
		w.must(err)
		if len(v.State.Owed) != 2 || !v.State.Owed[0].Due || v.Version() != 4 {
			t.Errorf("%s owes %+v after %d entries", number, v.State.Owed, v.Version())
		}
	}
	incidents, _, err := w.Incidents(w.ctx, port.Page{Limit: 5})
	w.must(err)
	if len(incidents) != 1 || incidents[0].What != roll.Overload || !incidents[0].At.Equal(at(31)) || len(incidents[0].Rolls) != 4 || !strings.Contains(incidents[0].Note, "30001 kN, limit of F5 30000 kN") {
		t.Errorf("incidents %+v", incidents)
	}
	before := w.everything()
	w.importAll(over)
	if w.everything() != before {
		t.Error("sent again, it is one more overload")
	}
	w.sound()
}

// TestMaterialOfAPieceChangesItsForce: a practice for the metal named on a piece
// makes its predicted force, and what the force model says of the pass comes with
// the answer.
func TestMaterialOfAPieceChangesItsForce(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.practice("duplex", practice.Scope{Material: "duplex"}, map[practice.Key]float64{practice.FlowStressFactor: 1.5})
	w.practice("C60", practice.Scope{Mill: "hot", Material: "C60"}, map[practice.Key]float64{practice.CarbonPct: 0.6, practice.ManganesePct: 0.7})
	heard := func(id, material string, celsius float64) (kn float64, said string) {
		p := rolled(id, at(30), "F5")
		p.Material, p.Passes[0].ForceKN, p.Passes[0].TemperatureC = material, 0, celsius
		answer := w.importAll(p)[0]
		said = strings.Join(answer.Warnings, "\n")
		if _, err := fmt.Sscanf(said[strings.Index(said, "given; "):], "given; %f kN", &kn); err != nil {
			t.Fatalf("%s: no force in %q", id, said)
		}
		return kn, said
	}
	plain, said := heard("plain", "", 950)
	if !strings.Contains(said, "carbon 0.15 % assumed") || !strings.Contains(said, "give or take 10 %") {
		t.Errorf("plain: %q", said)
	}
	if duplex, _ := heard("duplex", "duplex", 950); math.Abs(duplex/plain-1.5) > 1e-3 {
		t.Errorf("duplex: %.0f kN, plain %.0f", duplex, plain)
	}
	if c60, said := heard("c60", "C60", 950); !(c60 > 1.02*plain) || strings.Contains(said, "carbon") {
		t.Errorf("C60: %.0f kN, plain %.0f: %q", c60, plain, said)
	}
	if _, said := heard("unheard-of", "X9", 950); !strings.Contains(said, "no practice knows the material X9") {
		t.Errorf("X9: %q", said)
	}
	if _, said := heard("cold", "", 780); !strings.Contains(said, "below 859 °C the steel is no longer all austenite") || !strings.Contains(said, "give or take 25 %") {
		t.Errorf("cold: %q", said)
	}
}

// TestLateOverload: the rolls have been ground and gone in again before the
// piece is told of. What was done stands; the tests are owed from now on.
func TestLateOverload(t *testing.T) {
	t.Parallel()
	w := shop(t)
	over := rolled("over", at(47), "F5")
	over.Passes[0].ForceKN = 31_000
	w.outAndGround(13 * time.Hour)
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "OLD"})
	if a := w.importAll(over); a[0].Status != record.PieceStored {
		t.Fatalf("%+v", a)
	}
	v, err := w.Roll(w.ctx, "OLD-T")
	w.must(err)
	if v.State.Stage != roll.StageMounted || len(v.State.Owed) != 2 {
		t.Errorf("OLD-T is %s and owes %+v", v.State.Stage, v.State.Owed)
	}
	w.sound()
	// A scrapped roll bore it too, in its time.
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work})
	w.breakSet("OLD")
	w.happens("OLD-B", "crack", roll.Scrapped{Why: roll.ByCrack})
	again := rolled("again", at(47.1), "F5")
	again.Passes[0].ForceKN = 31_000
	w.importAll(again)
	if v, _ = w.Roll(w.ctx, "OLD-B"); v.State.Stage != roll.StageScrapped {
		t.Errorf("OLD-B is %s", v.State.Stage)
	}
	w.sound()
}
