// Package duty says what one piece, or a programme of them, does to each roll
// of a stand. It is the one place where the models join.
package duty

import "sort"

// Usage is what a roll has borne: in one mounting, or in its life.
type Usage struct {
	Pieces      int64
	TonnageT    float64
	RolledKM    float64 // rolled at the stand's exit
	Revolutions float64
	// ExposureKM is the kilometres weighted with specific force at 10 kN/mm,
	// on which wear is learned.
	ExposureKM         float64
	MaxForceKN         float64
	MaxPeakPressureMPa float64
	// WearUM is the computed wear along the barrel, µm on diameter, at evenly
	// spaced stations from one end to the other. Nil where none was computed.
	WearUM []float64
	// Grooves are the tonnes and wear of each groove used, by number.
	Grooves []GrooveUse
	// Widths are the kilometres on each width of flat stock, by width.
	Widths []WidthUse
	// Stated is true where tonnes and kilometres were stated by hand.
	Stated bool
}

// GrooveUse is what went through one groove.
type GrooveUse struct {
	Number   int
	TonnageT float64
	WornUM   float64 // computed, on diameter
}

// WidthUse is the length rolled on one width.
type WidthUse struct {
	WidthMM  int // to the nearest millimetre
	RolledKM float64
}

// sameWidthMM is how far two widths may be apart to count as one (handbook 4.5).
const sameWidthMM = 10

// KMNear is the length rolled within 10 mm of a width.
func KMNear(widths []WidthUse, widthMM int) float64 {
	km := 0.0
	from := sort.Search(len(widths), func(i int) bool { return widths[i].WidthMM >= widthMM-sameWidthMM })
	for _, w := range widths[from:] {
		if w.WidthMM > widthMM+sameWidthMM {
			break
		}
		km += w.RolledKM
	}
	return km
}

// DeepestWearUM is the greatest computed wear along the barrel.
func (u Usage) DeepestWearUM() float64 {
	deepest := 0.0
	for _, w := range u.WearUM {
		deepest = max(deepest, w)
	}
	return deepest
}

// Add sums two usages. Wear adds station by station and is kept where only one
// of the two has it.
func (u *Usage) Add(o Usage) {
	u.Pieces += o.Pieces
	u.TonnageT += o.TonnageT
	u.RolledKM += o.RolledKM
	u.Revolutions += o.Revolutions
	u.ExposureKM += o.ExposureKM
	u.MaxForceKN = max(u.MaxForceKN, o.MaxForceKN)
	u.MaxPeakPressureMPa = max(u.MaxPeakPressureMPa, o.MaxPeakPressureMPa)
	u.Stated = u.Stated || o.Stated
	u.Grooves = addGrooves(u.Grooves, o.Grooves)
	u.Widths = addWidths(u.Widths, o.Widths)
	if u.WearUM == nil {
		u.WearUM = append([]float64(nil), o.WearUM...)
		return
	}
	for i := range o.WearUM {
		if i < len(u.WearUM) {
			u.WearUM[i] += o.WearUM[i]
		}
	}
}

// addGrooves sums two lists groove by groove, in the order of their numbers,
// and leaves both as they were.
func addGrooves(a, b []GrooveUse) []GrooveUse {
	if len(b) == 0 {
		return a
	}
	sum := append([]GrooveUse(nil), a...)
	for _, g := range b {
		i := sort.Search(len(sum), func(i int) bool { return sum[i].Number >= g.Number })
		if i == len(sum) || sum[i].Number != g.Number {
			sum = append(sum, GrooveUse{})
			copy(sum[i+1:], sum[i:])
			sum[i] = GrooveUse{Number: g.Number}
		}
		sum[i].TonnageT += g.TonnageT
		sum[i].WornUM += g.WornUM
	}
	return sum
}

// addWidths sums two lists width by width, in their order, and leaves both as
// they were.
func addWidths(a, b []WidthUse) []WidthUse {
	if len(b) == 0 {
		return a
	}
	sum := append(make([]WidthUse, 0, len(a)+1), a...)
	for _, w := range b {
		i := sort.Search(len(sum), func(i int) bool { return sum[i].WidthMM >= w.WidthMM })
		if i == len(sum) || sum[i].WidthMM != w.WidthMM {
			sum = append(sum, WidthUse{})
			copy(sum[i+1:], sum[i:])
			sum[i] = WidthUse{WidthMM: w.WidthMM}
		}
		sum[i].RolledKM += w.RolledKM
	}
	return sum
}
