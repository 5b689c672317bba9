package drawing

// Fill is a limit as it is used up piece by piece: the value once each piece is
// rolled, with what 5 and 95 in a hundred stay below.
type Fill struct {
	Name                    string
	Limit                   float64
	Piece, Value, Low, High []float64
}

// Falls is true of a value that comes to its limit from above, as roughness does.
func (f Fill) Falls() bool {
	n := len(f.Value)
	return n > 0 && f.Value[0] > f.Limit && f.Value[n-1] < f.Value[0]
}

// UsedPct is how much of a limit a value uses up, in percent; of one that falls
// to its limit, the limit by the value.
func UsedPct(value, limit float64, falls bool) float64 {
	switch {
	case !falls && limit != 0:
		return 100 * value / limit
	case value == 0 || limit == 0:
		return 0
	}
	return 100 * limit / value
}

// drawnToPct is how far past its limit a value is drawn.
const drawnToPct = 200

// Filling draws limits of different kinds over the pieces of a programme: each as
// a share of its limit, with its band of doubt. Marks are pieces that count.
func Filling(title string, limits []Fill, marks []Level) Panel {
	p := Panel{Title: title, X: "piece", Y: "used, %", FromZero: true, Height: 230, Limits: []Level{{Name: "limit", At: 100}}, Marks: marks}
	for _, f := range limits {
		falls, c := f.Falls(), Curve{Name: f.Name, X: f.Piece}
		used := func(v float64) float64 { return min(drawnToPct, UsedPct(v, f.Limit, falls)) }
		for i := range f.Value {
			low, high := used(f.Low[i]), used(f.High[i])
			c.Y, c.Low, c.High = append(c.Y, used(f.Value[i])), append(c.Low, min(low, high)), append(c.High, max(low, high))
		}
		p.Curves = append(p.Curves, c)
	}
	return p
}
