package rollload

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// drawn turns one number of rapid's into a stack, so that the extreme stacks
// serve the properties too.
func drawn(t *rapid.T, centred bool) (Stack, *Load) {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "stack"), 1))
	p := anyPair(rng, centred)
	return p, anyLoad(rng, p, centred)
}

// alike fails unless two line loads agree to a share of their mean.
func alike(t *rapid.T, what string, a, b, share, mean float64) {
	if !(math.Abs(a-b) <= share*mean) {
		t.Fatalf("%s: %.12g and %.12g, mean %g", what, a, b, mean)
	}
}

func answer(t *rapid.T, p Stack, o Options, l *Load) Result {
	c, err := NewCoefficients(p, o)
	if err != nil {
		t.Fatal(err)
	}
	r, err := NewSolver(c).Solve(l)
	if err != nil {
		t.Fatalf("%+v %+v: %v", p, l, err)
	}
	return r
}

func TestCarriesStripAndBending(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawn(t, rapid.Bool().Draw(t, "centred"))
		r := answer(t, p, Options{}, l)
		want := 2*l.BendingForceN + l.Strip.Value[0]*(l.Strip.XMM[1]-l.Strip.XMM[0])
		if got := sum(r.Contact); !(math.Abs(got-want) <= 1e-9*want) {
			t.Fatalf("carries %.12g of %.12g", got, want)
		}
		alike(t, "mean", r.MeanLineLoadNPerMM*r.CommonBarrelMM, want, 1e-12, want)
	})
}

func TestMirroredStackGivesMirroredLoad(t *testing.T) {
	mirror := func(p Points) Points {
		n := len(p.XMM)
		m := Points{make([]float64, n), make([]float64, n)}
		for i := range n {
			m.XMM[i], m.Value[i] = -p.XMM[n-1-i], p.Value[n-1-i]
		}
		return m
	}
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawn(t, false)
		r := answer(t, p, Options{}, l)
		p.Work.AxialOffsetMM, p.Backup.AxialOffsetMM = -p.Work.AxialOffsetMM, -p.Backup.AxialOffsetMM
		m := *l
		m.Strip, m.Work.WearUM = mirror(l.Strip), mirror(l.Work.WearUM)
		m.Work.PolynomialUM = l.Work.PolynomialUM.Turned()
		back := answer(t, p, Options{}, &m)
		last := len(r.StationXMM) - 1
		for i, q := range r.StationLineLoadNPerMM {
			alike(t, "q", q, back.StationLineLoadNPerMM[last-i], 1e-7, r.MeanLineLoadNPerMM)
		}
		alike(t, "flattening", r.FlatteningCentreUM, back.FlatteningCentreUM, 1e-7, 1)
		alike(t, "tilt", r.TiltUM, -back.TiltUM, 1e-7, math.Abs(r.TiltUM)+1)
		alike(t, "contact length", r.ContactLengthMM, back.ContactLengthMM, 1e-7, r.CommonBarrelMM)
	})
}

func TestFoldedIsTheWholeBarrel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawn(t, true)
		o := Options{Stations: rapid.SampledFrom([]int{2, 3, 40, 41}).Draw(t, "stations")}
		folded := answer(t, p, o, l)
		whole := *l
		whole.Whole = true
		r := answer(t, p, o, &whole)
		mean := r.MeanLineLoadNPerMM
		for i, q := range r.StationLineLoadNPerMM {
			alike(t, "q", q, folded.StationLineLoadNPerMM[i], 1e-7, mean)
			alike(t, "gap", r.StationGapUM[i], folded.StationGapUM[i], 1e-7, 1+math.Abs(r.StationGapUM[i]))
		}
		alike(t, "greatest", r.MaxLineLoadNPerMM, folded.MaxLineLoadNPerMM, 1e-7, mean)
		alike(t, "centre less edge", r.WorkAxisCentreMinusStripEdgeUM, folded.WorkAxisCentreMinusStripEdgeUM, 1e-7, 1+math.Abs(r.WorkAxisCentreMinusStripEdgeUM))
		alike(t, "flattening", r.FlatteningCentreUM, folded.FlatteningCentreUM, 1e-7, 1)
		alike(t, "contact length", r.ContactLengthMM, folded.ContactLengthMM, 1e-7, r.CommonBarrelMM)
		alike(t, "tilt of alike halves", r.TiltUM, 0, 1e-6, 1)
	})
}

func TestPeakPressureGoesWithTheRootOfLineLoad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawn(t, true)
		r := answer(t, p, Options{}, l)
		for i, q := range r.StationLineLoadNPerMM {
			want := r.PeakPressureMPa * math.Sqrt(q/r.MaxLineLoadNPerMM)
			alike(t, "p0", r.StationPeakPressureMPa[i], want, 1e-9, r.PeakPressureMPa)
		}
	})
}

