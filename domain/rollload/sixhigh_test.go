package rollload

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/contact"
)

// sixHigh is an invented cold stand: work rolls 430, intermediate 520, backup
// 1300 mm, barrels 1500 mm.
func sixHigh() Stack {
	roll := func(diameter, neck, span float64) Roll {
		return Roll{Body: contact.Body{DiameterMM: diameter, ElasticModulusMPa: 206e3, PoissonRatio: 0.3},
			BarrelLengthMM: 1500, BearingSpanMM: span, NeckDiameterMM: neck, ShearCoefficient: DefaultShearCoefficient}
	}
	return Stack{Work: roll(430, 260, 2300), Intermediate: roll(520, 320, 2400), Backup: roll(1300, 800, 2500), ApproachConstant: contact.Johnson}
}

func shiftedSixHigh() Stack {
	p := sixHigh()
	p.Intermediate.AxialOffsetMM = -180
	return p
}

// The reference is the same stand by finite elements of our own; both contacts
// must agree within 5e-4 of their mean line load.
func TestSixHighAgreesWithElements(t *testing.T) {
	uneven := sixHigh()
	uneven.Work.BarrelLengthMM, uneven.Work.AxialOffsetMM, uneven.Work.ElasticModulusMPa = 1700, 60, 210e3
	uneven.Intermediate.BarrelLengthMM, uneven.Intermediate.AxialOffsetMM = 1650, -120
	for _, c := range []struct {
		name    string
		stack   Stack
		load    Load
		allowed float64
	}{
		{"plain", sixHigh(), Load{Strip: evenly(9e6, 1000, 0)}, 5e-4},
		{"bending of both, crowns", sixHigh(), Load{Strip: evenly(10e6, 1200, 0), BendingForceN: 3e5, IntermediateBendingForceN: 4e5,
			Work: Profile{CrownUM: 60}, Intermediate: Profile{CrownUM: 40}, Backup: Profile{CrownUM: -50}}, 5e-4},
		{"intermediate shifted", shiftedSixHigh(), Load{Strip: evenly(9e6, 1000, 0), BendingForceN: 2e5}, 5e-4},
		{"intermediate shifted, strip aside", shiftedSixHigh(), Load{Strip: evenly(9e6, 900, 25), IntermediateBendingForceN: -1e5}, 5e-4},
		{"S-contour on a shifted intermediate", shiftedSixHigh(), Load{Strip: evenly(9e6, 1000, 0),
			Intermediate: Profile{PolynomialUM: Polynomial{1: -200, 3: 300, 5: 60}}}, 5e-4},
		{"unlike barrels, all shifted", uneven, Load{Strip: evenly(12e6, 1100, -30), BendingForceN: 2e5, IntermediateBendingForceN: 1e5,
			Work: Profile{CrownUM: 80}}, 5e-4},
		{"parted at the ends", sixHigh(), Load{Strip: evenly(4e6, 600, 0), Work: Profile{CrownUM: 500}}, 2e-3},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := solve(t, solver(t, c.stack, Options{}), &c.load)
			want, axis := byElements(t, c.stack, &c.load, 10, r.StationXMM, r.Backup.StationXMM)
			near(t, "axis, centre less strip edge, µm", r.WorkAxisCentreMinusStripEdgeUM, axis, 2e-4*math.Abs(axis)+0.02)
			for k, of := range []Contact{r.Contact, r.Backup} {
				worst, at := furthest(of, want[k])
				t.Logf("contact %d: largest difference %.2g of the mean %.0f; %d iterations", k, worst, of.MeanLineLoadNPerMM, r.Iterations)
				if !(worst <= c.allowed) {
					t.Errorf("contact %d, x %g: slices %g, elements %g: %.2g of the mean, allowed %g",
						k, of.StationXMM[at], of.StationLineLoadNPerMM[at], want[k][at], worst, c.allowed)
				}
			}
		})
	}
}

// moment is Σq·x of a contact about the middle of the mill.
func moment(c Contact) (sum float64) {
	for i, q := range c.SliceLineLoadNPerMM {
		sum += q * c.SliceXMM[i]
	}
	return sum * c.CommonBarrelMM / float64(len(c.SliceXMM))
}

