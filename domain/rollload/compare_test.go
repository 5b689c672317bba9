package rollload

import (
	"math"
	"testing"

	"barrelbook/domain/contact"
)

// byElements solves the case with elements at most size long and returns the
// line load at the stations, and the work roll's axis at x = 0 less that at the
// strip's last point, µm.
func byElements(t *testing.T, p Pair, l *Load, size float64, stations []float64) (q []float64, axis float64) {
	t.Helper()
	law, err := contact.NewLaw(p.Work.Body, p.Backup.Body, p.ApproachConstant)
	if err != nil {
		t.Fatal(err)
	}
	work := &shape{Profile: &l.Work, half: p.Work.BarrelLengthMM / 2, offset: p.Work.AxialOffsetMM}
	backup := &shape{Profile: &l.Backup, half: p.Backup.BarrelLengthMM / 2, offset: p.Backup.AxialOffsetMM}
	places := append([]float64(nil), stations...)
	for _, r := range []Roll{p.Work, p.Backup} {
		places = append(places, r.AxialOffsetMM-r.BearingSpanMM/2, r.AxialOffsetMM+r.BearingSpanMM/2,
			r.AxialOffsetMM-r.BarrelLengthMM/2, r.AxialOffsetMM+r.BarrelLengthMM/2)
	}
	places = append(append(places, l.Strip.XMM...), 0)
	total := 2 * l.BendingForceN
	for i := range len(l.Strip.XMM) - 1 {
		total += (l.Strip.XMM[i+1] - l.Strip.XMM[i]) * (l.Strip.Value[i] + l.Strip.Value[i+1]) / 2
	}
	lo, hi := p.overlap()
	corner := func(x float64) {
		if x > lo && x < hi {
			places = append(places, x)
		}
	}
	work.kinks(corner)
	backup.kinks(corner)
	gap := func(x float64) float64 { return (work.mm(x) + backup.mm(x)) / 2 }
	strip := func(x float64) float64 {
		if x < l.Strip.XMM[0] || x > l.Strip.XMM[len(l.Strip.XMM)-1] {
			return 0
		}
		hint := 0
		return l.Strip.at(x, &hint)
	}
	e := newElements(p, &law, size, places)
	if err := e.solve(total, strip, l.BendingForceN, gap); err != nil {
		t.Fatal(err)
	}
	q = make([]float64, len(stations))
	for k, x := range e.x {
		if x == 0 {
			axis += 1000 * e.y[k*perNode]
		}
		if math.Abs(x-l.Strip.XMM[len(l.Strip.XMM)-1]) < 2e-6 {
			axis -= 1000 * e.y[k*perNode]
		}
		for i, s := range stations {
			if math.Abs(x-s) < 2e-6 {
				q[i] = e.load(k, gap)
			}
		}
	}
	return q, axis
}

// uneven is a pair with necks, unlike materials, unlike barrels.
func uneven() Pair {
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
		pair    Pair
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
			Work: Profile{LinearUM: -300, CubicUM: 400}}, smooth},
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
			worst, at := 0.0, 0
			for i, q := range r.StationLineLoadNPerMM {
				if d := math.Abs(q-want[i]) / r.MeanLineLoadNPerMM; !(d <= worst) {
					worst, at = d, i
				}
			}
			near(t, "axis, centre less strip edge, µm", r.WorkAxisCentreMinusStripEdgeUM, axis, 2e-4*math.Abs(axis)+0.02)
			t.Logf("largest difference %.2g of the mean; axis %.4f and %.4f µm; %d iterations", worst, r.WorkAxisCentreMinusStripEdgeUM, axis, r.Iterations)
			if !(worst <= c.allowed) {
				t.Errorf("station %d, x %g: slices %g, elements %g: %.2g of the mean, allowed %g",
					at, r.StationXMM[at], r.StationLineLoadNPerMM[at], want[at], worst, c.allowed)
			}
		})
	}
}
