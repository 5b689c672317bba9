package rollload

import "math"

// factor solves the equations of one Newton step, (I + S·A·S)·t = b for a few
// b, by Cholesky's method in memory that it keeps. S holds the roots of the
// contact's slopes; slices that have parted have S = 0 and take no part. The
// matrix is symmetric and its eigenvalues are at least 1, so nothing can go
// wrong with a pivot; that, and half the work, is what a general LU would lose.
type factor struct {
	l       []float64 // rows of the factor, then the right-hand sides
	stride  int
	inverse []float64 // of the diagonal
}

func newFactor(slices int) factor {
	return factor{l: make([]float64, (slices+3)*slices), stride: slices, inverse: make([]float64, slices)}
}

// row gives the first n places of row i.
func (f *factor) row(i, n int) []float64 { return f.l[i*f.stride : i*f.stride+n] }

// decompose forms the matrix for the active slices and factors it row by row.
// The right-hand sides stand in the rows from len(active) on and become
// L⁻¹b, by the very step that makes a row of the factor.
func (f *factor) decompose(a []float64, stride int, active []int32, root []float64, sides int) {
	n := len(active)
	for i, at := range active {
		row := f.row(i, i+1)
		from := a[int(at)*stride : int(at)*stride+stride]
		si := root[at]
		for j, to := range active[:i+1] {
			row[j] = si * root[to] * from[to]
		}
		row[i]++
		f.eliminate(row[:i])
		d := row[i] - dot(row[:i], row[:i])
		d = math.Sqrt(d)
		row[i], f.inverse[i] = d, 1/d
	}
	for k := range sides {
		f.eliminate(f.row(n+k, n))
	}
}

// eliminate turns the first part of a row into that of the factor.
func (f *factor) eliminate(row []float64) {
	for j := range row {
		row[j] = (row[j] - dot(row[:j], f.l[j*f.stride:])) * f.inverse[j]
	}
}

// back solves Lᵀt = y in place.
func (f *factor) back(y []float64) {
	for j := len(y) - 1; j >= 0; j-- {
		t := y[j] * f.inverse[j]
		y[j] = t
		for k, v := range f.row(j, j) {
			y[k] -= t * v
		}
	}
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
