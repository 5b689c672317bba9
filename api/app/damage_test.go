package app_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/stock"
)

func (w *works) view(number string) record.RollView {
	w.t.Helper()
	v, err := w.Roll(w.ctx, number)
	w.must(err)
	return v
}

// regrindWork takes the work rolls out of F6 and grinds both by the stock.
func (w *works) regrindWork(stock quantity.Micrometre) {
	w.t.Helper()
	_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F6", Role: mill.Work, At: w.clock.now})
	w.must(err)
	w.clock.now = w.clock.now.Add(24 * time.Hour)
	for _, number := range []string{"WF6-T", "WF6-B"} {
		d := w.view(number).State.Diameter
		_, err := w.RecordRegrind(w.ctx, engineer, number, record.RegrindInput{At: w.clock.now, Found: d - 50, Ground: d - stock, For: roll.ForWear, Confirm: "as advised"})
		w.must(err)
	}
}

// TestDamageFollowsPiecesAndGrinds: rolling adds to the damage of all rolls of
// the stand, a grind brings it nearer the surface by half its stock, and pieces
// that arrive after the grind leave the same damage as in time, to a layer.
func TestDamageFollowsPiecesAndGrinds(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	if d := w.view("WF6-T").Damage; d != nil {
		t.Fatalf("damage %+v before any piece", d)
	}
	w.rollCoils(1, 40, "F5", "F6")
	before := w.view("WF6-T").Damage
	if before == nil || before.Worst <= 0 || before.Limit != 1 || before.Source != "default" || len(before.Along) != 41 {
		t.Fatalf("damage after 40 coils %+v", before)
	}
	if b := w.view("BF6-T").Damage; b == nil || b.Worst <= 0 || b.Worst >= before.Worst {
		t.Errorf("damage of the backup roll %+v, want some and, at half the turns, less than %g", b, before.Worst)
	}
	w.regrindWork(400)
	after := w.view("WF6-T").Damage
	// The grind leaves most of a layer 4 mm down; it lies 0.2 mm nearer.
	if math.Abs(after.Worst/before.Worst-1) > 1e-12 || math.Abs(before.DepthMM-after.DepthMM-0.2) > 1e-9 {
		t.Errorf("after a grind of 0.4 mm: worst %g at %.4f mm, before %g at %.4f mm", after.Worst, after.DepthMM, before.Worst, before.DepthMM)
	}
	late := finishing(t)
	late.clock.now = late.clock.now.Add(80 * time.Minute)
	now := late.clock.now
	late.regrindWork(400)
	end := late.clock.now
	late.clock.now = now.Add(-80 * time.Minute)
	var pieces []mill.Piece
	for i := range 40 {
		late.clock.now = late.clock.now.Add(2 * time.Minute)
		p := coil("R"+strings.Repeat("x", i), 1400, "F5", "F6")
		p.Source, p.RolledAt = "mill", late.clock.now.Add(-time.Second)
		pieces = append(pieces, p)
	}
	late.clock.now = end
	_, err := late.ImportPieces(late.ctx, engineer, pieces)
	late.must(err)
	got := late.view("WF6-T").Damage
	if got == nil || math.Abs(got.Worst/after.Worst-1) > 0.02 || math.Abs(got.DepthMM-after.DepthMM) > 0.4 {
		t.Errorf("late pieces leave %+v, in time %g at %.4f mm", got, after.Worst, after.DepthMM)
	}
}

// TestAdviceTakesDamageOff: fatigue over the limit sets the stock, and after a
// grind by it none is over the limit.
func TestAdviceTakesDamageOff(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.rollCoils(1, 40, "F5", "F6")
	part := func() *stock.Part {
		advice, err := w.AdviseRegrind(w.ctx, "WF6-T", plan.AdviceInput{})
		w.must(err)
		for i, p := range advice.Parts {
			if p.Kind == stock.Damage {
				return &advice.Parts[i]
			}
		}
		t.Fatalf("no part of damage in %+v", advice.Parts)
		return nil
	}
	if p := part(); p.UM != 0 || !strings.Contains(p.Source, "of 1 allowed (default)") {
		t.Errorf("within the limit: %+v", p)
	}
	worst := w.view("WF6-T").Damage.Worst
	w.practice("strict", practice.Scope{Mill: "hot"}, map[practice.Key]float64{practice.MaxDamage: 0.001, practice.FatigueReferenceTurns: 1e7 * worst / 0.0015})
	// The damage counted so far stays as it was counted; the limit is what moves.
	w.practice("limit", practice.Scope{Mill: "hot", Role: mill.Work}, map[practice.Key]float64{practice.MaxDamage: 0.001})
	if p := part(); p.UM != 0 {
		t.Errorf("damage %g is under 0.001: %+v", worst, p)
	}
	for i := range 60 {
		w.rollCoils(100+50*i, 50, "F5", "F6")
		if w.view("WF6-T").Damage.Worst > 0.001 {
			break
		}
	}
	over := part()
	if over.UM <= 0 {
		t.Fatalf("damage %g over 0.001 asks for no stock: %+v", w.view("WF6-T").Damage.Worst, over)
	}
	w.regrindWork(quantity.Micrometre(math.Ceil(over.UM)))
	if left := w.view("WF6-T").Damage.Worst; left > 0.001 {
		t.Errorf("after the stock advised %g is left over 0.001", left)
	}
}

