package wearrate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// cluster is rolls that have shared campaigns, and all that those say: summed, so
// that no campaign of another cluster is read again when one is added here.
//
// With b the rolls' own effects and θ those in common, the information is
//
//	[A B; Bᵀ G] (b; θ) = (c; g)
//
// and without b, which concerns this cluster alone, S = G − BᵀA⁻¹B of θ.
type cluster struct {
	rolls        []int
	observations []observation // in the order of sets

	touched []int             // effects
	a       blas64.Triangular // the factor of A
	x       blas64.General    // A⁻¹B
	b       []float64         // A⁻¹c
	s       []float64         // upper part, rows of len(touched)
	r       []float64         // g − BᵀA⁻¹c
	quad    float64           // zᵀWz − cᵀA⁻¹c
	logdet  float64           // of the variances of z, of A and of the prior of b
	room    []float64         // variances of b were θ known
}

// place is where a roll is in the cluster.
func (c *cluster) place(roll int) int {
	i, _ := slices.BinarySearch(c.rolls, roll)
	return i
}

// sets calls f with the observations of each campaign.
func (c *cluster) sets(f func(one []observation)) {
	for i := 0; i < len(c.observations); {
		n := 1
		for o := &c.observations[i]; o.set != "" && i+n < len(c.observations) && c.observations[i+n].set == o.set; {
			n++
		}
		f(c.observations[i : i+n])
		i += n
	}
}

// scratch is room that gathering works in.
type scratch struct {
	where []int // of an effect among the touched
	rows  []row
	a, b  []float64
}

// row is an observation in the cluster's own numbers.
type row struct {
	roll  int
	count int
	terms [6]term
}

// gather sums up the observations. A campaign of several rolls has the variance
// D⁻¹ + τ²·11ᵀ with D their precisions, so that its weights are
//
//	W = D − D1·1ᵀD·τ²/(1 + τ²·Σd)
//
// by Sherman and Morrison's formula.
func (c *cluster) gather(m *Model) {
	c.touch(m)
	n, k := len(c.rolls), len(c.touched)
	w := &m.scratch
	w.a, w.b = zeroed(w.a, n*n), zeroed(w.b, n*k)
	c.s, c.r, c.b = zeroed(c.s, k*k), zeroed(c.r, k), zeroed(c.b, n)
	roll := m.parts.RollSD * m.parts.RollSD
	for i := range n {
		w.a[i*n+i] = 1 / roll
	}
	c.quad, c.logdet = 0, float64(n)*math.Log(roll)
	shared := m.parts.CampaignSD * m.parts.CampaignSD
	at := 0
	c.sets(func(one []observation) {
		sum := 0.0
		for i := range one {
			sum += one[i].precision
			if one[i].precision > 0 {
				c.logdet -= math.Log(one[i].precision)
			}
		}
		c.logdet += math.Log1p(shared * sum)
		for i := range one {
			for j := range one {
				weight := -one[i].precision * one[j].precision * shared / (1 + shared*sum)
				if i == j {
					weight += one[i].precision
				}
				if weight != 0 {
					c.sum(w, weight, at+i, at+j, one[i].z, one[j].z)
				}
			}
		}
		at += len(one)
	})
	c.eliminate(w)
}

// touch finds the effects of the observations.
func (c *cluster) touch(m *Model) {
	w := &m.scratch
	c.touched, w.rows = c.touched[:0], w.rows[:0]
	for i := range c.observations {
		r := row{roll: c.place(c.observations[i].roll)}
		r.count = len(m.terms(&c.observations[i], r.terms[:0]))
		for len(w.where) < len(m.effects) {
			w.where = append(w.where, -1)
		}
		for _, t := range r.terms[:r.count] {
			if w.where[t.effect] < 0 {
				w.where[t.effect] = 0
				c.touched = append(c.touched, t.effect)
			}
		}
		w.rows = append(w.rows, r)
	}
	slices.Sort(c.touched)
	for i, e := range c.touched {
		w.where[e] = i
	}
	for i := range w.rows {
		r := &w.rows[i]
		for j := range r.terms[:r.count] {
			r.terms[j].effect = w.where[r.terms[j].effect]
		}
	}
	for _, e := range c.touched {
		w.where[e] = -1
	}
}

// sum adds what a pair of observations of one campaign say by their weight.
func (c *cluster) sum(w *scratch, weight float64, i, j int, zi, zj float64) {
	n, k := len(c.rolls), len(c.touched)
	p, q := &w.rows[i], &w.rows[j]
	w.a[p.roll*n+q.roll] += weight
	c.b[p.roll] += weight * zj
	c.quad += weight * zi * zj
	for _, t := range q.terms[:q.count] {
		w.b[p.roll*k+t.effect] += weight * t.times
	}
	for _, t := range p.terms[:p.count] {
		c.r[t.effect] += weight * t.times * zj
		for _, u := range q.terms[:q.count] {
			c.s[t.effect*k+u.effect] += weight * t.times * u.times
		}
	}
}

// eliminate takes the rolls' own effects out.
func (c *cluster) eliminate(w *scratch) {
	n, k := len(c.rolls), len(c.touched)
	c.a.Data = append(c.a.Data[:0], w.a...)
	// Positive definite: the prior is on the diagonal.
	c.a, _ = lapack64.Potrf(blas64.Symmetric{Uplo: blas.Upper, N: n, Stride: n, Data: c.a.Data})
	c.room = slices.Grow(c.room[:0], n)[:n]
	unit := make([]float64, n)
	for i := range n {
		c.logdet += 2 * math.Log(c.a.Data[i*n+i])
		clear(unit)
		unit[i] = 1
		lapack64.Potrs(c.a, blas64.General{Rows: n, Cols: 1, Stride: 1, Data: unit})
		c.room[i] = unit[i]
	}
	for i := range n {
		unit[i] = c.b[i]
	}
	lapack64.Potrs(c.a, blas64.General{Rows: n, Cols: 1, Stride: 1, Data: c.b})
	for i := range n {
		c.quad -= unit[i] * c.b[i]
	}
	if k == 0 {
		return
	}
	c.x = blas64.General{Rows: n, Cols: k, Stride: k, Data: append(c.x.Data[:0], w.b...)}
	lapack64.Potrs(c.a, c.x)
	b := blas64.General{Rows: n, Cols: k, Stride: k, Data: w.b}
	blas64.Gemm(blas.Trans, blas.NoTrans, -1, b, c.x, 1, blas64.General{Rows: k, Cols: k, Stride: k, Data: c.s})
	blas64.Gemv(blas.Trans, -1, b, blas64.Vector{N: n, Inc: 1, Data: c.b}, 1, blas64.Vector{N: k, Inc: 1, Data: c.r})
}

// zeroed is room for n zeros, in what there is where that is enough.
func zeroed(list []float64, n int) []float64 {
	list = slices.Grow(list[:0], n)[:n]
	clear(list)
	return list
}

// own is the effect of the roll at place i, given those in common.
func (c *cluster) own(i int, mean []float64) float64 {
	v := c.b[i]
	k := len(c.touched)
	for j, e := range c.touched {
		v -= c.x.Data[i*k+j] * mean[e]
	}
	return v
}
