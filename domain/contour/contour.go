// Package contour holds what a barrel is to be ground to and how far a measured
// one is off it.
package contour

import (
	"math"

	"barrelbook/domain/practice"
	"barrelbook/domain/rollload"
)

// Target is a contour as deviation of the diameter in µm; the parts add up. u runs
// from -1 at the drive-side end of the barrel to 1:
//
//	d(u) = −crown·u² − sine·(1 − cos(πu/2)) + Σ cₖuᵏ + table(x)
type Target struct {
	CrownUM float64 // middle less ends, as a parabola
	SineUM  float64 // middle less ends, as half a wave
	// Polynomial is ground on beside them; an S-shaped contour is one.
	Polynomial rollload.Polynomial
	// Table is measured from the middle of the barrel, mm, straight from point to
	// point.
	Table rollload.Points
}

// Of is the contour of the practice. The bottom roll of a pair has the polynomial
// of the top one turned end for end.
func Of(p practice.InForce, bottom bool) Target {
	t := Target{CrownUM: p.Number(practice.CrownUM), SineUM: p.Number(practice.ContourSineUM), Polynomial: rollload.Polynomial{1: p.Number(practice.ContourLinearUM),
		3: p.Number(practice.ContourCubicUM), 4: p.Number(practice.ContourQuarticUM), 5: p.Number(practice.ContourQuinticUM)}}
	if bottom {
		t.Polynomial = t.Polynomial.Turned()
	}
	return t
}

// Name is the contour as the grinder calls it.
func (t Target) Name() string {
	switch {
	case len(t.Table.XMM) > 0:
		return "table"
	case t.Polynomial != rollload.Polynomial{}:
		return "polynomial"
	case t.SineUM != 0:
		return "sine"
	case t.CrownUM != 0:
		return "parabola"
	}
	return "flat"
}

// AtUM is the deviation at x from the middle of a barrel of the length given.
func (t Target) AtUM(x, barrelMM float64) float64 {
	u := 2 * x / barrelMM
	return t.Polynomial.At(u) - t.CrownUM*u*u - t.SineUM*(1-math.Cos(math.Pi*u/2)) + t.Table.At(x)
}

// CrownAimUM is what a gauge at the middle and both ends shows of it.
func (t Target) CrownAimUM(barrelMM float64) float64 {
	return t.AtUM(0, barrelMM) - (t.AtUM(-barrelMM/2, barrelMM)+t.AtUM(barrelMM/2, barrelMM))/2
}

// Reading is the diameter measured at a place, x from the middle of the barrel.
type Reading struct{ XMM, DiameterUM float64 }

// Deviation is how far a measured contour is off its target.
type Deviation struct {
	// LevelUM is the mean of the diameters less the target: the shift of level that
	// leaves the least squares. What is left is below.
	LevelUM    float64
	GreatestUM float64 // by size, with its sign: above 0 too thick
	AtMM       float64 // from the middle
	RMSUM      float64
	TaperUM    float64 // slope left over the barrel, drive side less operator side
	// Left is what is left at each reading, in their order.
	Left []float64
}

// Compare holds readings against a target, after the best shift of level: the one
// of least squares. The zero Deviation for no readings.
func Compare(t Target, readings []Reading, barrelMM float64) Deviation {
	n := float64(len(readings))
	if n == 0 || barrelMM <= 0 {
		return Deviation{}
	}
	d := Deviation{Left: make([]float64, len(readings))}
	for i, r := range readings {
		d.Left[i] = r.DiameterUM - t.AtUM(r.XMM, barrelMM)
		d.LevelUM += d.Left[i] / n
	}
	var meanX, sxy, sxx float64
	for _, r := range readings {
		meanX += r.XMM / n
	}
	for i, r := range readings {
		d.Left[i] -= d.LevelUM
		d.RMSUM += d.Left[i] * d.Left[i] / n
		if math.Abs(d.Left[i]) > math.Abs(d.GreatestUM) {
			d.GreatestUM, d.AtMM = d.Left[i], r.XMM
		}
		sxy += (r.XMM - meanX) * d.Left[i]
		sxx += (r.XMM - meanX) * (r.XMM - meanX)
	}
	d.RMSUM = math.Sqrt(d.RMSUM)
	if sxx > 0 {
		d.TaperUM = -sxy / sxx * barrelMM
	}
	return d
}

// leastForLoad are the fewest readings that tell the shape of a barrel well enough
// to take its load from: between fewer the straight lines would press at their
// corners. This program's own choice.
const leastForLoad = 9

// ForLoad is the measured contour as the load solver takes it, empty where too few
// places were measured: then the target stands for it.
func ForLoad(readings []Reading) rollload.Points {
	if len(readings) < leastForLoad {
		return rollload.Points{}
	}
	p := rollload.Points{}
	mean := 0.0
	for _, r := range readings {
		mean += r.DiameterUM / float64(len(readings))
	}
	for _, r := range readings {
		if n := len(p.XMM); n > 0 && r.XMM <= p.XMM[n-1] {
			return rollload.Points{} // two readings of one place
		}
		p.XMM, p.Value = append(p.XMM, r.XMM), append(p.Value, r.DiameterUM-mean)
	}
	return p
}