// TestDamageDoesNotDependOnGrouping: pieces sent one by one leave what they
// leave when sent together, to the closeness of the load solver.
func TestDamageDoesNotDependOnGrouping(t *testing.T) {
	t.Parallel()
	one, all := finishing(t), finishing(t)
	for i := range 20 {
		one.rollCoils(1+i, 1, "F5", "F6")
	}
	all.rollCoils(1, 20, "F5", "F6")
	for _, number := range []string{"WF6-T", "BF5-B"} {
		a, b := one.view(number), all.view(number)
		if math.Abs(a.Damage.Worst/b.Damage.Worst-1) > 0.03 || math.Abs(a.Totals.MaxPeakPressureMPa/b.Totals.MaxPeakPressureMPa-1) > 0.01 {
			t.Errorf("%s: one by one %g and %.2f MPa, together %g and %.2f MPa", number, a.Damage.Worst, a.Totals.MaxPeakPressureMPa, b.Damage.Worst, b.Totals.MaxPeakPressureMPa)
		}
	}
}

// BenchmarkImport is a group of pieces through seven stands, database and all.
func BenchmarkImport(b *testing.B) {
	for _, group := range []int{1, 100} {
		b.Run(map[int]string{1: "one piece", 100: "100 pieces"}[group], func(b *testing.B) {
			w := newWorks(b)
			var stands []string
			for i := range 7 {
				s := "F" + string(rune('1'+i))
				stands = append(stands, s)
				w.stand(s, i+1)
				w.set("B"+s, mill.Backup, 1480)
				w.mount(s, mill.Backup, "B"+s)
				w.set("W"+s, mill.Work, 720-float64(i))
				w.mount(s, mill.Work, "W"+s)
			}
			n := 1
			for b.Loop() {
				w.rollCoils(n, group, stands...)
				n += group
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(n-1), "µs/piece")
		})
	}
}

// BenchmarkBacklog is a group of pieces of a time after which its stand had 3,000
// stays, beside one after which it had none.
func BenchmarkBacklog(b *testing.B) {
	for _, later := range []int{0, 3000} {
		b.Run(fmt.Sprint(later, " stays later"), func(b *testing.B) {
			w := newWorks(b)
			w.stand("F1", 1)
			w.roll("OLD", mill.Work, 700)
			w.roll("LATE", mill.Work, 690)
			at := w.clock.now
			w.clock.now = at.AddDate(1, 0, 0)
			card := []record.PastStay{{Roll: "OLD", WithdrawnAt: at.Add(48 * time.Hour), PastStay: roll.PastStay{Stand: "F1", Position: mill.TopWork, From: at.Add(time.Hour), TonnageT: 1, RolledKM: 1}}}
			for i := range later {
				from := at.Add(time.Duration(50+2*i) * time.Hour)
				card = append(card, record.PastStay{Roll: "LATE", WithdrawnAt: from.Add(time.Hour), PastStay: roll.PastStay{Stand: "F1", Position: mill.TopWork, From: from, TonnageT: 1, RolledKM: 1}})
			}
			if _, err := w.RecordPastStays(w.ctx, engineer, card); err != nil {
				b.Fatal(err)
			}
			n := 0
			for b.Loop() {
				var pieces []mill.Piece
				for range 20 {
					n++
					p := coil(fmt.Sprintf("R%06d", n), 1400, "F1")
					p.Source, p.RolledAt = "mill", at.Add(2*time.Hour+time.Duration(n)*time.Second)
					pieces = append(pieces, p)
				}
				if _, err := w.ImportPieces(w.ctx, engineer, pieces); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(n), "µs/piece")
		})
	}
}