// A roll that turns its profile over to the other roll changes nothing of the
// load: only the sum of both counts.
func TestProfilesMayChangeRolls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawn(t, true)
		p.Backup.BarrelLengthMM = p.Work.BarrelLengthMM
		p.Backup.BearingSpanMM = 1.5 * p.Work.BarrelLengthMM
		r := answer(t, p, Options{}, l)
		other := *l
		other.Work, other.Backup = l.Backup, l.Work
		swapped := answer(t, p, Options{}, &other)
		for i, q := range r.StationLineLoadNPerMM {
			alike(t, "q", q, swapped.StationLineLoadNPerMM[i], 1e-8, r.MeanLineLoadNPerMM)
		}
	})
}

func TestGreatestLineLoadIsFoundBetweenStations(t *testing.T) {
	// A ridge of 60 µm, 30 mm wide, away from every station and slice centre.
	ridge := Points{XMM: []float64{196, 211.3, 226}, Value: []float64{0, -60, 0}}
	l := &Load{Strip: evenly(18e6, 1250, 0), Work: Profile{WearUM: ridge}}
	r := solve(t, solver(t, pair(), Options{Slices: 200}), l)
	near(t, "x of the greatest", r.MaxLineLoadXMM, 211.3, 1e-9)
	q, _ := byElements(t, pair(), l, 5, []float64{211.3})
	near(t, "the greatest", r.MaxLineLoadNPerMM/q[0][0], 1, 5e-3)
	// A smooth maximum that lies off all of them: the strip aside.
	l = &Load{Strip: evenly(18e6, 500, 133)}
	coarse := solve(t, solver(t, pair(), Options{}), l)
	fine := solve(t, solver(t, pair(), Options{Slices: 100, Stations: 2001}), l)
	best, at := 0.0, 0.0
	for i, q := range fine.StationLineLoadNPerMM {
		if q > best {
			best, at = q, fine.StationXMM[i]
		}
	}
	near(t, "smooth, value", coarse.MaxLineLoadNPerMM/best, 1, 1e-6)
	near(t, "smooth, x", coarse.MaxLineLoadXMM, at, 1.5)
}

func TestContactLengthEndsWhereTheRollsPart(t *testing.T) {
	l := &Load{Strip: evenly(4e6, 900, 0), Work: Profile{CrownUM: 800}}
	r := solve(t, solver(t, pair(), Options{}), l)
	fine := solve(t, solver(t, pair(), Options{Slices: 800, Stations: 2001}), l)
	touching := 0
	for _, q := range fine.StationLineLoadNPerMM {
		if q > 0 {
			touching++
		}
	}
	want := float64(touching) * 1700 / 2000
	if want > 1600 {
		t.Fatalf("the case does not part: %g", want)
	}
	near(t, "contact length", r.ContactLengthMM, want, 2)
	full := solve(t, solver(t, pair(), Options{}), &Load{Strip: evenly(18e6, 1250, 0)})
	near(t, "all of it", full.ContactLengthMM, 1700, 0)
}

func TestSolveAllocatesNothing(t *testing.T) {
	for i, stack := range []Stack{pair(), pair(), sixHigh(), sixHigh()} {
		whole := i%2 == 1
		s := solver(t, stack, Options{})
		l := &Load{Strip: evenly(18e6, 1250, 0), Whole: whole, Work: Profile{CrownUM: 120,
			WearUM: Points{XMM: []float64{-625, -500, 500, 625}, Value: []float64{0, 80, 80, 0}}}}
		solve(t, s, l)
		if n := testing.AllocsPerRun(20, func() {
			if _, err := s.Solve(l); err != nil {
				t.Fatal(err)
			}
		}); n != 0 {
			t.Errorf("whole %v: %g allocations per solve", whole, n)
		}
	}
}

func TestResultDoesNotDependOnWhatWasSolvedBefore(t *testing.T) {
	used := solver(t, pair(), Options{})
	l := &Load{Strip: evenly(18e6, 1250, 0)}
	solve(t, used, &Load{Strip: evenly(2e6, 300, 200), Work: Profile{PolynomialUM: Polynomial{3: 400}}})
	if _, err := used.Solve(&Load{Strip: evenly(2e6, 300, 200), BendingForceN: -5e6}); err == nil {
		t.Fatal("a load that parts the rolls was taken")
	}
	a, b := solve(t, used, l), solve(t, solver(t, pair(), Options{}), l)
	for i := range a.StationXMM {
		if a.StationLineLoadNPerMM[i] != b.StationLineLoadNPerMM[i] {
			t.Fatalf("station %d: %g after other loads, %g fresh", i, a.StationLineLoadNPerMM[i], b.StationLineLoadNPerMM[i])
		}
	}
}
