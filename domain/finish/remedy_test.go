package finish

import (
	"barrelbook/domain/practice"
	"math"
	"strings"
	"testing"

	"barrelbook/domain/mill"
)

func TestRemedies(t *testing.T) {
	t.Parallel()
	fresh := func(name string) Set {
		s := workSet(name)
		s.Mounted = false
		return s
	}
	find := func(a Answer, w What) *Remedy {
		for i := range a.Remedies {
			if a.Remedies[i].What == w {
				return &a.Remedies[i]
			}
		}
		return nil
	}
	in := input(150)
	wearLimits(&in, 450)
	for i := range in.Work.Rolls {
		in.Work.Rolls[i].SinceGrind.WearUM = worn(150)
	}
	other := fresh("W-2")
	for i := range other.Rolls {
		lim(other.Rolls[i])[practice.MaxWearUM] = entered(600)
	}
	in.Candidates = []Set{other}
	in.Stops = []mill.PlannedStop{{BeforePiece: 61, Name: "shift", Minutes: 10}}

	t.Run("another set and a change at the stop", func(t *testing.T) {
		a := check(t, in)
		if a.Verdict != No {
			t.Fatalf("verdict %s (P %.3f), want no", a.Verdict, a.Probability)
		}
		swap, stop, piece := find(a, OtherSet), find(a, ChangeAtStop), find(a, ChangeAtPiece)
		if swap == nil || stop == nil || piece == nil {
			t.Fatalf("remedies %+v, want another set, a change at the stop and one before a piece", a.Remedies)
		}
		if stop.BeforePiece != 61 || stop.Verdict != Yes || stop.Cost != 60000+money((a.More.RolledKM-kmOf(in, 60))*500) {
			t.Errorf("change at the stop %+v", *stop)
		}
		if piece.BeforePiece != a.More.Pieces+1 || piece.Cost != 560000 {
			t.Errorf("change before a piece %+v, capacity %d", *piece, a.More.Pieces)
		}
		alone := in
		alone.Work = other
		if want := check(t, alone).Probability; math.Abs(swap.Probability-want) > 1e-12 {
			t.Errorf("another set P = %.6f, by its own check %.6f", swap.Probability, want)
		}
		for i := 1; i < len(a.Remedies); i++ {
			if a.Remedies[i].Verdict == a.Remedies[i-1].Verdict && a.Remedies[i].Cost < a.Remedies[i-1].Cost {
				t.Errorf("remedies are not by cost: %+v", a.Remedies)
			}
		}
	})
	t.Run("before the first piece the mill stands", func(t *testing.T) {
		priced := in
		priced.Candidates = []Set{other}
		priced.Candidates[0].Costs.PlannedStop = 7000
		for from, stop := range map[int]float64{1: 7000, 2: 500000} {
			priced.FromPiece = from
			a := check(t, priced)
			swap := find(a, OtherSet)
			if swap == nil {
				t.Fatalf("from piece %d no other set in %+v", from, a.Remedies)
			}
			if want := money(60000 + stop + a.More.RolledKM*500); swap.Cost != want {
				t.Errorf("from piece %d it costs %d, want %d with a stop of %g", from, swap.Cost, want, stop)
			}
		}
	})
	t.Run("a block behind the stop", func(t *testing.T) {
		moved := in
		moved.Pieces = strip(150)
		for i := 15; i < 150; i++ { // one width, so that blocks may change places
			moved.Pieces[i].WidthMM, moved.Pieces[i].Passes[0].WidthMM = 1300, 1300
		}
		a := check(t, moved)
		moved.Stops = []mill.PlannedStop{{BeforePiece: a.More.Pieces + 8, Name: "gauge", Minutes: 10}}
		a = check(t, moved)
		m := find(a, MoveBlock)
		if m == nil || m.Verdict != Yes || !strings.Contains(m.Sentence, "move block B-") {
			t.Fatalf("remedies %+v, want a block moved behind the stop before piece %d", a.Remedies, a.More.Pieces+8)
		}
		// Where widths fall, the block may not go back among narrower ones.
		strict := moved
		strict.Pieces = strip(150)
		a = check(t, strict)
		strict.Stops = []mill.PlannedStop{{BeforePiece: a.More.Pieces + 8, Name: "gauge", Minutes: 10}}
		if m := find(check(t, strict), MoveBlock); m != nil && strings.Contains(m.Sentence, "before piece") {
			t.Errorf("a wider block was moved among narrower ones: %+v", m)
		}
	})
	t.Run("less force", func(t *testing.T) {
		tight := input(150)
		tight.Pieces[30].Passes[0].ForceKN = 25500
		wearLimits(&tight, 2000)
		a := check(t, tight)
		m := find(a, RestrictForce)
		if a.Verdict != Blocked || m == nil || m.Verdict != Yes || !strings.Contains(m.Sentence, "98 %") {
			t.Errorf("verdict %s, remedies %+v, want forces at 98 %%", a.Verdict, a.Remedies)
		}
	})
	t.Run("less torque", func(t *testing.T) {
		// By hand: 15 MN more than doubles the torque of every other coil, 2·F·L/2 with
		// L = √(360·0.6) mm, the lower roll 0.02 mm thinner; the limit is 99 % of it.
		tight := input(150)
		mechanics(&tight)
		wearLimits(&tight, 2000)
		tight.Pieces[30].Passes[0].ForceKN = 24000
		torque := 24e6 * math.Sqrt(360*0.6) / 1e6
		tight.Stand.MaxTorqueKNM = 0.99 * torque
		a := check(t, tight)
		var got *Margin
		for i := range a.Margins {
			if a.Margins[i].Criterion == "torque" {
				got = &a.Margins[i]
			}
		}
		if got == nil || math.Abs(got.AtEnd/torque-1) > 1e-4 || got.Reached == nil || got.Reached.Piece != 31 {
			t.Errorf("margin %+v, want %.1f kNm at piece 31", got, torque)
		}
		if m := find(a, RestrictForce); a.Verdict != Blocked || m == nil || m.Verdict != Yes || !strings.Contains(m.Sentence, "98 %") {
			t.Errorf("verdict %s, remedies %+v, want forces at 98 %%", a.Verdict, a.Remedies)
		}
	})
	t.Run("the test first", func(t *testing.T) {
		owed := input(150)
		wearLimits(&owed, 2000)
		owed.Work.Blocks = []Block{{Why: "W-1a: the eddy current test is owed", ByTest: true}}
		a := check(t, owed)
		if m := find(a, TestFirst); m == nil || m.Verdict != Yes {
			t.Errorf("remedies %+v, want the test first", a.Remedies)
		}
	})
}

func kmOf(in Input, pieces int) float64 {
	r, _ := newRun(&Input{Stand: in.Stand, DensityKGPerM3: in.DensityKGPerM3, Pieces: in.Pieces, FromPiece: 1, Work: in.Work, Backup: in.Backup}, &in.Work, &in.Backup)
	return r.km[pieces]
}
