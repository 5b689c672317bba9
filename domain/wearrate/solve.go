package wearrate

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// solve joins the clusters in the effects that they have in common: mean and
// variance of those, and how likely the campaigns are under the components.
func (m *Model) solve() {
	k := len(m.effects)
	if k == 0 {
		return
	}
	s, r := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	quad, logdet := 0.0, 0.0
	for i, e := range m.effects {
		mean, variance := m.prior(e)
		s.SetSym(i, i, 1/variance)
		r.SetVec(i, mean/variance)
		quad += mean * mean / variance
		logdet += math.Log(variance)
	}
	for _, c := range m.clusters {
		quad += c.quad
		logdet += c.logdet
		for i, e := range c.touched {
			r.SetVec(e, r.AtVec(e)+c.r[i])
			for j := i; j < len(c.touched); j++ {
				s.SetSym(e, c.touched[j], s.At(e, c.touched[j])+c.s[i*len(c.touched)+j])
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(s) {
		return // rounding took the last of it; the means stay as they were
	}
	mean := mat.NewVecDense(k, nil)
	_ = chol.SolveVecTo(mean, r)
	for i := range m.mean {
		m.mean[i] = mean.AtVec(i)
	}
	for i := range m.stands {
		m.stands[i].thought = nil
	}
	m.variance = mat.NewSymDense(k, nil)
	_ = chol.InverseTo(m.variance)
	m.likelihood = -(logdet + chol.LogDet() + quad - mat.Dot(mean, r)) / 2
}

// spread is the variance of a sum of effects in common, and with that of the roll
// at place i of a cluster.
func (m *Model) spread(terms []term) float64 {
	v := 0.0
	for _, t := range terms {
		for _, u := range terms {
			v += t.times * u.times * m.variance.At(t.effect, u.effect)
		}
	}
	return v
}

// withRoll is the variance of a sum of effects in common, terms, and the effect of
// the roll at place i of a cluster: the part that comes from the effects in common,
// which other rolls share, and the roll's own. With b = A⁻¹c − A⁻¹Bθ
//
//	var(hᵀθ + b) = (h − A⁻¹B)ᵀ Σ (h − A⁻¹B) + A⁻¹
func (m *Model) withRoll(c *cluster, i int, terms []term) (shared, own float64) {
	k := len(c.touched)
	of := make([]term, k, k+len(terms))
	for p, e := range c.touched {
		of[p] = term{e, -c.x.Data[i*k+p]}
	}
	return m.spread(append(of, terms...)), c.room[i]
}
