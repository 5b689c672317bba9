package finish

import (
	"fmt"
	"math"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/standgeometry"
)

// Drive is the block of stands on one motor that the stand belongs to.
type Drive struct {
	Block string
	// Neighbours are the stands next to it in the block and the mean diameter of
	// the work rolls in them, 0 where there are none.
	Neighbours []Neighbour
	// TolerancePct is how far a ratio of diameters may be off that of the
	// reference diameters.
	TolerancePct practice.Value
}

// Neighbour is a stand beside the one asked about.
type Neighbour struct {
	Stand      mill.Stand
	DiameterMM float64
}

// reductions holds the greatest reduction of thickness in one pass of each piece
// against the practice: a temper mill is made for some per cent, no more.
func (r *run) reductions() (Margin, bool) {
	limit := r.in.MaxReductionPct
	if !limit.Set || len(r.work.Rolls) == 0 {
		return Margin{}, false
	}
	greatest := make([]float64, r.n)
	for i, p := range r.pieces {
		for _, pass := range p.Passes {
			if pass.Stand == r.in.Stand.Name && pass.EntryThicknessMM > 0 {
				greatest[i] = max(greatest[i], 100*(1-pass.ExitThicknessMM/pass.EntryThicknessMM))
			}
		}
	}
	m := Margin{Roll: r.work.Rolls[0].Number, Criterion: Reduction, Unit: "%", Limit: limit.Number, Hard: true,
		Source: "limit: " + limit.Source + "; use: thicknesses of the programme"}
	return r.greatest(m, greatest, 1), true
}

// driveRatios holds the work rolls against those of the neighbours on the same
// drive.
func (r *run) driveRatios() (list []Margin) {
	d := r.in.Drive
	if d == nil || len(r.work.Rolls) == 0 || r.in.Stand.ReferenceWork <= 0 {
		return nil
	}
	own := 0.0
	for _, roll := range r.work.Rolls {
		own += roll.DiameterMM / float64(len(r.work.Rolls))
	}
	for _, next := range d.Neighbours {
		if next.DiameterMM <= 0 || next.Stand.ReferenceWork <= 0 {
			continue
		}
		pairs, worst, err := standgeometry.SingleDrive([]quantity.Micrometre{um(next.DiameterMM), um(own)},
			[]quantity.Micrometre{next.Stand.ReferenceWork, r.in.Stand.ReferenceWork}, d.TolerancePct.Number/100)
		if err != nil {
			continue // diameters that the books would not hold
		}
		off := 100 * math.Abs(pairs[worst].Deviation)
		list = append(list, Margin{Roll: r.work.Rolls[0].Number, Criterion: DriveRatio, Unit: "%", Limit: d.TolerancePct.Number, Now: off, AtEnd: off, AtEndLow: off, AtEndHigh: off,
			Probability: certain(pairs[worst].Within), Hard: true,
			Source: fmt.Sprintf("diameter ratio to %s in drive block %s, against that of the reference diameters; limit: %s", next.Stand.Name, d.Block, d.TolerancePct.Source)})
	}
	return list
}

// arrangementNotes say what no model covers.
func (r *run) arrangementNotes() []string {
	if r.in.Stand.Arrangement == mill.SixHigh {
		return []string{r.in.Stand.Name + " is six-high: its rolls have their places and books, but no load solver covers a stand with intermediate rolls yet, and those are not looked at"}
	}
	return nil
}
