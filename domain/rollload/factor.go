package rollload

import "math"

// factor solves the equations of one Newton step, (I + S·A·S)·t = b for a few
// b, by Cholesky's method in memory that it keeps. S holds the roots of the
// contact's slopes; slices that have parted have S = 0 and take no part. The
// matrix is symmetric and its eigenvalues are at least 1, so nothing can go
// wrong with a pivot; that, and half the work, is what a general LU would lose.
//
// Rows are made two at a time against two earlier ones, since four sums from
// four loads keep the processor twice as busy as one sum from two. An odd
// number of slices is filled up with an equation t = 0.
type factor struct {
	l       []float64 // rows of the factor, then the right-hand sides
	stride  int
	inverse []float64 // of the diagonal
	n       int       // equations, even
}

// rightSides is the room for right-hand sides: the columns of E, which fill
// pairs.
const rightSides = mostColumns

func newFactor(slices int) factor {
	stride := slices + slices%2
	return factor{l: make([]float64, (stride+rightSides)*stride), stride: stride, inverse: make([]float64, stride)}
}

// row gives row i as far as the equations go; rows n and on are the right-hand
// sides.
func (f *factor) row(i int) []float64 { return f.l[i*f.stride : i*f.stride+f.n] }

// form writes the lower half of I + S·A·S for the active slices.
func (f *factor) form(a []float64, stride int, active []int32, root []float64) {
	f.n = len(active)
	for i, at := range active {
		row := f.l[i*f.stride : i*f.stride+i+1]
		from := a[int(at)*stride : int(at)*stride+stride]
		si := root[at]
		for j, to := range active[:i+1] {
			row[j] = si * root[to] * from[to]
		}
		row[i]++
	}
	if f.n%2 != 0 {
		f.n++
		row := f.row(f.n - 1)
		clear(row)
		row[f.n-1] = 1
	}
}

// decompose factors what form wrote and turns the first few right-hand sides b
// into L⁻¹b, by the very step that makes a row of the factor.
func (f *factor) decompose(sides int) {
	for i := 0; i < f.n; i += 2 {
		f.eliminate(i, i)
		upper, lower := f.row(i), f.row(i+1)
		s00, _, s10, s11 := dots(upper[:i], lower, upper, lower)
		d := math.Sqrt(upper[i] - s00)
		upper[i], f.inverse[i] = d, 1/d
		side := (lower[i] - s10) / d
		lower[i] = side
		d = math.Sqrt(lower[i+1] - s11 - side*side)
		lower[i+1], f.inverse[i+1] = d, 1/d
	}
	for i := f.n; i < f.n+sides; i += 2 {
		f.eliminate(i, f.n)
	}
}

// eliminate turns the first columns of the rows i and i+1 into those of the
// factor.
func (f *factor) eliminate(i, columns int) {
	upper, lower := f.row(i), f.row(i+1)
	for j := 0; j < columns; j += 2 {
		l0, l1 := f.row(j), f.row(j+1)
		s00, s01, s10, s11 := dots(upper[:j], lower, l0, l1)
		d0, d1, side := f.inverse[j], f.inverse[j+1], l1[j]
		u, v := (upper[j]-s00)*d0, (lower[j]-s10)*d0
		upper[j], lower[j] = u, v
		upper[j+1] = (upper[j+1] - s01 - u*side) * d1
		lower[j+1] = (lower[j+1] - s11 - v*side) * d1
	}
}

// forward turns y into L⁻¹y in place.
func (f *factor) forward(y []float64) {
	for i := range y {
		y[i] = (y[i] - dot(y[:i], f.row(i))) * f.inverse[i]
	}
}

// back solves Lᵀt = y in place.
func (f *factor) back(y []float64) {
	for j := f.n - 1; j >= 0; j-- {
		t := y[j] * f.inverse[j]
		y[j] = t
		for k, v := range f.row(j)[:j] {
			y[k] -= t * v
		}
	}
}

// dots is the four products of a and b with c and d, over the length of a,
// which is even; two sums each, so that no addition waits for the one before.
func dots(a, b, c, d []float64) (ac, ad, bc, bd float64) {
	b, c, d = b[:len(a)], c[:len(a)], d[:len(a)]
	var ac1, ad1, bc1, bd1 float64
	for i := 0; i < len(a)-1; i += 2 {
		x, y, z, w := a[i], b[i], c[i], d[i]
		ac += x * z
		ad += x * w
		bc += y * z
		bd += y * w
		x, y, z, w = a[i+1], b[i+1], c[i+1], d[i+1]
		ac1 += x * z
		ad1 += x * w
		bc1 += y * z
		bd1 += y * w
	}
	return ac + ac1, ad + ad1, bc + bc1, bd + bd1
}

// dot is Σ a[i]·b[i] over a, four sums side by side; b is at least as long.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i, v := range a {
		s0 += v * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}
