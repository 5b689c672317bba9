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
)

// rollShifted rolls n coils with the work rolls of F6 shifted.
func (w *works) rollShifted(n int, width, shiftMM float64) {
	w.t.Helper()
	var pieces []mill.Piece
	for i := range n {
		w.clock.now = w.clock.now.Add(2 * time.Minute)
		p := coil(fmt.Sprintf("S%.0f-%03d", width, i+1), width, "F5", "F6")
		p.Source, p.RolledAt = "mill", w.clock.now.Add(-time.Second)
		p.Passes[1].WorkRollShiftMM = shiftMM
		pieces = append(pieces, p)
	}
	for _, a := range w.importAll(pieces...) {
		if a.Status != record.PieceStored {
			w.t.Fatalf("a piece was %s: %v", a.Status, a.Err)
		}
	}
}

// TestShiftWearsTheRollsOnOppositeSides: from the piece as sent to the books, the
// stand's view and the gap.
func TestShiftWearsTheRollsOnOppositeSides(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.rollShifted(20, 1100, 120)
	worn := map[mill.Position][]float64{}
	v, err := w.Stand(w.ctx, "F6")
	w.must(err)
	for _, p := range v.Positions {
		if p.Mounting != nil {
			worn[p.Position] = p.Mounting.Usage.WearUM
		}
	}
	top, bottom := worn[mill.TopWork], worn[mill.BottomWork]
	if len(top) == 0 {
		t.Fatal("no wear in the books")
	}
	last, lean := len(top)-1, 0.0
	for i := range top {
		if math.Abs(top[i]-bottom[last-i]) > 1e-3*math.Max(top[i], 1) {
			t.Errorf("station %d: %.3f µm at the top, %.3f mirrored at the bottom", i, top[i], bottom[last-i])
		}
		lean += top[i] * float64(i-last/2)
	}
	if lean <= 0 { // the top roll went to the drive side, where the stations begin
		t.Errorf("the top roll is worn towards the drive side: %g", lean)
	}
	if v.Load == nil || v.Load.Gap == nil {
		t.Fatalf("no gap in %+v", v.Load)
	}
	g := v.Load.Gap
	if g.EdgeMM != 40 || len(g.XMM) != len(g.Parts) || g.Shape.Parts.WearUM == 0 || g.Shape.Parts.HeatUM >= 0 || math.Abs(g.Shape.WedgeUM) > 1 {
		t.Errorf("gap %+v", g.Shape)
	}
}

// TestGapOfAPractice: the edge, the contour and the limits are the practice's; the
// check names the piece at which the crown can no longer be corrected.
func TestGapOfAPractice(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.practice("contour", practice.Scope{Mill: "hot", Stand: "F6", Role: mill.Work}, map[practice.Key]float64{
		practice.ContourLinearUM: -250, practice.ContourCubicUM: 400, practice.CrownEdgeMM: 25, practice.MaxCrownChangeUM: 5})
	w.rollShifted(3, 1100, -90)
	v, err := w.Stand(w.ctx, "F6")
	w.must(err)
	if v.Load == nil || v.Load.Gap == nil {
		t.Fatal("no gap")
	}
	// The closed form of a shifted S-contour, as in package gap: −90 mm, 525 mm from the middle, barrel 1780.
	want := -400 * math.Pow(2/1780.0, 3) * 3 * 525 * 525 * 90
	if g := v.Load.Gap; g.EdgeMM != 25 || math.Abs(g.Shape.Parts.ContourUM-want) > 1e-6 {
		t.Errorf("edge %g mm, contour %.4f µm, closed form %.4f", g.EdgeMM, g.Shape.Parts.ContourUM, want)
	}
	w.campaign("P1", 75, nil, "F5", "F6")
	answer := w.finish(plan.FinishInput{Campaign: "P1", Stand: "F6", FromPiece: 1})
	if s := answer.Stands[0]; !strings.Contains(s.Sentence, "more than can be corrected") || s.Limiting == nil || s.Limiting.Reached == nil {
		t.Errorf("%q does not name the piece at which the crown can no longer be corrected: %+v", s.Sentence, s.Limiting)
	}
}
