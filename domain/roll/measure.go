package roll

import (
	"math"
	"sort"

	"barrelbook/domain/quantity"
)

// Measures are what was measured of a ground barrel; nil where it was not.
type Measures struct {
	CrownUM     *float64 // middle less ends, on diameter
	TaperUM     *float64 // drive side less operator side, on diameter
	RunoutUM    *float64
	RoundnessUM *float64 // largest less smallest diameter of one section
	RoughnessUM *float64 // Ra
	Stations    []Station
}

// Station is the diameter measured at one place of the barrel.
type Station struct {
	AtMM     float64 // from the drive-side end of the barrel
	Diameter quantity.Micrometre
}

// Measure names one of the measures.
type Measure string

// The measures.
const (
	MeasureStations  Measure = "stations"
	MeasureCrown     Measure = "crown"
	MeasureRoughness Measure = "roughness"
	MeasureTaper     Measure = "taper"
	MeasureRoundness Measure = "roundness"
	MeasureRunout    Measure = "runout"
)

// AllMeasures are the measures in the order of the grinder hand.
func AllMeasures() []Measure {
	return []Measure{MeasureStations, MeasureCrown, MeasureRoughness, MeasureTaper, MeasureRoundness, MeasureRunout}
}

// Words is the measure as a person says it.
func (m Measure) Words() string {
	switch m {
	case MeasureStations:
		return "diameter at stations"
	case MeasureRunout:
		return "run-out"
	default:
		return string(m)
	}
}

// leastStations are the fewest places from which a shape can be told.
const leastStations = 3

// Has says whether the measure was taken.
func (m Measures) Has(which Measure) bool {
	switch which {
	case MeasureStations:
		return len(m.Stations) >= leastStations
	case MeasureCrown:
		return m.CrownUM != nil
	case MeasureRoughness:
		return m.RoughnessUM != nil
	case MeasureTaper:
		return m.TaperUM != nil
	case MeasureRoundness:
		return m.RoundnessUM != nil
	case MeasureRunout:
		return m.RunoutUM != nil
	}
	return false
}

// derived adds crown and taper where they were not given and the diameters at
// three stations or more tell them: taper is the difference of the outermost
// two, crown the diameter halfway between those less their mean, carried out to
// the ends of the barrel as a parabola.
func (m Measures) derived(barrelMM float64) Measures {
	if len(m.Stations) < leastStations {
		return m
	}
	m.Stations = append([]Station(nil), m.Stations...)
	sort.SliceStable(m.Stations, func(i, j int) bool { return m.Stations[i].AtMM < m.Stations[j].AtMM })
	first, last := m.Stations[0], m.Stations[len(m.Stations)-1]
	if m.TaperUM == nil {
		taper := float64(first.Diameter - last.Diameter)
		m.TaperUM = &taper
	}
	if m.CrownUM == nil && last.AtMM > first.AtMM {
		crown := m.diameterAt((first.AtMM+last.AtMM)/2) - float64(first.Diameter+last.Diameter)/2
		if span := last.AtMM - first.AtMM; span >= barrelMM/2 && span < barrelMM {
			crown *= (barrelMM / span) * (barrelMM / span)
		}
		crown = math.Round(10*crown) / 10
		m.CrownUM = &crown
	}
	return m
}

// WornAlong is the deepest wear along the barrel that diameters as found tell
// against those of the last grind, on diameter: straight between its stations, or
// its one diameter where it has fewer than three. 0 or more; false without
// readings.
func (s State) WornAlong(found []Station) (um, atMM float64, measured bool) {
	for _, f := range found {
		ground := float64(s.Diameter)
		if len(s.Measured.Stations) >= leastStations {
			ground = s.Measured.diameterAt(f.AtMM)
		}
		if worn := ground - float64(f.Diameter); worn > um {
			um, atMM = worn, f.AtMM
		}
	}
	return um, atMM, len(found) > 0
}

// diameterAt goes straight from station to station, µm.
func (m Measures) diameterAt(at float64) float64 {
	i := sort.Search(len(m.Stations), func(i int) bool { return m.Stations[i].AtMM >= at })
	switch i {
	case 0:
		return float64(m.Stations[0].Diameter)
	case len(m.Stations):
		return float64(m.Stations[i-1].Diameter)
	}
	a, b := m.Stations[i-1], m.Stations[i]
	share := (at - a.AtMM) / (b.AtMM - a.AtMM)
	return float64(a.Diameter) + share*float64(b.Diameter-a.Diameter)
}

// measured takes in what was measured at a grind or at the receipt. Crown and
// roughness that were not measured stay as they were, and Measured says so.
func (s *State) measured(m Measures) {
	m = m.derived(s.Roll.BarrelLength.MM())
	s.Measured = m
	s.TaperUM, s.RunoutUM = m.TaperUM, m.RunoutUM
	if m.CrownUM != nil {
		s.CrownUM = *m.CrownUM
	}
	if m.RoughnessUM != nil {
		s.RoughnessUM = *m.RoughnessUM
	}
}
