package fatigue

import (
	"slices"
	"strconv"

	"barrelbook/domain/refusal"
)

// DefaultLayers is how many layers in depth a field keeps.
const DefaultLayers = 40

// Field is the damage of one roll: a row of layers, from the surface down, at
// each station along the barrel. The layers are fixed in the body. A grind
// moves the surface down through them and never mixes one layer with the
// next, so nothing is smeared however many grinds a roll sees.
//
// Its fields are plain so that it can be stored and restored; call Check after
// restoring. Make a new one with NewField.
type Field struct {
	// Stations along the barrel, the same as the roll's wear grid.
	Stations int
	// Layers in depth.
	Layers int
	// LayerMM is the thickness of a layer, on radius.
	LayerMM float64
	// OffMM is how much of the first layer has been ground off, on radius: 0
	// up to LayerMM.
	OffMM float64
	// Damage of station i, layer k is at i*Layers+k.
	Damage []float64
}

// LayerFor is the layer thickness that suits a contact half-width: b/8, so
// that DefaultLayers reach 5 b down, beyond which a revolution does less than
// 0.1 % of its greatest damage at the default exponent. Give it the half-width
// of the heaviest usual piece. Finer is dearer, coarser blunter: a layer
// holds the mean over its thickness, at b/8 up to 1 % under the peak for m =
// 20/3 and 2 % for 9. The steady damage is right on any of them.
func LayerFor(halfWidthMM float64) float64 { return halfWidthMM / 8 }

// NewField is the field of a new roll. 1 to 2001 stations, 4 to 1000 layers of
// 0.001 to 100 mm.
func NewField(stations, layers int, layerMM float64) (*Field, error) {
	f := &Field{Stations: stations, Layers: layers, LayerMM: layerMM}
	if err := f.checkSize(); err != nil {
		return nil, err
	}
	f.Damage = make([]float64, stations*layers)
	return f, nil
}

func (f *Field) checkSize() error {
	var c refusal.Check
	c.Within("stations", float64(f.Stations), 1, 2001)
	c.Within("layers", float64(f.Layers), 4, 1000)
	if c.Within("layer_mm", f.LayerMM, 0.001, 100) && (!(f.OffMM >= 0) || !(f.OffMM < f.LayerMM)) {
		c.Add("off_mm", refusal.Number(f.OffMM), "must not be below 0 and must be below layer_mm", "")
	}
	return c.Err()
}

// Check refuses a field that was not restored whole.
func (f *Field) Check() error {
	if err := f.checkSize(); err != nil {
		return err
	}
	var c refusal.Check
	if len(f.Damage) != f.Stations*f.Layers {
		c.Add("damage", strconv.Itoa(len(f.Damage))+" values", "must have one value per station and layer", "")
	}
	for _, d := range f.Damage {
		if !c.NotNegative("damage", d) {
			break
		}
	}
	return c.Err()
}

// Clone is a copy to ask "what if" of.
func (f *Field) Clone() *Field {
	g := *f
	g.Damage = slices.Clone(f.Damage)
	return &g
}

// Add counts revolutions at a peak pressure p₀ and contact half-width b per
// station:
//
//	D(z) += n/N(p₀)·K(z/b)
//
// each layer taking the mean of K over what is left of its thickness; z is
// below the last ground surface. That the roll wears by a tenth or two before
// its next grind is left out: it is small beside b. Kernel and field are
// separate so that one policy's table serves all rolls; keep to one policy, as
// damages of two do not add.
//
// Both slices have one value per station; where the rolls part, both are 0.
// Pressure up to 1e5 MPa, half-width up to half the depth of the field (a
// field for much thinner contacts would miss most of the damage). On an error
// nothing is changed. Nothing is allocated.
func (f *Field) Add(k *Kernel, revolutions float64, p0MPa, halfWidthMM []float64) error {
	if err := f.checkLoad(revolutions, p0MPa, halfWidthMM); err != nil {
		return err
	}
	for i, p0 := range p0MPa {
		if p0 == 0 {
			continue
		}
		// Depths in layers are turned into half-widths once per station.
		perLayer := f.LayerMM / halfWidthMM[i]
		off := f.OffMM / halfWidthMM[i]
		share := revolutions * k.policy.perRevolution(p0)
		top, above := 0.0, 0.0
		row := f.row(i)
		for j := range row {
			bottom := float64(j+1)*perLayer - off
			below := k.integralTo(bottom)
			// The table's last bit may step back where K is flat.
			row[j] += share * max(0, below-above) / (bottom - top)
			top, above = bottom, below
		}
	}
	return nil
}

func (f *Field) checkLoad(revolutions float64, p0MPa, halfWidthMM []float64) error {
	if len(f.Damage) != f.Stations*f.Layers || f.Stations == 0 {
		return f.Check()
	}
	var c refusal.Check
	c.Within("revolutions", revolutions, 0, mostRevolutions)
	if len(p0MPa) != f.Stations || len(halfWidthMM) != f.Stations {
		c.Add("peak_pressure_mpa", strconv.Itoa(len(p0MPa))+" and "+strconv.Itoa(len(halfWidthMM))+" values",
			"and half_width_mm must have one value per station, "+strconv.Itoa(f.Stations), "")
		return c.Err()
	}
	widest := f.LayerMM * float64(f.Layers) / 2
	for i, p0 := range p0MPa {
		if !c.Within("peak_pressure_mpa", p0, 0, greatestPressureMPa) || !c.Within("half_width_mm", halfWidthMM[i], 0, widest) {
			break
		}
		if p0 > 0 && halfWidthMM[i] < 1e-6 {
			c.Add("half_width_mm", refusal.Number(halfWidthMM[i]), "must be at least a millionth of a mm where there is pressure", "")
			break
		}
	}
	return c.Err()
}

func (f *Field) row(station int) []float64 {
	return f.Damage[station*f.Layers : (station+1)*f.Layers]
}
