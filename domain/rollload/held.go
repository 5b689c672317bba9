package rollload

// held is the left side of a Newton step, ready to be solved for any residual:
// the factor of I + S·A·S with the columns L⁻¹SE behind it, and
//
//	h = (L⁻¹SE)ᵀ(L⁻¹SE)
//
// eliminated. Open columns are tilts that h leaves open.
type held struct {
	factor  factor
	active  []int32   // slices that touch
	root    []float64 // S
	columns int       // of E: the lifts of all joints, then their tilts
	h       [mostColumns][mostColumns]float64
	at      [mostColumns]float64 // where a joint touches, for a tilt left open
	open    [mostColumns]bool
}

// mostColumns is a lift and a tilt for each joint.
const mostColumns = 2 * mostJoints

func newHeld(slices int) held {
	return held{factor: newFactor(slices), active: make([]int32, 0, slices), root: make([]float64, slices)}
}

// make works out the left side for contacts with the roots S of their slopes.
func (d *held) make(y *system, root []float64) {
	d.active = d.active[:0]
	copy(d.root, root[:y.slices])
	for i, r := range root[:y.slices] {
		if r > 0 {
			d.active = append(d.active, int32(i))
		}
	}
	d.columns = len(y.parts)
	if !y.folded {
		d.columns *= 2
	}
	f := &d.factor
	f.form(y.a, y.slices, d.active, d.root)
	for c := range d.columns + d.columns%2 {
		clear(f.row(f.n + c))
	}
	joint, lifts := 0, len(y.parts)
	for k, at := range d.active {
		for int(at) >= y.parts[joint].to {
			joint++
		}
		f.row(f.n + joint)[k] = d.root[at]
		if !y.folded {
			f.row(f.n + lifts + joint)[k] = d.root[at] * y.position[at]
		}
	}
	f.decompose(d.columns)
	d.eliminate(lifts)
}

// eliminate fills h. Lifts come first and always have a pivot, as every joint
// touches somewhere. A joint that touches in one slice alone leaves its tilt
// open.
func (d *held) eliminate(lifts int) {
	f := &d.factor
	var whole [mostColumns]float64
	for i := range d.columns {
		e := f.row(f.n + i)
		for j := range i + 1 {
			d.h[i][j] = dot(e, f.row(f.n+j))
			d.h[j][i] = d.h[i][j]
		}
		whole[i] = d.h[i][i]
		if i >= lifts {
			d.at[i] = d.h[i][i-lifts] / whole[i-lifts]
		}
	}
	for i := range d.columns {
		d.open[i] = i >= lifts && !(d.h[i][i] > 1e-12*whole[i])
		for j := i + 1; !d.open[i] && j < d.columns; j++ {
			part := d.h[i][j] / d.h[i][i]
			for k := j; k < d.columns; k++ {
				d.h[j][k] -= part * d.h[i][k]
			}
		}
	}
}
