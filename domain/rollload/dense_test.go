package rollload

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// dense is the baseline of the benchmark: the same Newton iteration on the
// whole barrel, written down as it stands in the books,
//
//	[I + D·A  −D·E] [dq]   [−r            ]
//	[Eᵀ        0  ] [dz] = [wanted − Eᵀq ]
//
// and solved by the general LU of a numerical library.
type dense struct {
	matrix    *mat.Dense
	right, dx *mat.VecDense
	lu        mat.LU
	q, alpha  []float64
}

func newDense(n int) *dense {
	return &dense{matrix: mat.NewDense(n+2, n+2, nil), right: mat.NewVecDense(n+2, nil), dx: mat.NewVecDense(n+2, nil),
		q: make([]float64, n), alpha: make([]float64, n)}
}

// solve expects the solver to have laid out apart, force and moment.
func (d *dense) solve(y *system, l law, apart []float64, force, moment float64) (iterations int, ok bool) {
	n := y.slices
	lift, tilt := 0.0, 0.0
	for i := range n {
		d.q[i] = force / float64(n)
		lift += (l.Approach(d.q[i]) - apart[i] + dot(d.q, y.row(y.a, i))) / float64(n)
	}
	for iterations = 1; iterations < 30; iterations++ {
		worst, offForce, offMoment := 0.0, force, moment
		for i, p := range y.position {
			d.alpha[i] = lift + tilt*p + apart[i] - dot(d.q, y.row(y.a, i))
			load, slope := l.LineLoad(d.alpha[i])
			r := d.q[i] - load
			worst = math.Max(worst, math.Abs(r))
			row := d.matrix.RawRowView(i)
			for j, a := range y.row(y.a, i) {
				row[j] = slope * a
			}
			row[i]++
			row[n], row[n+1] = -slope, -slope*p
			d.right.SetVec(i, -r)
			d.matrix.Set(n, i, 1)
			d.matrix.Set(n+1, i, p)
			offForce -= d.q[i]
			offMoment -= d.q[i] * p
		}
		if worst < tolerance*force/float64(n) {
			return iterations - 1, true
		}
		d.right.SetVec(n, offForce)
		d.right.SetVec(n+1, offMoment)
		d.lu.Factorize(d.matrix)
		if err := d.lu.SolveVecTo(d.dx, false, d.right); err != nil {
			return iterations, false
		}
		for i := range n {
			d.q[i] += d.dx.AtVec(i)
		}
		lift += d.dx.AtVec(n)
		tilt += d.dx.AtVec(n + 1)
	}
	return iterations, false
}

func TestBaselineOfTheBenchmarkGivesTheSameLoad(t *testing.T) {
	l := benchLoad()
	s := solver(t, pair(), Options{})
	r := solve(t, s, l)
	l.Whole = true
	solve(t, s, l)
	d := newDense(s.c.full.slices)
	if n, ok := d.solve(&s.c.full, s.c.joints[0].law, s.newton.apart, s.newton.joints[0].force, s.newton.joints[0].moment); !ok {
		t.Fatalf("baseline did not converge in %d iterations", n)
	}
	for i, q := range r.SliceLineLoadNPerMM {
		near(t, "slice", d.q[i], q, 1e-9*r.MeanLineLoadNPerMM)
	}
}
