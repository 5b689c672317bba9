package rollload

import (
	"errors"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
)

// elements solves the same stand in another way: its rolls as chains of
// two-node Timoshenko elements with the exact stiffness, the contact as springs
// at Gauss points of the elements, Newton's method on the convex energy of lifts
// and rotations, a symmetric banded matrix. It shares with the solver the
// contact law and the profiles; nothing of beams, slices or iteration.
type elements struct {
	x           []float64 // nodes
	rolls       []Roll    // from the strip up
	laws        []law     // of each and the next
	perNode     int
	matrix      *mat.SymBandDense
	force, step []float64
	y           []float64 // per node: y and ψ of each roll
}

// newElements puts nodes at all the given places and parts the pieces between
// them into lengths of at most size.
func newElements(rolls []Roll, laws []law, size float64, places []float64) *elements {
	sort.Float64s(places)
	e := &elements{rolls: rolls, laws: laws, perNode: 2 * len(rolls)}
	for i, x := range places {
		if i == 0 {
			e.x = append(e.x, x)
			continue
		}
		last := e.x[len(e.x)-1]
		if x-last < 1e-6 {
			continue
		}
		n := int(math.Ceil((x - last) / size))
		for k := 1; k <= n; k++ {
			e.x = append(e.x, last+(x-last)*float64(k)/float64(n))
		}
	}
	n := len(e.x) * e.perNode
	e.matrix = mat.NewSymBandDense(n, 2*e.perNode-1, nil)
	e.force, e.step, e.y = make([]float64, n), make([]float64, n), make([]float64, n)
	return e
}

// section gives EI and κGA of a roll at x, and whether the roll reaches there.
func section(r Roll, x float64) (ei, kga float64, exists bool) {
	d, u := r.DiameterMM, math.Abs(x-r.AxialOffsetMM)
	if u > r.BearingSpanMM/2 {
		return 0, 0, false
	}
	if u > r.BarrelLengthMM/2 {
		d = r.NeckDiameterMM
	}
	i, a := math.Pi*math.Pow(d, 4)/64, math.Pi*d*d/4
	return r.ElasticModulusMPa * i, r.ShearCoefficient * r.ElasticModulusMPa / (2 * (1 + r.PoissonRatio)) * a, true
}

// shapes are the interpolation functions of an element of length h for y, at t
// of its length: exact for an unloaded Timoshenko beam with φ = 12EI/(κGAh²).
func shapes(t, h, phi float64) [4]float64 {
	k := 1 / (1 + phi)
	return [4]float64{
		k * (1 - 3*t*t + 2*t*t*t + phi*(1-t)),
		k * h * (t - 2*t*t + t*t*t + phi/2*(t-t*t)),
		k * (3*t*t - 2*t*t*t + phi*t),
		k * h * (-t*t + t*t*t - phi/2*(t-t*t)),
	}
}

func (e *elements) add(i, j int, v float64) {
	if i <= j {
		e.matrix.SetSymBand(i, j, e.matrix.At(i, j)+v)
	}
}

var gauss4 = [4][2]float64{
	{0.06943184420297371, 0.17392742256872692}, {0.33000947820757187, 0.32607257743127307},
	{0.6699905217924281, 0.32607257743127307}, {0.9305681557970263, 0.17392742256872692},
}

// pressing is what loads the rolls: the strip, the bending force per chock of
// each roll, and half the sum of the profiles in each contact.
type pressing struct {
	total   float64
	strip   func(x float64) float64
	bending []float64
	gaps    []func(x float64) float64
}

// freedoms are the places of y and ψ of roll r at both ends of element k.
func (e *elements) freedoms(k, r int) [4]int {
	at, next := k*e.perNode+2*r, (k+1)*e.perNode+2*r
	return [4]int{at, at + 1, next, next + 1}
}

// assemble fills matrix and force (what is out of balance) and returns the
// energy.
func (e *elements) assemble(l pressing) float64 {
	e.matrix.Zero()
	clear(e.force)
	energy := 0.0
	phis := make([]float64, len(e.rolls))
	for k := range len(e.x) - 1 {
		x, h := e.x[k], e.x[k+1]-e.x[k]
		middle := x + h/2
		for r, roll := range e.rolls {
			at := e.freedoms(k, r)
			ei, kga, exists := section(roll, middle)
			if !exists {
				continue
			}
			phi := 12 * ei / (kga * h * h)
			phis[r] = phi
			c := ei / (h * h * h * (1 + phi))
			stiff := [4][4]float64{
				{12, 6 * h, -12, 6 * h},
				{6 * h, (4 + phi) * h * h, -6 * h, (2 - phi) * h * h},
				{-12, -6 * h, 12, -6 * h},
				{6 * h, (2 - phi) * h * h, -6 * h, (4 + phi) * h * h},
			}
			for a := range 4 {
				for b := range 4 {
					v := c * stiff[a][b]
					e.add(at[a], at[b], v)
					e.force[at[a]] -= v * e.y[at[b]]
					energy += v * e.y[at[a]] * e.y[at[b]] / 2
				}
			}
		}
		for _, g := range gauss4 {
			xg, w := x+g[0]*h, g[1]*h
			if p := l.strip(xg); p != 0 {
				n := shapes(g[0], h, phis[0])
				for a, at := range e.freedoms(k, 0) {
					e.force[at] += w * p * n[a]
					energy -= w * p * n[a] * e.y[at]
				}
			}
			for r := range e.laws {
				energy += e.press(r, k, g[0], w, phis, l.gaps[r])
			}
		}
	}
	for k, x := range e.x {
		for r, roll := range e.rolls {
			at := k*e.perNode + 2*r
			_, _, exists := section(roll, x)
			bearing := math.Abs(math.Abs(x-roll.AxialOffsetMM)-roll.BearingSpanMM/2) < 1e-6
			if !exists && !bearing { // no roll here
				e.fix(at)
				e.fix(at + 1)
			} else if bearing && r == len(e.rolls)-1 {
				e.fix(at)
			} else if bearing {
				e.force[at] += l.bending[r]
				energy -= l.bending[r] * e.y[at]
			}
		}
	}
	return energy
}

