package duty

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/mill"
	"barrelbook/domain/rollload"
)

// longWork is a four-high stand whose work rolls are made to be shifted: their
// barrels cover the backup rolls' at any shift.
func longWork() []Roll {
	rolls := fourHigh()
	rolls[1].BarrelLengthMM, rolls[2].BarrelLengthMM = 2080, 2080
	return rolls
}

func shiftable(t testing.TB, rolls []Roll) *Stand {
	t.Helper()
	s, err := NewStand(finishing(), 7850, rolls)
	if err != nil {
		t.Fatal(err)
	}
	m := models(t)
	m.Gap = true
	s.Use(m, conditions(t, rolls))
	return s
}

func mirrored(list []float64) []float64 {
	back := make([]float64, len(list))
	for i, v := range list {
		back[len(list)-1-i] = v
	}
	return back
}

func alike(t interface {
	Helper()
	Fatalf(string, ...any)
}, what string, a, b []float64, tolerance float64) {
	t.Helper()
	for i := range a {
		if !(math.Abs(a[i]-b[i]) <= tolerance) {
			t.Fatalf("%s, station %d: %g and %g", what, i, a[i], b[i])
		}
	}
}

// A shift lays the wear of the two rolls on opposite sides, and leaves the load
// between the rolls where it was as long as the barrels cover one another.
func TestShiftMovesTheRollsApart(t *testing.T) {
	still, moved := shiftable(t, longWork()), shiftable(t, longWork())
	p := coil(1250, 15000)
	before := take(t, still, p)
	p.Passes[0].WorkRollShiftMM = 100
	after := take(t, moved, p)
	alike(t, "top and bottom mirrored", after.Rolls[1].WearUM, mirrored(after.Rolls[2].WearUM), 1e-12*after.Rolls[1].DeepestWearUM())
	grid := moved.gridX[1]
	middle := func(worn []float64) (x float64) {
		sum := 0.0
		for i, w := range worn {
			x, sum = x+w*grid[i], sum+w
		}
		return x / sum
	}
	// The top roll has gone 100 mm to the drive side, −x: the strip lies 100 mm to
	// the operator side of its middle.
	if x := middle(after.Rolls[1].WearUM); math.Abs(x-100) > 1 {
		t.Errorf("the wear of the top roll lies about %.1f mm, want 100", x)
	}
	if x := middle(before.Rolls[1].WearUM); math.Abs(x) > 1e-9 {
		t.Errorf("unshifted, it lies about %g", x)
	}
	for _, i := range []int{0, 3} {
		alike(t, "backup load", moved.lineLoad(i), still.lineLoad(i), 1e-6*15000)
		q := moved.lineLoad(i)
		if math.Abs(q[0]-q[len(q)-1]) > 1e-6 {
			t.Errorf("backup roll %d is pressed by %g and %g at its ends", i, q[0], q[len(q)-1])
		}
	}
	// The strip's own off-centre lies on the same side of both.
	p.Passes[0].WorkRollShiftMM, p.Passes[0].LateralOffsetMM = 0, 40
	aside := take(t, shiftable(t, longWork()), p)
	alike(t, "strip aside", aside.Rolls[1].WearUM, aside.Rolls[2].WearUM, 0)
}

// Whatever the shift, halves that mirror one another bear mirrored loads and wear,
// solved apart or by turning the one answer.
func TestMirroredHalves(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := shiftable(t, fourHigh())
		s.mech.rolls[1].Contour = rollload.Polynomial{1: -200, 3: 300}
		s.mech.rolls[2].Contour = s.mech.rolls[1].Contour
		apart := rapid.Bool().Draw(rt, "solved apart")
		for range 6 {
			p := coil(rapid.Float64Range(900, 1400).Draw(rt, "width"), rapid.Float64Range(9000, 18000).Draw(rt, "force"))
			p.Passes[0].WorkRollShiftMM = rapid.Float64Range(-150, 150).Draw(rt, "shift")
			if apart {
				s.rolls[2].DiameterMM = s.rolls[1].DiameterMM * 1.0000001
				s.mech.rolls[2].BearingSpanMM = s.mech.rolls[1].BearingSpanMM + 1e-6
			}
			load := take(t, s, p)
			for top, bottom := range map[int]int{0: 3, 1: 2} {
				w := load.Rolls[top].WearUM
				alike(rt, "wear", w, mirrored(load.Rolls[bottom].WearUM), 1e-6*load.Rolls[top].DeepestWearUM())
				q := s.lineLoad(top)
				alike(rt, "load", q, mirrored(s.lineLoad(bottom)), 1e-4*15000)
			}
			g, ok := s.Gap(p.Passes[0], 40)
			if !ok {
				rt.Fatal("no gap")
			}
			if w := g.Shape().WedgeUM; math.Abs(w) > 0.02 {
				rt.Fatalf("mirrored halves make a wedge of %g µm", w)
			}
		}
	})
}

