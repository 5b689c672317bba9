package rollload

import (
	"fmt"
	"math"
	"testing"
)

// springs stands in for the contact: q = k·α, pulling as well as pressing.
type springs float64

func (k springs) Approach(q float64) float64            { return q / float64(k) }
func (k springs) LineLoad(a float64) (q, slope float64) { return float64(k) * a, float64(k) }
func (k springs) Energy(a float64) float64              { return float64(k) * a * a / 2 }
func (k springs) PeakPressure(float64) float64          { return 0 }
func (k springs) InRange(float64) bool                  { return true }

func springSolver(t testing.TB, p Stack, o Options, k float64) *Solver {
	t.Helper()
	c, err := newCoefficients(p, o, springs(k))
	if err != nil {
		t.Fatal(err)
	}
	return NewSolver(c)
}

// rigid makes a roll that does not bend.
func rigid(r Roll) Roll {
	r.ElasticModulusMPa *= 1e9
	return r
}

const noShear = 1e12 // κ of a beam that bends only

func TestFreeBeamOnElasticFoundation(t *testing.T) {
	// Hetényi, Beams on Elastic Foundation, free beam with a central load;
	// ratios quoted from memory: D 700, length 1700, k 35 000 N/mm², E 206 GPa.
	p := pair()
	p.Work.ShearCoefficient = noShear
	p.Backup = rigid(p.Backup)
	s := springSolver(t, p, Options{Slices: 400}, 35e3)
	r := solve(t, s, &Load{Strip: evenly(18e6, 0.01, 0)})
	mean := r.MeanLineLoadNPerMM
	near(t, "centre/mean", r.StationLineLoadNPerMM[20]/mean, 1.307195, 1e-4)
	near(t, "end/mean", r.StationLineLoadNPerMM[0]/mean, 0.548819, 1e-4)

	// And in closed form for other stiffnesses, from the same book: with
	// λ⁴ = k/4EI and u = λL,
	// q_centre = Pλ/2·(2 + cosh u + cos u)/(sinh u + sin u),
	// q_end = 2Pλ·cosh(u/2)cos(u/2)/(sinh u + sin u).
	ei := 206e3 * math.Pi * math.Pow(700, 4) / 64
	for _, k := range []float64{2e3, 15e3, 60e3} {
		r := solve(t, springSolver(t, p, Options{Slices: 400}, k), &Load{Strip: evenly(18e6, 0.01, 0)})
		l := math.Pow(k/(4*ei), 0.25)
		u := l * 1700
		below := math.Sinh(u) + math.Sin(u)
		near(t, fmt.Sprintf("k %g, centre", k), r.StationLineLoadNPerMM[20]/mean, 1700*l/2*(2+math.Cosh(u)+math.Cos(u))/below, 1e-4)
		near(t, fmt.Sprintf("k %g, end", k), r.StationLineLoadNPerMM[40]/mean, 1700*2*l*math.Cosh(u/2)*math.Cos(u/2)/below, 1e-4)
	}
}

// Closed form of a beam on two supports under a uniform load on its middle
// (Roark, quoted from memory): E 206 GPa, κ 0.9, ν 0.3.
func TestTwoHighRollBendsAndShears(t *testing.T) {
	for _, row := range []struct{ diameter, span, loaded, forceN, bendingMM, shearMM float64 }{
		{900, 2600, 1500, 10e6, 0.473312, 0.101953},
		{950, 3300, 700, 8e6, 0.711716, 0}, // the bending part only
	} {
		p := pair()
		p.Work.BarrelLengthMM = row.loaded
		p.Backup = steel(row.diameter)
		p.Backup.BarrelLengthMM, p.Backup.BearingSpanMM = row.loaded, row.span
		centre := func(p Stack) float64 {
			s := springSolver(t, p, Options{}, 1)
			y := &s.c.full
			last := len(s.c.joints[0].stations)
			both, work := y.row(y.parts[0].rows, last), y.row(y.workRows, last)
			sum := 0.0
			for j := range both {
				sum += both[j] - work[j]
			}
			return sum * row.forceN / row.loaded
		}
		all := centre(p)
		p.Backup.ShearCoefficient = noShear
		bending := centre(p)
		near(t, "bending mm", bending, row.bendingMM, 1e-4*row.bendingMM)
		if row.shearMM > 0 {
			near(t, "shear mm", all-bending, row.shearMM, 1e-4*row.shearMM)
		}
	}
}

