package offplan_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/offplan"
)

var prior = offplan.Prior{LengthCV: 0.03, ForceCV: 0.05}

func programme(at time.Time, n int) mill.Programme {
	p := mill.Programme{StartsAt: at}
	for i := range n {
		p.Pieces = append(p.Pieces, mill.Piece{ID: fmt.Sprint(i), MassT: 20, WidthMM: 1000, Passes: []mill.Pass{
			{Stand: "F1", ExitThicknessMM: 10, ForceKN: 10000}, {Stand: "F2", ExitThicknessMM: 5, ForceKN: 8000}}})
	}
	return p
}

// rolled is the programme with each stand's length and force off by a factor, and
// pieces left out.
func rolled(p mill.Programme, off func(stand, piece int) (length, force float64), left func(int) bool) []mill.Piece {
	var list []mill.Piece
	for i, piece := range p.Pieces {
		if left(i) {
			continue
		}
		piece.Passes = append([]mill.Pass(nil), piece.Passes...)
		for k := range piece.Passes {
			l, f := off(k, i)
			piece.Passes[k].ExitThicknessMM /= l
			piece.Passes[k].ForceKN *= f
		}
		list = append(list, piece)
	}
	return list
}

func none(int) bool { return false }

// Worked by hand: the second stand rolls 4 % more length under 10 % more force; of
// the ten pieces up to the last one that was rolled one was left out, and what comes
// after it is still ahead.
func TestCompareByHand(t *testing.T) {
	p := programme(time.Time{}, 14)
	got := offplan.Compare(p, rolled(p, func(stand, _ int) (float64, float64) { return 1 + 0.04*float64(stand), 1 + 0.1*float64(stand) }, func(i int) bool { return i == 3 || i > 9 }), 7850)
	if len(got) != 2 {
		t.Fatalf("%d stands", len(got))
	}
	for i, c := range got {
		length, force := math.Log(1+0.04*float64(i)), math.Log(1+0.1*float64(i))
		if c.Pieces != 9 || c.Left != 1 || !c.HasForce || math.Abs(c.Length-length) > 1e-12 || math.Abs(c.Force-force) > 1e-12 {
			t.Errorf("%+v, want a length of %g and a force of %g", c, length, force)
		}
	}
	if few := offplan.Compare(p, rolled(p, func(int, int) (float64, float64) { return 1, 1 }, func(i int) bool { return i > 3 }), 7850); few != nil {
		t.Errorf("four pieces say %+v", few)
	}
}

func TestNothingRolledIsNoBias(t *testing.T) {
	if got := offplan.Expect(nil, prior); len(got) != 0 {
		t.Errorf("%+v", got)
	}
}

// TestBiasAheadIsFound over thirty works of twenty programmes each: the exposure
// ahead is off by less than 0.4 of what the programme alone is, on average not at
// all, and within the spread said as often as it says.
func TestBiasAheadIsFound(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 5))
	var plain, learned, mean, within, n float64
	for range 30 {
		bias := [2]float64{0.06 * random.NormFloat64(), 0.06 * random.NormFloat64()}
		wander := [2]float64{}
		var past []offplan.Campaign
		for c := range 21 {
			for k := range wander {
				wander[k] = 0.8*wander[k] + 0.6*0.02*random.NormFloat64()
			}
			p := programme(time.Unix(int64(c)*86400, 0), 60)
			now := offplan.Compare(p, rolled(p, func(k, _ int) (float64, float64) {
				return math.Exp(0.02 * random.NormFloat64()), math.Exp(bias[k] + wander[k] + 0.05*random.NormFloat64())
			}, none), 7850)
			if c == 20 {
				said := offplan.Expect(past, prior)
				for _, one := range now {
					e := said[one.Stand]
					off := one.Force - math.Log(e.Force)
					plain, learned, mean, n = plain+one.Force*one.Force, learned+off*off, mean+off, n+1
					if math.Abs(off) < 1.645*e.ForceCV {
						within++
					}
				}
			}
			past = append(past, now...)
		}
	}
	t.Logf("off by %.4f, without learning %.4f; mean %+.4f; %.2f within 90 %%", math.Sqrt(learned/n), math.Sqrt(plain/n), mean/n, within/n)
	if learned > 0.16*plain || math.Abs(mean/n) > 0.006 || within/n < 0.8 {
		t.Errorf("off by %.4f, without learning %.4f; mean %+.4f; %.2f within 90 %%", math.Sqrt(learned/n), math.Sqrt(plain/n), mean/n, within/n)
	}
}

// TestNoBiasIsMadeUp: where programmes are rolled as written, scatter alone moves
// the answer by less than half of it, and pieces left out shorten what is ahead.
func TestNoBiasIsMadeUp(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 5))
	var past []offplan.Campaign
	for c := range 24 {
		p := programme(time.Unix(int64(c)*86400, 0), 50)
		one := math.Exp(0.02 * random.NormFloat64())
		past = append(past, offplan.Compare(p, rolled(p, func(int, int) (float64, float64) { return 1, one }, func(i int) bool { return i%10 == 5 }), 7850)...)
	}
	e := offplan.Expect(past, prior)["F1"]
	if math.Abs(e.Force-1) > 0.01 || e.ForceCV < 0.015 || e.ForceCV > 0.035 || math.Abs(e.Left-0.1) > 0.015 || math.Abs(e.Length-(1-e.Left)) > 1e-9 || e.Campaigns != 24 {
		t.Errorf("%+v", e)
	}
}