func TestSixHighKeepsForceAndMoment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		within := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		p := sixHigh()
		p.Work.AxialOffsetMM, p.Intermediate.AxialOffsetMM = within("work shift", -150, 150), within("intermediate shift", -350, 350)
		force, at := within("force", 1e6, 15e6), within("strip", -40, 40)
		l := &Load{Strip: evenly(force, within("width", 500, 1000), at), BendingForceN: within("bending", -0.05, 0.05) * force, IntermediateBendingForceN: within("inner bending", -0.05, 0.05) * force}
		l.Work.CrownUM, l.Intermediate.PolynomialUM = within("crown", -100, 200), Polynomial{1: within("linear", -200, 200), 3: within("cubic", -300, 300)}
		r := answer(t, p, Options{}, l)
		total, turning := force+2*l.BendingForceN, force*at+2*l.BendingForceN*p.Work.AxialOffsetMM
		for k, c := range []Contact{r.Contact, r.Backup} {
			if k == 1 {
				total += 2 * l.IntermediateBendingForceN
				turning += 2 * l.IntermediateBendingForceN * p.Intermediate.AxialOffsetMM
			}
			if got := sum(c); !(math.Abs(got-total) <= 1e-9*total) {
				t.Fatalf("contact %d carries %.12g of %.12g", k, got, total)
			}
			if got := moment(c); !(math.Abs(got-turning) <= 1e-9*total*c.CommonBarrelMM) {
				t.Fatalf("contact %d turns by %.12g of %.12g", k, got, turning)
			}
		}
	})
}

func TestSixHighFoldedIsTheWholeBarrel(t *testing.T) {
	l := &Load{Strip: evenly(9e6, 1000, 0), BendingForceN: 2e5, IntermediateBendingForceN: 3e5, Work: Profile{CrownUM: 60}}
	s := solver(t, sixHigh(), Options{})
	folded := solve(t, s, l)
	q := append([]float64(nil), folded.StationLineLoadNPerMM...)
	inner := append([]float64(nil), folded.Backup.StationLineLoadNPerMM...)
	axis := append([]float64(nil), folded.StationAxisUM...)
	l.Whole = true
	whole := solve(t, s, l)
	for i := range q {
		near(t, "q", q[i], whole.StationLineLoadNPerMM[i], 1e-7*whole.MeanLineLoadNPerMM)
		near(t, "q at the backup roll", inner[i], whole.Backup.StationLineLoadNPerMM[i], 1e-7*whole.Backup.MeanLineLoadNPerMM)
		near(t, "axis", axis[i], whole.StationAxisUM[i], 1e-6)
	}
}

// An intermediate roll as stiff as can be carries what the work roll gives it
// in a straight line to the backup roll; and a work roll on it feels nothing of
// the backup roll's bending.
func TestSixHighWithARigidIntermediateRoll(t *testing.T) {
	p := sixHigh()
	p.Intermediate = rigid(p.Intermediate)
	l := &Load{Strip: evenly(9e6, 900, 0)}
	r := solve(t, solver(t, p, Options{}), l)
	soft := p
	soft.Backup.ElasticModulusMPa /= 2
	other := solve(t, solver(t, soft, Options{}), l)
	for i, q := range r.StationLineLoadNPerMM {
		near(t, "q", q, other.StationLineLoadNPerMM[i], 1e-6*r.MeanLineLoadNPerMM)
	}
}

func TestSixHighRefusesByName(t *testing.T) {
	p := sixHigh()
	p.Intermediate.NeckDiameterMM = 600
	_, err := NewCoefficients(p, Options{})
	wantRefusal(t, err, "intermediate/neck_diameter_mm")
	s := solver(t, sixHigh(), Options{})
	_, err = s.Solve(&Load{Strip: evenly(9e6, 900, 0), IntermediateBendingForceN: -5e6})
	wantRefusal(t, err, "intermediate_bending_force_n")
	_, err = s.Solve(&Load{Strip: evenly(9e6, 900, 0), Intermediate: Profile{CrownUM: math.NaN()}})
	wantRefusal(t, err, "intermediate/crown_um")
}
