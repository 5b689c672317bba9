package rollload

import (
	"math"
	"testing"

	"barrelbook/domain/contact"
)

// byElements solves the case with elements at most size long and returns the
// line load of each contact at its stations, and the work roll's axis at x = 0
// less that at the strip's last point, µm.
func byElements(t *testing.T, p Stack, l *Load, size float64, stations ...[]float64) (q [][]float64, axis float64) {
	t.Helper()
	var rolls []Roll
	var laws []law
	var shapes []*shape
	profiles := l.profiles(p.SixHigh())
	load := pressing{bending: []float64{l.BendingForceN, l.IntermediateBendingForceN, 0}, total: 2 * (l.BendingForceN + l.IntermediateBendingForceN)}
	places := append([]float64{0}, l.Strip.XMM...)
	for k, r := range p.rolls() {
		rolls = append(rolls, r.Roll)
		shapes = append(shapes, &shape{Profile: profiles[k], half: r.BarrelLengthMM / 2, offset: r.AxialOffsetMM})
		places = append(places, r.AxialOffsetMM-r.BearingSpanMM/2, r.AxialOffsetMM+r.BearingSpanMM/2,
			r.AxialOffsetMM-r.BarrelLengthMM/2, r.AxialOffsetMM+r.BarrelLengthMM/2)
	}
	for k := range len(rolls) - 1 {
		law, err := contact.NewLaw(rolls[k].Body, rolls[k+1].Body, p.ApproachConstant)
		if err != nil {
			t.Fatal(err)
		}
		laws = append(laws, &law)
		front, behind := shapes[k], shapes[k+1]
		load.gaps = append(load.gaps, func(x float64) float64 { return (front.mm(x) + behind.mm(x)) / 2 })
		lo, hi := overlap(rolls[k], rolls[k+1])
		for _, s := range []*shape{front, behind} {
			s.kinks(func(x float64) {
				if x > lo && x < hi {
					places = append(places, x)
				}
			})
		}
		places = append(places, stations[k]...)
	}
	for i := range len(l.Strip.XMM) - 1 {
		load.total += (l.Strip.XMM[i+1] - l.Strip.XMM[i]) * (l.Strip.Value[i] + l.Strip.Value[i+1]) / 2
	}
	load.strip = func(x float64) float64 {
		if x < l.Strip.XMM[0] || x > l.Strip.XMM[len(l.Strip.XMM)-1] {
			return 0
		}
		hint := 0
		return l.Strip.at(x, &hint)
	}
	e := newElements(rolls, laws, size, places)
	if err := e.solve(load); err != nil {
		t.Fatal(err)
	}
	for r := range laws {
		q = append(q, make([]float64, len(stations[r])))
	}
	for k, x := range e.x {
		if x == 0 {
			axis += 1000 * e.y[k*e.perNode]
		}
		if math.Abs(x-l.Strip.XMM[len(l.Strip.XMM)-1]) < 2e-6 {
			axis -= 1000 * e.y[k*e.perNode]
		}
		for r := range laws {
			for i, s := range stations[r] {
				if math.Abs(x-s) < 2e-6 {
					q[r][i] = e.load(k, r, load.gaps[r])
				}
			}
		}
	}
	return q, axis
}

// furthest is the greatest difference of two line loads over the mean.
func furthest(c Contact, want []float64) (worst float64, at int) {
	for i, q := range c.StationLineLoadNPerMM {
		if d := math.Abs(q-want[i]) / c.MeanLineLoadNPerMM; !(d <= worst) {
			worst, at = d, i
		}
	}
	return worst, at
}

// uneven is a pair with necks, unlike materials, unlike barrels.
func uneven() Stack {
	p := pair()
	p.Work = Roll{Body: contact.Body{DiameterMM: 680, ElasticModulusMPa: 170e3, PoissonRatio: 0.28},
		BarrelLengthMM: 1800, BearingSpanMM: 2700, NeckDiameterMM: 420, ShearCoefficient: 0.9}
	p.Backup.BarrelLengthMM, p.Backup.NeckDiameterMM, p.Backup.BearingSpanMM = 1700, 900, 2750
	return p
}

func TestSlicesAgreeWithElements(t *testing.T) {
	shifted := uneven()
	shifted.Work.AxialOffsetMM = 70
	wear := Points{
		XMM:   []float64{-640, -625, -560, -500, 0, 500, 560, 625, 640},
		Value: []float64{0, 180, 240, 150, 140, 150, 240, 180, 0},
	}
	const smooth, kinked = 5e-4, 2e-3 // of the mean line load, at 100 slices
	for _, c := range []struct {
		name    string
		pair    Stack
		load    Load
		allowed float64
	}{
		{"plain", pair(), Load{Strip: evenly(18e6, 1250, 0)}, smooth},
		{"narrow strip, necks, iron work roll", uneven(), Load{Strip: evenly(14e6, 800, 0)}, smooth},
		{"bending and crowns", uneven(), Load{Strip: evenly(18e6, 1250, 0), BendingForceN: 8e5,
			Work: Profile{CrownUM: 150}, Backup: Profile{CrownUM: -100}}, smooth},
		{"strip aside", pair(), Load{Strip: evenly(18e6, 1100, 120)}, smooth},
		{"wedge of strip load", pair(), Load{Strip: Points{[]float64{-600, 600}, []float64{12e3, 18e3}}}, smooth},
		{"roll shifted, S-shaped", shifted, Load{Strip: evenly(16e6, 1200, 0),
			Work: Profile{PolynomialUM: Polynomial{1: -300, 3: 400}}}, smooth},
		{"worn", pair(), Load{Strip: evenly(18e6, 1250, 0), Work: Profile{WearUM: wear}}, kinked},
		{"worn, shifted, aside", shifted, Load{Strip: evenly(15e6, 1200, -40), BendingForceN: -3e5,
			Work: Profile{WearUM: wear, CrownUM: 80}}, kinked},
		{"end relief", pair(), Load{Strip: evenly(18e6, 1250, 0),
			Backup: Profile{EndReliefLengthMM: 120, EndReliefDepthUM: 600}}, kinked},
		{"parted at the ends", pair(), Load{Strip: evenly(8e6, 900, 0), Work: Profile{CrownUM: 700}}, kinked},
		{"parted in the middle", pair(), Load{Strip: evenly(3e6, 1600, 0), Work: Profile{CrownUM: -600}}, kinked},
		{"parted at one end", pair(), Load{Strip: evenly(6e6, 700, 350), Work: Profile{CrownUM: 300}}, kinked},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := solve(t, solver(t, c.pair, Options{Slices: 100}), &c.load)
			want, axis := byElements(t, c.pair, &c.load, 10, r.StationXMM)
			worst, at := furthest(r.Contact, want[0])
			near(t, "axis, centre less strip edge, µm", r.WorkAxisCentreMinusStripEdgeUM, axis, 2e-4*math.Abs(axis)+0.02)
			t.Logf("largest difference %.2g of the mean; axis %.4f and %.4f µm; %d iterations", worst, r.WorkAxisCentreMinusStripEdgeUM, axis, r.Iterations)
			if !(worst <= c.allowed) {
				t.Errorf("station %d, x %g: slices %g, elements %g: %.2g of the mean, allowed %g",
					at, r.StationXMM[at], r.StationLineLoadNPerMM[at], want[0][at], worst, c.allowed)
			}
		})
	}
}
