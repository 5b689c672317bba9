package finish

import (
	"math"
	"strings"
	"testing"

	"barrelbook/domain/duty"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// gapInput is a stand whose practice limits the change of the gap.
func gapInput(n int, key practice.Key, um float64) Input {
	in := input(n)
	mechanics(&in)
	for i := range in.Work.Rolls {
		lim(in.Work.Rolls[i])[key] = entered(um)
	}
	return in
}

func marginOf(t *testing.T, a Answer, c limit.Criterion) Margin {
	t.Helper()
	for _, m := range a.Margins {
		if m.Criterion == c {
			return m
		}
	}
	t.Fatalf("no margin of %s among %d", c, len(a.Margins))
	return Margin{}
}

// gapsOf takes the programme through the models without the finish check, and
// measures the gap after each piece.
func gapsOf(t *testing.T, in Input, edge float64) (crown, quarter, step []float64) {
	t.Helper()
	var rolls []duty.Roll
	var conditions []*duty.Condition
	for _, s := range []Set{in.Work, in.Backup} {
		for _, r := range s.Rolls {
			rolls = append(rolls, r.Roll)
			c := r.Condition
			conditions = append(conditions, &c)
		}
	}
	s, err := duty.NewStand(in.Stand, in.DensityKGPerM3, rolls)
	if err != nil {
		t.Fatal(err)
	}
	m := *in.Models
	m.Gap = true
	s.Use(m, conditions)
	between := 0.0
	for _, p := range in.Pieces {
		s.Rest(between)
		load, err := s.Take(p, 0)
		if err != nil {
			t.Fatal(err)
		}
		between = in.MinutesPerPiece - duty.RollingMin(p.Passes[0], load.Rolls[0].RolledKM)
		g, ok := s.Gap(p.Passes[0], edge)
		if !ok {
			t.Fatal("no gap")
		}
		shape := g.Shape()
		um, _ := g.EdgeStep()
		crown, quarter, step = append(crown, shape.CentreToEdgeUM), append(quarter, shape.QuarterUM), append(step, um)
	}
	return crown, quarter, step
}

func firstOver(list []float64, limit float64) (piece int, most float64) {
	for i, v := range list {
		most = max(most, math.Abs(v))
		if piece == 0 && math.Abs(v) > limit {
			piece = i + 1
		}
	}
	return piece, most
}

// The check names the piece at which the change of the gap passes its limit: the
// one at which the models, taken through the programme by themselves, say so.
func TestGapLimitsNameThePiece(t *testing.T) {
	crown, quarter, step := gapsOf(t, gapInput(90, practice.MaxCrownChangeUM, 1), 40)
	for _, c := range []struct {
		key       practice.Key
		criterion limit.Criterion
		found     []float64
	}{{practice.MaxCrownChangeUM, "crown_change", crown}, {practice.MaxQuarterUM, "quarter_change", quarter}, {practice.MaxEdgeStepUM, "edge_step", step}} {
		_, most := firstOver(c.found, math.Inf(1))
		limit := 0.7 * most
		want, _ := firstOver(c.found, limit)
		a, err := Check(gapInput(90, c.key, limit))
		if err != nil {
			t.Fatal(err)
		}
		m := marginOf(t, a, c.criterion)
		if m.Reached == nil || m.Reached.Piece != want {
			t.Errorf("%s: limit %.1f µm reached at %+v, want piece %d", c.criterion, limit, m.Reached, want)
		}
		if math.Abs(m.AtEnd-most) > 1e-6*most {
			t.Errorf("%s: greatest %.4f µm, by the models %.4f", c.criterion, m.AtEnd, most)
		}
		if a.Verdict == Yes {
			t.Errorf("%s: a programme that passes the limit is a yes", c.criterion)
		}
		if a, err = Check(gapInput(90, c.key, 1.1*most)); err != nil {
			t.Fatal(err)
		}
		if m := marginOf(t, a, c.criterion); m.Reached != nil || m.Probability != 1 {
			t.Errorf("%s: a limit above all of it is reached: %+v", c.criterion, m)
		}
	}
	a, err := Check(gapInput(90, practice.MaxCrownChangeUM, 10))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(a.Sentence, "more than can be corrected") {
		t.Errorf("sentence %q", a.Sentence)
	}
}

// Rolls that go in fresh have no wear to make a step of: a plan may change for it.
func TestFreshRollsFindTheGapAnew(t *testing.T) {
	in := gapInput(90, practice.MaxEdgeStepUM, 1000)
	in.FromPiece = 1
	r, err := newRun(&in, &in.Work, &in.Backup)
	if err != nil {
		t.Fatal(err)
	}
	for i := range r.watches {
		w := &r.watches[i]
		if w.Criterion != "edge_step" {
			continue
		}
		whole := limit.Greatest(w.Growth.Lines(nil, []limit.Span{span(0, 90)}), 1)
		late := limit.Greatest(w.Growth.Lines(nil, []limit.Span{span(80, 90)}), 1)
		parted := limit.Greatest(w.Growth.Lines(nil, []limit.Span{span(0, 40), span(40, 90)}), 1)
		if math.Abs(parted/whole-1) > 1e-12 {
			t.Errorf("in two stretches %.6f µm, in one %.6f", parted, whole)
		}
		twice := limit.Greatest(w.Growth.Lines(nil, []limit.Span{{From: 0, To: 90, Times: 2}}), 1)
		if !(late < 0.5*whole && twice > 1.3*whole) {
			t.Errorf("edge step %.1f µm of the whole programme, %.1f of its end alone, %.1f of two rounds", whole, late, twice)
		}
	}
}

// sixHighInput is an invented cold stand.
func sixHighInput(n int) Input {
	in := input(n)
	mechanics(&in)
	in.Stand.Arrangement, in.Stand.MinStack, in.Stand.MaxStack = mill.SixHigh, 0, 0
	inner := backupSet("IM")
	inner.Role, inner.MismatchUM = mill.Intermediate, 10
	for i, at := range []mill.Position{mill.TopIntermediate, mill.BottomIntermediate} {
		r := &inner.Rolls[i]
		r.Position, r.DiameterMM, r.ScrapDiameterMM = at, 600-float64(i)/100, 540
		r.Condition = duty.Condition{BearingSpanMM: 2700, NeckDiameterMM: 380, AllowableMPa: 300}
		lim(r)[practice.MaxDamage], lim(r)[practice.PairToleranceUM] = entered(1), entered(150)
	}
	in.Intermediate = inner
	for i := range in.Pieces {
		in.Pieces[i].Passes[0].IntermediateRollShiftMM = 100
	}
	return in
}

// The intermediate rolls of a six-high stand are looked at like the others.
func TestSixHighLooksAtItsIntermediateRolls(t *testing.T) {
	a, err := Check(sixHighInput(60))
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Blocks) > 0 || a.IntermediateSet != "IM" {
		t.Fatalf("set %q, blocked: %v", a.IntermediateSet, a.Blocks)
	}
	seen := map[limit.Criterion]bool{}
	for _, m := range a.Margins {
		if m.Roll == "IMa" {
			seen[m.Criterion] = true
		}
	}
	for _, c := range []limit.Criterion{"wear", "peak_pressure", "fatigue"} {
		if !seen[c] {
			t.Errorf("nothing of %s of the intermediate roll among %v", c, seen)
		}
	}
	in := sixHighInput(60)
	in.Intermediate = Set{}
	if a, err = Check(in); err != nil {
		t.Fatal(err)
	}
	if a.Verdict != Blocked || !strings.Contains(strings.Join(a.Blocks, " "), "no intermediate set") {
		t.Errorf("without intermediate rolls: %s, %v", a.Verdict, a.Blocks)
	}
	// A tight limit on an intermediate roll is the one that ends the campaign.
	in = sixHighInput(60)
	for i := range in.Intermediate.Rolls {
		lim(in.Intermediate.Rolls[i])[practice.MaxPeakPressureMPa] = entered(600)
	}
	if a, err = Check(in); err != nil {
		t.Fatal(err)
	}
	if a.Limiting == nil || !strings.HasPrefix(a.Limiting.Roll, "IM") || a.Verdict != No {
		t.Errorf("%s, limited by %+v", a.Verdict, a.Limiting)
	}
}
