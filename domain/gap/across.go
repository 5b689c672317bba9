package gap

// Across is a gap as it is told: its measures, and its parts at places across the
// strip from edge to edge.
type Across struct {
	EdgeMM     float64
	Shape      Shape
	EdgeStepUM float64
	XMM        []float64 // along the mill
	Parts      []Parts   // against the middle of the strip
}

// Across tells the gap at so many places, 2 or more.
func (g *Gap) Across(places int) Across {
	a := Across{EdgeMM: g.EdgeMM, Shape: g.Shape(), XMM: make([]float64, places), Parts: make([]Parts, places)}
	a.EdgeStepUM, _ = g.EdgeStep()
	for i := range places {
		a.XMM[i] = g.OffsetMM + g.WidthMM*(float64(i)/float64(places-1)-0.5)
		a.Parts[i] = g.At(a.XMM[i])
	}
	return a
}

// DefaultPlaces is at how many places a gap is told.
const DefaultPlaces = 41