func TestRigidRollsShareTheLoadInAStraightLine(t *testing.T) {
	p := pair()
	p.Work, p.Backup = rigid(p.Work), rigid(p.Backup)
	r := solve(t, springSolver(t, p, Options{}, 30e3), &Load{Strip: evenly(10e6, 600, 85)})
	for i, x := range r.StationXMM {
		want := 10e6 / 1700 * (1 + 12*85*x/(1700*1700)) // P/L + M·x/(L³/12)
		// A staircase of n steps has 1−1/n² of the line's moment of inertia.
		near(t, fmt.Sprintf("x %g", x), r.StationLineLoadNPerMM[i], want, 1.01e-4*math.Abs(want-10e6/1700)+1e-3)
	}
}

func TestSingleBeamUnderASoftFoundation(t *testing.T) {
	// Springs so soft that they press evenly: the work roll is then a free beam
	// between two uniform loads, P/b up over the strip and P/L down over the
	// barrel: EI·(y(a) − y(0)) = M₀a²/2 + (P/b − P/L)a⁴/24 up to the strip's edge
	// a = b/2, with M₀ = P/2·(b/4 − L/4) at the centre.
	p := pair()
	p.Work.ShearCoefficient = noShear
	p.Backup = rigid(p.Backup)
	const force, width, length = 18e6, 1000.0, 1700.0
	r := solve(t, springSolver(t, p, Options{}, 1e-3), &Load{Strip: evenly(force, width, 0)})
	ei := 206e3 * math.Pi * math.Pow(700, 4) / 64
	a := width / 2
	net := force/width - force/length
	m0 := force / 2 * (width/4 - length/4)
	drop := (m0*a*a/2 + net*a*a*a*a/24) / ei // y(a) − y(0)
	near(t, "centre minus strip edge µm", r.WorkAxisCentreMinusStripEdgeUM, -1000*drop, 1e-3*math.Abs(1000*drop))
	for i, q := range r.StationLineLoadNPerMM {
		near(t, fmt.Sprintf("station %d", i), q, force/length, 1e-3)
	}
}

// mohr is a deflection by Mohr's integral
// ∫MM̄/EI + VV̄/(κGA), section by section with Gauss's rule, for bending moments
// and shear forces that are straight between the places given.
func mohr(r Roll, places []float64, m1, m2, v1, v2 func(s float64) float64) float64 {
	sum := 0.0
	for i := range len(places) - 1 {
		a, h := places[i], places[i+1]-places[i]
		for _, g := range gauss4 {
			s := a + g[0]*h
			ei, kga, _ := section(r, s)
			sum += g[1] * h * (m1(s)*m2(s)/ei + v1(s)*v2(s)/kga)
		}
	}
	return sum
}