// press adds one Gauss point, at t of element k, of the contact between roll r
// and the next.
func (e *elements) press(r, k int, t, w float64, phis []float64, gap func(x float64) float64) (energy float64) {
	x, h := e.x[k], e.x[k+1]-e.x[k]
	if lo, hi := overlap(e.rolls[r], e.rolls[r+1]); x+h/2 < lo || x+h/2 > hi {
		return 0
	}
	front, behind := shapes(t, h, phis[r]), shapes(t, h, phis[r+1])
	var at [8]int
	var n [8]float64
	alpha := gap(x + t*h)
	inFront, inBack := e.freedoms(k, r), e.freedoms(k, r+1)
	for a := range 4 {
		at[a], n[a], at[4+a], n[4+a] = inFront[a], front[a], inBack[a], -behind[a]
	}
	for a := range n {
		alpha += n[a] * e.y[at[a]]
	}
	q, d := e.laws[r].LineLoad(alpha)
	for a := range n {
		e.force[at[a]] -= w * q * n[a]
		for b := range n {
			e.add(at[a], at[b], w*d*n[a]*n[b])
		}
	}
	return w * contactEnergy(e.laws[r], alpha)
}

// fix holds one freedom at 0.
func (e *elements) fix(at int) {
	n := len(e.force)
	for j := max(0, at-2*e.perNode+1); j <= min(n-1, at+2*e.perNode-1); j++ {
		if j != at {
			e.matrix.SetSymBand(min(at, j), max(at, j), 0)
		}
	}
	e.matrix.SetSymBand(at, at, 1e12)
	e.force[at] = 0
}

// contactEnergy is ∫q dα from 0, by Gauss's rule on the law itself.
func contactEnergy(l law, alpha float64) float64 {
	if alpha <= 0 {
		return 0
	}
	sum := 0.0
	for _, g := range gauss4 {
		q, _ := l.LineLoad(alpha * g[0])
		sum += g[1] * q
	}
	return sum * alpha
}

// solve iterates to the least energy.
func (e *elements) solve(l pressing) error {
	// Pressed together everywhere to begin with, so that nothing is loose.
	clear(e.y)
	lift := 0.0
	for r := len(e.laws) - 1; r >= 0; r-- {
		lo, hi := overlap(e.rolls[r], e.rolls[r+1])
		together := e.laws[r].Approach(l.total / (hi - lo))
		most := together
		for x := lo; x <= hi; x += (hi - lo) / 50 {
			most = math.Max(most, together-l.gaps[r](x))
		}
		lift += most
		for k := range e.x {
			e.y[k*e.perNode+2*r] = lift
		}
	}
	energy := e.assemble(l)
	for range 200 {
		var chol mat.BandCholesky
		if !chol.Factorize(e.matrix) {
			return errors.New("elements: matrix not positive definite")
		}
		step := mat.NewVecDense(len(e.step), e.step)
		if err := chol.SolveVecTo(step, mat.NewVecDense(len(e.force), append([]float64(nil), e.force...))); err != nil {
			var ill mat.Condition
			if !errors.As(err, &ill) {
				return err
			}
		}
		slope, largest := 0.0, 0.0
		for i, f := range e.force {
			slope += f * e.step[i]
			if i%2 == 0 {
				largest = math.Max(largest, math.Abs(e.step[i]))
			}
		}
		old := append([]float64(nil), e.y...)
		for t := 1.0; ; t /= 2 {
			for i := range e.y {
				e.y[i] = old[i] + t*e.step[i]
			}
			trial := e.assemble(l)
			// The energy is a small sum of large terms: near its least value
			// it cannot be told apart any more, and full steps are right.
			if trial <= energy-1e-4*t*slope || t*slope < 1e-6*math.Abs(energy) {
				energy = trial
				break
			}
		}
		if largest < 1e-7 { // mm; rounding leaves about 1e-8
			return nil
		}
	}
	return errors.New("elements: no convergence")
}

// load is q at a node in the contact of roll r and the next.
func (e *elements) load(k, r int, gap func(x float64) float64) float64 {
	at := k*e.perNode + 2*r
	q, _ := e.laws[r].LineLoad(e.y[at] - e.y[at+2] + gap(e.x[k]))
	return q
}
