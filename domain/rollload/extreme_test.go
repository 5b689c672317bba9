package rollload

import (
	"math"
	"math/rand/v2"
	"testing"

	"barrelbook/domain/contact"
)

// anyPair draws a stack within what the checks admit, far beyond what is built.
func anyPair(rng *rand.Rand, centred bool) Stack {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	roll := func(lo, hi float64) Roll {
		r := Roll{
			Body:             contact.Body{DiameterMM: between(lo, hi), ElasticModulusMPa: between(150e3, 230e3), PoissonRatio: between(0.25, 0.32)},
			BarrelLengthMM:   between(800, 2500),
			ShearCoefficient: between(0.8, 1),
		}
		r.BearingSpanMM = r.BarrelLengthMM * between(1.2, 1.8)
		r.NeckDiameterMM = r.DiameterMM * between(0.4, 1)
		if !centred {
			r.AxialOffsetMM = between(-150, 150)
		}
		return r
	}
	return Stack{Work: roll(400, 1000), Backup: roll(1000, 1700), ApproachConstant: contact.Foeppl}
}

// anyLoad draws crowns of ±800 µm, a narrow, wide or full-width strip, bending
// either way, and forces from a touch to a great mill's.
func anyLoad(rng *rand.Rand, p Stack, centred bool) *Load {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	force := math.Exp(between(math.Log(1e4), math.Log(3e7)))
	room := p.Work.BarrelLengthMM
	width, at := room*between(0.1, 1), p.Work.AxialOffsetMM
	if !centred {
		lo, hi := overlap(p.Work, p.Backup)
		at = (lo+hi)/2 + between(-0.2, 0.2)*(hi-lo)
		width = math.Min(width, 2*(room/2-math.Abs(at-p.Work.AxialOffsetMM)))
	}
	l := &Load{Strip: evenly(force, width, at), BendingForceN: force * between(-0.2, 0.4)}
	l.Work.CrownUM, l.Backup.CrownUM = between(-800, 800), between(-800, 800)
	if rng.IntN(2) == 0 {
		l.Backup.EndReliefLengthMM, l.Backup.EndReliefDepthUM = between(20, 150), between(100, 1500)
	}
	if rng.IntN(2) == 0 {
		w, d := width/2, between(50, 600)
		l.Work.WearUM = Points{XMM: []float64{-w, -0.9 * w, 0.9 * w, w}, Value: []float64{0, d, d, 0}}
	}
	if !centred {
		l.Work.PolynomialUM[1], l.Work.PolynomialUM[3] = between(-300, 300), between(-500, 500)
	}
	return l
}

func TestTwoThousandExtremeStacksConverge(t *testing.T) {
	rng := rand.New(rand.NewPCG(18, 1700))
	var iterations [maxIterations + 1]int
	parted := 0
	for i := range 2000 {
		centred := i%2 == 0
		p := anyPair(rng, centred)
		l := anyLoad(rng, p, centred)
		s := solver(t, p, Options{})
		r, err := s.Solve(l)
		if err != nil {
			t.Fatalf("stack %d, %+v, %+v: %v", i, p, l, err)
		}
		iterations[r.Iterations]++
		if r.ContactLengthMM < r.CommonBarrelMM {
			parted++
		}
		if math.Abs(s.strip.total-sum(r.Contact)) > 1e-9*s.strip.total {
			t.Fatalf("stack %d: carries %.12g of %.12g", i, sum(r.Contact), s.strip.total)
		}
		for j, q := range r.StationLineLoadNPerMM {
			if !(q >= 0 && q <= r.MaxLineLoadNPerMM*(1+1e-9)) || !finite(r.StationGapUM[j]) {
				t.Fatalf("stack %d, station %d: q %g of at most %g, gap %g", i, j, q, r.MaxLineLoadNPerMM, r.StationGapUM[j])
			}
		}
	}
	t.Logf("iterations %v; %d parted", iterations[:20], parted)
	if parted < 200 {
		t.Errorf("only %d of 2000 stacks parted: not extreme enough to mean anything", parted)
	}
}

// sum is the force that the slices carry.
func sum(r Contact) float64 {
	total := 0.0
	for _, q := range r.SliceLineLoadNPerMM {
		total += q
	}
	return total * r.CommonBarrelMM / float64(len(r.SliceXMM))
}
