package app_test

import (
	"math"
	"testing"

	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
)

// TestStandShowsItsLoad: before any piece under the piece of the middle width of
// the newest programme, then under the last one; the load adds up to its force,
// and a second look at the same moment or later says the same.
func TestStandShowsItsLoad(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	look := func() (load struct {
		piece, campaign string
		force           float64
		peaks           []float64
	}) {
		v, err := w.Stand(w.ctx, "F6")
		w.must(err)
		if v.Load == nil {
			return load
		}
		load.piece, load.campaign, load.force = v.Load.Piece, v.Load.Campaign, v.Load.ForceKN
		if len(v.Load.Pairs) != 2 {
			t.Fatalf("%d pairs in %+v", len(v.Load.Pairs), v.Load)
		}
		for _, p := range v.Load.Pairs {
			sum := 0.0
			for i := 1; i < len(p.XMM); i++ {
				sum += (p.NPerMM[i] + p.NPerMM[i-1]) / 2 * (p.XMM[i] - p.XMM[i-1])
			}
			if math.Abs(sum/(1000*load.force)-1) > 0.01 {
				t.Errorf("%.5g N along %s under %.0f kN", sum, p.Work, load.force)
			}
			if p.TakenAsEven || p.Peak <= p.Mean || p.PeakPressureMPa < 500 || p.PeakPressureMPa > 3000 {
				t.Errorf("%+v", p)
			}
			load.peaks = append(load.peaks, p.PeakPressureMPa)
		}
		if v.Load.Pairs[0].Work != "WF6-T" || v.Load.Pairs[0].Backup != "BF6-T" {
			t.Errorf("first pair %s and %s, want the top one", v.Load.Pairs[0].Work, v.Load.Pairs[0].Backup)
		}
		return load
	}
	if got := look(); got.piece != "" {
		t.Fatalf("a load under %s before any piece was known", got.piece)
	}
	w.campaign("P1", 75, nil, "F5", "F6") // 25 each of 1500, 1480 and 1460 mm
	if got := look(); got.campaign != "P1" || got.force != 14800 {
		t.Errorf("before any piece: %+v, want 14800 kN of the middle width of P1", got)
	}
	w.rollCoils(1, 3, "F5", "F6")
	w.rollCoils(4, 1, "F5") // not through F6
	first := look()
	if first.piece != "R0003" || first.campaign != "" || first.force != 14000 {
		t.Errorf("after three coils: %+v, want the last one, R0003 at 14000 kN", first)
	}
	w.clock.now = w.clock.now.Add(1e12)
	if again := look(); again.peaks[0] != first.peaks[0] {
		t.Errorf("%g MPa, a while ago %g: nothing was rolled since", again.peaks[0], first.peaks[0])
	}
	_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F6", Role: mill.Work, At: w.clock.now})
	w.must(err)
	v, err := w.Stand(w.ctx, "F6")
	w.must(err)
	if v.Load == nil || len(v.Load.Pairs) != 0 {
		t.Errorf("without work rolls: %+v, want no pair", v.Load)
	}
	for _, p := range v.Positions {
		if (p.Barrel > 0) != (p.Mounting != nil) || (p.Position.Role() == mill.Work) != (p.Mounting == nil) {
			t.Errorf("%+v", p)
		}
	}
}
