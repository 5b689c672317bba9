package rollload

import "math"

// beam is one roll prepared for its influence function, seen from a section
// that is thought to be clamped: there y = 0 and ψ = 0. Each side is then a
// cantilever, and for two points on the same side at the distances m ≤ M from
// the clamp, both within the barrel,
//
//	g(m, M) = m²(3M − m)/(6EI) + m/(κGA)
//
// is the deflection at one under a unit force at the other; across the clamp it
// is 0. The clamp carries nothing in the end: the work roll's forces are in
// balance, and the backup roll's bearings are put in below.
type beam struct {
	ei, kga         float64 // of the barrel, N·mm² and N
	clamp           float64 // x of the clamp, mm
	bearing         [2]float64
	bearingOnItself [2]float64 // g at a bearing under a unit force there
}

// Sides of the clamp.
const (
	left  = 0
	right = 1
)

// newBeam takes the round sections: I = πD⁴/64, A = πD²/4, G = E/(2(1+ν)).
func newBeam(r Roll, clamp float64) beam {
	ei := func(d float64) float64 { return r.ElasticModulusMPa * math.Pi * d * d * d * d / 64 }
	kga := func(d float64) float64 {
		return r.ShearCoefficient * r.ElasticModulusMPa / (2 * (1 + r.PoissonRatio)) * math.Pi * d * d / 4
	}
	b := beam{ei: ei(r.DiameterMM), kga: kga(r.DiameterMM), clamp: clamp}
	for side := range 2 {
		outward := r.AxialOffsetMM - clamp
		if side == left {
			outward = -outward
		}
		h, s := outward+r.BarrelLengthMM/2, outward+r.BearingSpanMM/2
		b.bearing[side] = s
		// ∫(s−t)²/EI dt over barrel and neck, and ∫dt/(κGA).
		neck := s - h
		b.bearingOnItself[side] = (s*s*s-neck*neck*neck)/(3*b.ei) + neck*neck*neck/(3*ei(r.NeckDiameterMM)) +
			h/b.kga + neck/kga(r.NeckDiameterMM)
	}
	return b
}

// away is the side of x and its distance from the clamp.
func (b *beam) away(x float64) (side int, distance float64) {
	if x < b.clamp {
		return left, b.clamp - x
	}
	return right, x - b.clamp
}

// sliceOnSlice is the mean of g over two slices of the width w with their
// centres at ci and cj on the same side, exactly: the means of x² and x³ over a
// slice are c² + w²/12 and c(c² + w²/4), and of two points in one slice the
// order statistics give the rest.
func (b *beam) sliceOnSlice(ci, cj, w float64) float64 {
	if ci > cj {
		ci, cj = cj, ci
	}
	if cj-ci < w/2 {
		a := ci - w/2
		return (a*a*(2*a+3*w)+w*w*(1.5*a+0.3*w))/(6*b.ei) + (a+w/3)/b.kga
	}
	return b.beyond(cj, ci, w)
}

// pointOnSlice is the mean of g(x, ·) over a slice, both on the same side. A
// point inside the slice parts it in two.
func (b *beam) pointOnSlice(x, c, w float64) float64 {
	lo, hi := c-w/2, c+w/2
	switch {
	case x <= lo:
		return b.before(x, c)
	case x >= hi:
		return b.beyond(x, c, w)
	}
	return ((x-lo)*b.beyond(x, (lo+x)/2, x-lo) + (hi-x)*b.before(x, (x+hi)/2)) / w
}

// before is the mean of g(x, ·) over a slice farther out than x.
func (b *beam) before(x, c float64) float64 { return x*x*(3*c-x)/(6*b.ei) + x/b.kga }

// beyond is the mean of g(x, ·) over a slice nearer to the clamp than x.
func (b *beam) beyond(x, c, w float64) float64 {
	return (3*x*(c*c+w*w/12)-c*(c*c+w*w/4))/(6*b.ei) + c/b.kga
}

// part is what of a length from x = lo to hi lies on one side of the clamp, as
// distances from it; ok is false where nothing does.
func (b *beam) part(side int, lo, hi float64) (near, far float64, ok bool) {
	near, far = lo-b.clamp, hi-b.clamp
	if side == left {
		near, far = -far, -near
	}
	near = max(near, 0)
	return near, far, far > near
}

// lengthOnLength is the mean of g over two lengths of the barrel, from lo1 to hi1
// and from lo2 to hi2 in x, however they lie to one another and to the clamp:
// each is cut where the other begins and ends, and the pieces either are the
// same or lie one beyond the other.
func (b *beam) lengthOnLength(lo1, hi1, lo2, hi2 float64) float64 {
	sum := 0.0
	for side := range 2 {
		n1, f1, ok1 := b.part(side, lo1, hi1)
		n2, f2, ok2 := b.part(side, lo2, hi2)
		if !ok1 || !ok2 {
			continue
		}
		clip := func(x, lo, hi float64) float64 { return min(max(x, lo), hi) }
		cuts1 := [4]float64{n1, clip(n2, n1, f1), clip(f2, n1, f1), f1}
		cuts2 := [4]float64{n2, clip(n1, n2, f2), clip(f1, n2, f2), f2}
		for i := range 3 {
			w1, c1 := cuts1[i+1]-cuts1[i], (cuts1[i]+cuts1[i+1])/2
			for j := range 3 {
				w2, c2 := cuts2[j+1]-cuts2[j], (cuts2[j]+cuts2[j+1])/2
				switch {
				case w1 <= 0 || w2 <= 0:
				case c1 == c2:
					sum += w1 * w2 * b.sliceOnSlice(c1, c2, w1)
				case c1 < c2:
					sum += w1 * w2 * b.beyond(c2, c1, w1)
				default:
					sum += w1 * w2 * b.beyond(c1, c2, w2)
				}
			}
		}
	}
	return sum / ((hi1 - lo1) * (hi2 - lo2))
}

// pointOnLength is the mean of g(x, ·) over a length of the barrel.
func (b *beam) pointOnLength(x, lo, hi float64) float64 {
	side, d := b.away(x)
	near, far, ok := b.part(side, lo, hi)
	if !ok {
		return 0
	}
	return b.pointOnSlice(d, (near+far)/2, far-near) * (far - near) / (hi - lo)
}

// bearingOnSlice is the mean of g(bearing, ·) over a slice of the barrel.
func (b *beam) bearingOnSlice(side int, c, w float64) float64 {
	return b.beyond(b.bearing[side], c, w)
}

// bearingOnPoint is g(bearing, x) for a point of the barrel.
func (b *beam) bearingOnPoint(side int, x float64) float64 { return b.before(x, b.bearing[side]) }

// shares is what each bearing carries of a unit force at x.
func (b *beam) shares(x float64) (s [2]float64) {
	span := b.bearing[left] + b.bearing[right]
	s[right] = (x - b.clamp + b.bearing[left]) / span
	s[left] = 1 - s[right]
	return s
}

// held turns g of the clamped beam into that of the beam held at its bearings
// (y = 0, M = 0 there): the bearings push back with their shares of the force,
// and a rigid movement brings both back to y = 0. Places may be points or means over slices.
//
//	G(x,ξ) = g(x,ξ) − Σₛ Rₛ(ξ)g(x,s) − Σₛ Rₛ(x)[g(s,ξ) − Rₛ(ξ)g(s,s)]
func (b *beam) held(g float64, i, j place) float64 {
	g -= j.shares[i.side]*i.bearing + i.shares[j.side]*j.bearing
	for s := range 2 {
		g += i.shares[s] * j.shares[s] * b.bearingOnItself[s]
	}
	return g
}
