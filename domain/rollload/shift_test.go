package rollload

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/contact"
)

// A work roll shifted 100 mm whose barrel still covers the backup roll's presses
// it as one that stands in the middle does, 8,573 N/mm at both ends under 18 MN
// on 1000 mm; the strip itself 100 mm off the middle makes 5,298 and 12,368.
// Numbers of the review that found the two taken for one, Föppl's constant.
func TestShiftIsNotTheStripOffCentre(t *testing.T) {
	p := pair()
	p.ApproachConstant = contact.Foeppl
	p.Work.BarrelLengthMM = 1900
	aside := solve(t, solver(t, p, Options{}), &Load{Strip: evenly(18e6, 1000, 100)})
	near(t, "strip aside, one end", aside.StationLineLoadNPerMM[0], 5298, 0.5)
	near(t, "strip aside, other end", aside.StationLineLoadNPerMM[40], 12368, 0.5)
	for _, shift := range []float64{0, 100, -100} {
		p.Work.AxialOffsetMM = shift
		r := solve(t, solver(t, p, Options{}), &Load{Strip: evenly(18e6, 1000, 0)})
		near(t, "one end", r.StationLineLoadNPerMM[0], 8573, 0.5)
		near(t, "other end", r.StationLineLoadNPerMM[40], 8573, 0.5)
	}
}

// turnedStack draws a stack as mills build them, shifted, and the same turned end for
// end; the bottom half of a stand is the top half turned so.
func turnedStack(t *rapid.T) (p, turned Stack, l, back *Load) {
	within := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	p = pair()
	if rapid.Bool().Draw(t, "six-high") {
		p = sixHigh()
		p.Intermediate.AxialOffsetMM = within("intermediate shift", -250, 250)
	}
	p.Work.AxialOffsetMM = within("work shift", -150, 150)
	force, width, at := within("force", 3e6, 15e6), within("width", 600, 1100), within("strip", -20, 20)
	l = &Load{Strip: evenly(force, width, at), BendingForceN: within("bending", -0.03, 0.05) * force}
	l.Work.PolynomialUM = Polynomial{1: within("linear", -300, 300), 2: within("square", -100, 100), 3: within("cubic", -400, 400), 5: within("fifth", -50, 50)}
	half := width / 2
	l.Work.WearUM = Points{XMM: []float64{-half, 40 - half, 0, half - 60, half}, Value: []float64{0, within("wear", 0, 200), 90, within("wear", 0, 200), 0}}

	turned, back = p, &Load{Strip: evenly(force, width, -at), BendingForceN: l.BendingForceN}
	turned.Work.AxialOffsetMM, turned.Intermediate.AxialOffsetMM = -p.Work.AxialOffsetMM, -p.Intermediate.AxialOffsetMM
	back.Work.PolynomialUM = l.Work.PolynomialUM.Turned()
	for i := range l.Work.WearUM.XMM {
		j := len(l.Work.WearUM.XMM) - 1 - i
		back.Work.WearUM.XMM = append(back.Work.WearUM.XMM, -l.Work.WearUM.XMM[j])
		back.Work.WearUM.Value = append(back.Work.WearUM.Value, l.Work.WearUM.Value[j])
	}
	return p, turned, l, back
}

func TestMirroredRollsGiveMirroredLoads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, turned, l, back := turnedStack(t)
		r, m := answer(t, p, Options{}, l), answer(t, turned, Options{}, back)
		for k, pairs := range [][2]Contact{{r.Contact, m.Contact}, {r.Backup, m.Backup}} {
			a, b := pairs[0], pairs[1]
			last := len(a.StationXMM) - 1
			for i, q := range a.StationLineLoadNPerMM {
				if d := math.Abs(q - b.StationLineLoadNPerMM[last-i]); !(d <= 1e-12*a.MaxLineLoadNPerMM) {
					t.Fatalf("contact %d, station %d: %.16g and %.16g: %.2g of the greatest", k, i, q, b.StationLineLoadNPerMM[last-i], d/a.MaxLineLoadNPerMM)
				}
			}
		}
	})
}

func TestShiftedStackKeepsForceAndMoment(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, _, l, _ := turnedStack(t)
		r := answer(t, p, Options{}, l)
		x, q := l.Strip.XMM, l.Strip.Value[0]
		total, turning := q*(x[1]-x[0]), q*(x[1]*x[1]-x[0]*x[0])/2
		total += 2 * l.BendingForceN
		turning += 2 * l.BendingForceN * p.Work.AxialOffsetMM
		if got := sum(r.Contact); !(math.Abs(got-total) <= 1e-9*total) {
			t.Fatalf("carries %.12g of %.12g", got, total)
		}
		if got := moment(r.Contact); !(math.Abs(got-turning) <= 1e-9*total*r.CommonBarrelMM) {
			t.Fatalf("turns by %.12g of %.12g", got, turning)
		}
	})
}