func TestInfluenceCoefficientsAreMohrsIntegral(t *testing.T) {
	p := uneven()
	p.Work.AxialOffsetMM, p.Backup.AxialOffsetMM = 70, -15
	s := springSolver(t, p, Options{Slices: 10}, 1)
	c := s.c
	middle := c.joints[0].middle()
	breaks := func(r Roll, more ...float64) []float64 {
		at := []float64{r.AxialOffsetMM - r.BearingSpanMM/2, r.AxialOffsetMM - r.BarrelLengthMM/2,
			r.AxialOffsetMM + r.BarrelLengthMM/2, r.AxialOffsetMM + r.BearingSpanMM/2, middle}
		at = append(at, more...)
		for i := range at { // sorted, short
			for j := i; j > 0 && at[j] < at[j-1]; j-- {
				at[j], at[j-1] = at[j-1], at[j]
			}
		}
		return at
	}
	work := func(x, xi float64) float64 {
		if (x < middle) != (xi < middle) {
			return 0
		}
		arm := func(x float64) func(float64) float64 {
			return func(s float64) float64 {
				if (s < middle) != (x < middle) {
					return 0
				}
				return math.Max(0, math.Abs(x-middle)-math.Abs(s-middle))
			}
		}
		shear := func(x float64) func(float64) float64 {
			return func(s float64) float64 {
				if arm(x)(s) > 0 {
					return 1
				}
				return 0
			}
		}
		return mohr(p.Work, breaks(p.Work, x, xi), arm(x), arm(xi), shear(x), shear(xi))
	}
	backup := func(x, xi float64) float64 {
		a, b := p.Backup.AxialOffsetMM-p.Backup.BearingSpanMM/2, p.Backup.AxialOffsetMM+p.Backup.BearingSpanMM/2
		moment := func(x float64) func(float64) float64 {
			return func(s float64) float64 { return (math.Min(s, x) - a) * (b - math.Max(s, x)) / (b - a) }
		}
		shear := func(x float64) func(float64) float64 {
			return func(s float64) float64 {
				if s < x {
					return (b - x) / (b - a)
				}
				return (a - x) / (b - a)
			}
		}
		return mohr(p.Backup, breaks(p.Backup, x, xi), moment(x), moment(xi), shear(x), shear(xi))
	}
	// mean over a slice, parted at x where x lies in it
	mean := func(j int, x float64, g func(x, xi float64) float64) float64 {
		lo, hi, sum := c.joints[0].centres[j]-c.joints[0].width/2, c.joints[0].centres[j]+c.joints[0].width/2, 0.0
		cut := math.Min(math.Max(x, lo), hi)
		for _, piece := range [2][2]float64{{lo, cut}, {cut, hi}} {
			for _, q := range gauss4 {
				h := piece[1] - piece[0]
				sum += q[1] * h * g(x, piece[0]+q[0]*h)
			}
		}
		return sum / c.joints[0].width
	}
	y := &c.full
	for i := range 10 {
		for j := range 10 {
			want := 0.0
			for _, q := range gauss4 {
				x := c.joints[0].centres[i] + (q[0]-0.5)*c.joints[0].width
				want += q[1] * c.joints[0].width * (mean(j, x, work) + mean(j, x, backup))
			}
			near(t, fmt.Sprintf("slice %d on %d", j, i), y.a[i*10+j], want, 1e-11*want)
		}
	}
	for i, x := range c.joints[0].stations {
		for j := range 10 {
			w := c.joints[0].width * mean(j, x, work)
			b := c.joints[0].width * mean(j, x, backup)
			near(t, fmt.Sprintf("slice %d on station %g, work", j, x), y.row(y.workRows, i)[j], w, 1e-10*w+1e-15)
			near(t, fmt.Sprintf("slice %d on station %g, both", j, x), y.row(y.parts[0].rows, i)[j], w+b, 1e-10*(w+b))
		}
	}
	// The strip's lift and its second derivative are the same integral.
	load := Points{XMM: []float64{-500, -480, 200, 610}, Value: []float64{2e3, 9e3, 12e3, 4e3}}
	const bending = 3e5
	s.strip.lay(c.work(), &load, bending)
	n := 0
	for x := -790.0; x < 900; x += 65 {
		want, places := 0.0, breaks(p.Work, x, -500, -480, 200, 610)
		for i := range len(places) - 1 {
			if a, h := places[i], places[i+1]-places[i]; a >= -500 && a+h <= 610 {
				for _, q := range gauss4 {
					xi := a + q[0]*h
					want += q[1] * h * load.at(xi, &n) * work(x, xi)
				}
			}
		}
		for _, side := range []float64{-1, 1} {
			want += bending * work(x, p.Work.AxialOffsetMM+side*p.Work.BearingSpanMM/2)
		}
		lift, curvature := s.strip.at(x)
		near(t, fmt.Sprintf("lift at %g", x), lift, want, 1e-11*math.Abs(want)+1e-14)
		up, _ := s.strip.at(x + 0.5)
		down, _ := s.strip.at(x - 0.5)
		near(t, fmt.Sprintf("second derivative at %g", x), (up-2*lift+down)*4, curvature, 1e-3*math.Abs(curvature)+1e-11)
	}
}
