package rollload

import (
	"fmt"
	"math"
	"testing"

	"barrelbook/domain/contact"
)

// near fails unless got is within tolerance of want, both as they stand.
func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g, off by %.2g, allowed %.2g", what, got, want, got-want, tolerance)
	}
}

// steel is a roll of the check values: barrel 1700, bearings at ±1350.
func steel(diameter float64) Roll {
	return Roll{
		Body:           contact.Body{DiameterMM: diameter, ElasticModulusMPa: 206e3, PoissonRatio: 0.3},
		BarrelLengthMM: 1700, BearingSpanMM: 2700, NeckDiameterMM: diameter,
		ShearCoefficient: DefaultShearCoefficient,
	}
}

func pair() Stack {
	return Stack{Work: steel(700), Backup: steel(1500), ApproachConstant: contact.Foeppl}
}

// evenly spreads force over a strip of the width, its middle at x.
func evenly(force, width, x float64) Points {
	p := force / width
	return Points{XMM: []float64{x - width/2, x + width/2}, Value: []float64{p, p}}
}

func solver(t testing.TB, p Stack, o Options) *Solver {
	t.Helper()
	c, err := NewCoefficients(p, o)
	if err != nil {
		t.Fatalf("%+v: %v", p, err)
	}
	return NewSolver(c)
}

func solve(t testing.TB, s *Solver, l *Load) Result {
	t.Helper()
	r, err := s.Solve(l)
	if err != nil {
		t.Fatalf("%+v: %v", l, err)
	}
	return r
}

func TestFourHighCheckValues(t *testing.T) {
	// Derived by two independent programs: 700/1500, barrels 1700, supports
	// ±1350 of constant diameter, 18 MN, Johnson's constant; tolerance 2e-3.
	for _, c := range []struct{ width, centre, end float64 }{
		{1250, 1.0744, 0.9076}, {900, 1.1917, 0.7718}, {1600, 0.9623, 1.0874},
	} {
		t.Run(fmt.Sprintf("strip %g", c.width), func(t *testing.T) {
			p := pair()
			p.ApproachConstant = contact.Johnson
			r := solve(t, solver(t, p, Options{}), &Load{Strip: evenly(18e6, c.width, 0)})
			q, mean := r.StationLineLoadNPerMM, r.MeanLineLoadNPerMM
			near(t, "mean", mean, 18e6/1700, 1e-6)
			near(t, "centre/mean", q[20]/mean, c.centre, 2e-3)
			near(t, "end/mean", q[0]/mean, c.end, 2e-3)
			near(t, "other end/mean", q[40]/mean, c.end, 2e-3)
			greatest, at := q[20], 0.0
			if c.end > c.centre {
				greatest, at = q[40], 850
			}
			near(t, "greatest", r.MaxLineLoadNPerMM, greatest, 1e-9*mean)
			near(t, "x of the greatest", r.MaxLineLoadXMM, at, 1e-6)
			law, err := contact.NewLaw(p.Work.Body, p.Backup.Body, p.ApproachConstant)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "flattening at the centre", r.FlatteningCentreUM, 1000*law.Approach(q[20]), 1e-6)
			near(t, "peak pressure", r.PeakPressureMPa, law.PeakPressure(greatest), 1e-6)
		})
	}
}
