package wearrate

import "math"

// A grade's campaigns are believed to scatter by so much beyond what the gauge
// explains before there are any; it is worth ten of them. Common practice, no
// source.
const (
	priorScatterCV   = 0.05
	priorScatterFrom = 10
)

// residual is what one campaign lay off its roll's rate: z = (k·x)², q = r² +
// x²·V, and the chance w that it was free of incident.
type residual struct{ z, q, w float64 }

// residuals of the fit, added to a list.
func (s *search) residuals(list []residual) []residual {
	for i, points := range s.points {
		for j, p := range points {
			wear, off := s.rolls[i].rate*p.x, p.y-s.rolls[i].rate*p.x
			list = append(list, residual{wear * wear, off*off + p.x*p.x*s.variance[i], s.weights[i][j]})
		}
	}
	return list
}

// scatterCV parts the scatter of campaigns about rate × exposure in two: what is
// the same for every campaign, as the error of two measurements is, and what
// grows with the wear, because strip, water and lubrication are never twice the
// same:
//
//	E q = a + b·z,  b = scatter²
//
// by weighted least squares with the variance 2(a + b·z)² of a square of a normal,
// repeated as the weights follow from a and b. Both are at least 0. Where all
// campaigns are about as long nothing tells the two apart, and the belief rules.
//
// The measured wear of a campaign has both in it, its true wear only the second.
func (d Defaults) scatterCV(list []residual) float64 {
	a, b := d.NoiseUM*d.NoiseUM, priorScatterCV*priorScatterCV
	var zMean, wSum float64
	for _, r := range list {
		zMean += r.w * r.z
		wSum += r.w
	}
	if wSum == 0 || zMean == 0 {
		return priorScatterCV
	}
	zMean /= wSum
	for range 20 {
		// The normal equations, with the belief about b at the mean z.
		w := priorScatterFrom / squared(a+b*zMean)
		s0, s1, s2 := 0.0, 0.0, w*zMean*zMean
		t0, t1 := 0.0, s2*priorScatterCV*priorScatterCV
		for _, r := range list {
			w := r.w / squared(a+b*r.z)
			s0 += w
			s1 += w * r.z
			s2 += w * r.z * r.z
			t0 += w * r.q
			t1 += w * r.q * r.z
		}
		before := b
		det := s0*s2 - s1*s1
		a, b = (t0*s2-t1*s1)/det, (s0*t1-s1*t0)/det
		switch {
		case b < 0:
			a, b = t0/s0, 0
		case a < 0:
			a, b = 0, t1/s2
		}
		a = math.Max(a, 1) // a micrometre; keeps the weight of a short campaign finite
		if math.Abs(b-before) <= 1e-6*before {
			break
		}
	}
	return math.Sqrt(b)
}

func squared(x float64) float64 { return x * x }
