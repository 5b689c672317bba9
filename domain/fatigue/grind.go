package fatigue

import (
	"math"

	"barrelbook/domain/refusal"
)

// Grind takes a stock off the RADIUS, half of what the diameters of record
// differ by, measured from the last ground surface: wear and grinding
// together. Every layer comes that much nearer the surface. A layer that is
// partly off keeps its damage until all of it is gone.
//
// New layers at the bottom of the field are given the lowest layer's damage
// falling with the square of depth. Far down every shear goes as 1/z, so that
// is the right decay of the summed damage for m = 3 and more than the truth for
// any larger exponent; at 5 b it is a matter of 0.2 % of the worst. Stock 0 to
// 1000 mm. On an error nothing is changed.
func (f *Field) Grind(stockRadialMM float64) error {
	if err := f.Check(); err != nil {
		return err
	}
	var c refusal.Check
	c.Within("stock_radial_mm", stockRadialMM, 0, 1000)
	if err := c.Err(); err != nil {
		return err
	}
	off := f.OffMM + stockRadialMM
	// A layer ground to within a billionth of its thickness is gone, so that
	// four grinds of a quarter layer are one layer.
	gone := int(off/f.LayerMM + 1e-9)
	for i := range f.Stations {
		row := f.row(i)
		lowest := row[f.Layers-1]
		depth := float64(f.Layers) - 0.5
		kept := copy(row, row[min(gone, f.Layers):])
		for j := kept; j < f.Layers; j++ {
			ratio := depth / (float64(gone+j) + 0.5)
			row[j] = lowest * ratio * ratio
		}
	}
	f.OffMM = max(0, off-float64(gone)*f.LayerMM)
	return nil
}

// Layer is one place in a roll and its damage.
type Layer struct {
	Damage  float64
	Station int
	// DepthMM is the middle of what is left of the layer, below the surface.
	DepthMM float64
}

// Worst is the most damaged layer; the shallowest at the first station when
// there is no damage.
func (f *Field) Worst() Layer {
	worst := Layer{DepthMM: f.depth(0)}
	for i := range f.Stations {
		if w := f.WorstAt(i); w.Damage > worst.Damage {
			worst = w
		}
	}
	return worst
}

// WorstAt is the most damaged layer of one station.
func (f *Field) WorstAt(station int) Layer {
	row := f.row(station)
	worst := 0
	for j, d := range row {
		if d > row[worst] {
			worst = j
		}
	}
	return Layer{Damage: row[worst], Station: station, DepthMM: f.depth(worst)}
}

// depth is the middle of what is left of layer j below the surface.
func (f *Field) depth(j int) float64 {
	return (max(0, float64(j)*f.LayerMM-f.OffMM) + float64(j+1)*f.LayerMM - f.OffMM) / 2
}

// Stock is what it takes to be rid of damage over a limit.
type Stock struct {
	// RadialMM is the stock on radius, in whole layers, rounded up.
	RadialMM float64
	// Beyond is true when the lowest layer kept is over the limit too:
	// RadialMM is then the depth of the field, and not enough.
	Beyond bool
}

// StockToRemove is the least stock after which no layer is over the limit. It
// grows with depth of damage, not with its size: a grind cannot heal a layer,
// only take it off, so where the excess lies at 0.8 b it is often the better
// course to grind a little oftener than to grind it all off.
func (f *Field) StockToRemove(limit float64) (Stock, error) {
	if err := f.Check(); err != nil {
		return Stock{}, err
	}
	var c refusal.Check
	c.Positive("damage_limit", limit)
	if err := c.Err(); err != nil {
		return Stock{}, err
	}
	deepest := -1
	for i := range f.Stations {
		row := f.row(i)
		for j := f.Layers - 1; j > deepest; j-- {
			if row[j] > limit {
				deepest = j
			}
		}
	}
	if deepest < 0 {
		return Stock{}, nil
	}
	return Stock{
		RadialMM: math.Max(0, float64(deepest+1)*f.LayerMM-f.OffMM),
		Beyond:   deepest == f.Layers-1,
	}, nil
}