// The gap of rolls as ground has not changed; worn, hot and shifted it has, and
// the parts add up to what two solutions of the whole stand say.
func TestGapIsTheSurfacesOfBothSolutions(t *testing.T) {
	s := shiftable(t, longWork())
	p := coil(1250, 15000)
	fresh := shiftable(t, longWork())
	take(t, fresh, p)
	g, ok := fresh.Gap(mill.Pass{WidthMM: 1250}, 40)
	if !ok {
		t.Fatal("no gap")
	}
	if c := g.Shape().Parts.BendingUM; math.Abs(c) > 3 {
		t.Errorf("the axes of fresh rolls have moved by %.2f µm", c)
	}
	for range 40 {
		take(t, s, p)
		s.Rest(0.5)
	}
	s.halves[0].lines[0].shape, s.halves[1].lines[0].shape = nil, nil // solve anew
	p.Passes[0].WorkRollShiftMM = 80
	worn := s.profile(1)
	wornUM := append([]float64(nil), worn.WearUM.Value...)
	worn.WearUM.Value = wornUM
	take(t, s, p)
	g, ok = s.Gap(p.Passes[0], 40)
	if !ok {
		t.Fatal("no gap")
	}
	shape := g.Shape()
	surface := func(at shifts, work rollload.Profile) (crown float64) {
		solver, err := s.solver(&s.halves[0], at)
		if err != nil {
			t.Fatal(err)
		}
		r, err := solver.Solve(&rollload.Load{Strip: rollload.Points{XMM: []float64{-625, 625}, Value: []float64{12000, 12000}}, Work: work})
		if err != nil {
			t.Fatal(err)
		}
		gapUM := rollload.Points{XMM: r.StationXMM, Value: r.StationGapUM}
		return gapUM.At(0) - (gapUM.At(585)+gapUM.At(-585))/2
	}
	want := 2 * (surface(shifts{workMM: 80}, worn) - surface(shifts{}, s.ground(1)))
	// Wear of the backup rolls is left out of the two solutions, and the surface
	// is told at stations.
	if got := shape.CentreToEdgeUM; math.Abs(got-want) > 0.05*math.Abs(want)+5 {
		t.Errorf("centre to edge %.1f µm, by two solutions %.1f (%+v)", got, want, shape.Parts)
	}
	if step, _ := g.EdgeStep(); step <= 0 {
		t.Error("no edge step under a strip on worn rolls")
	}
}

// An S-shaped contour makes no crown until its rolls are shifted; then the gap's
// crown moves by the closed form, and back with the shift the other way.
func TestShiftedContourMovesTheGap(t *testing.T) {
	s := shiftable(t, longWork())
	for _, i := range []int{1, 2} {
		s.mech.rolls[i].Contour = rollload.Polynomial{1: -250, 3: 400}
	}
	s.makeSolvers()
	for _, shift := range []float64{0, 100, -100} {
		p := coil(1250, 15000)
		p.Passes[0].WorkRollShiftMM = shift
		take(t, s, p)
		g, ok := s.Gap(p.Passes[0], 40)
		if !ok {
			t.Fatal("no gap")
		}
		// −a₃(2/L)³·3x²o, o = −shift of the top roll, x = 585.
		want := 400 * math.Pow(2/2080.0, 3) * 3 * 585 * 585 * shift
		if got := g.Shape().Parts.ContourUM; math.Abs(got-want) > 1e-9 {
			t.Errorf("shift %g: contour %.4f µm, closed form %.4f", shift, got, want)
		}
		if w := g.Shape().WedgeUM; math.Abs(w) > 0.05 {
			t.Errorf("shift %g: wedge %.3f µm", shift, w)
		}
	}
}
