package limit

import (
	"barrelbook/domain/gap"
	"barrelbook/domain/practice"
	"barrelbook/domain/rollload"
)

// edgeStep is the greatest change of a work roll's worn contour within 50 mm
// under the strip of any piece: a wider strip that comes over the edge of the
// narrower ones is marked by it.
var edgeStep = Kind{
	Criterion: "edge_step", Key: practice.MaxEdgeStepUM, Unit: "µm", Words: "edge step under the strip", Noun: "edge-step", Short: "edge step", Unforced: true,
	Ends: func(roll, limit string, _ int) string { return "the edge step of " + roll + " reaches " + limit },
	Watch: func(a *Ahead, j int) []Watch {
		if j > 1 || len(a.Rolls) < 2 || a.wear[j] == nil {
			return nil
		}
		w, ok := of(a.Rolls[j], practice.MaxEdgeStepUM)
		if !ok {
			return nil
		}
		w.Growth, w.Spread = &Stepping{a: a, j: j}, Exact
		w.Source += "; use: worn contour within 50 mm under the strip of each piece, as the wear grid of the roll shows it, taken at the planned figures"
		return []Watch{w}
	},
}

// Stepping is the greatest edge step that any piece finds on one roll.
type Stepping struct {
	a    *Ahead
	j    int
	seen running
}

// Now is 0: what was found before is over and done with.
func (g *Stepping) Now() float64 { return 0 }

// Lines is one line with nothing borne. A piece that lies within the next one
// finds nothing that that one does not, and is looked at only where it is the
// last.
func (g *Stepping) Lines(into []Line, spans []Span) []Line {
	rolls := []worn{g.a.wornBy(g.j)}
	places := len(rolls[0].before)
	if places < 2 {
		return append(into, Line{})
	}
	contour := rollload.Points{XMM: make([]float64, places), Value: make([]float64, places)}
	for k := range contour.XMM {
		contour.XMM[k] = rolls[0].barrelMM * (float64(k)/float64(places-1) - 0.5)
	}
	step := func(from, i int) float64 {
		at := &g.a.gaps[i]
		for k := range contour.Value {
			contour.Value[k] = rolls[0].station(k, from, i+1)
		}
		middle := at.strip.OffsetMM - at.offset[g.j]
		um, _ := gap.EdgeStepUM(contour, middle-at.strip.WidthMM/2, middle+at.strip.WidthMM/2)
		return um
	}
	most := g.seen.most(spans, rolls, func(from, i int, last bool) float64 {
		if !last && i+1 < len(g.a.gaps) && g.within(i, i+1) {
			return 0
		}
		return step(from, i)
	})
	if s, ok := once(spans); ok {
		most = max(most, step(s.From, s.To-1))
	}
	return append(into, Line{0, most})
}

// within says whether piece i lies within piece k on the roll.
func (g *Stepping) within(i, k int) bool {
	edges := func(i int) (low, high float64) {
		at := &g.a.gaps[i]
		middle := at.strip.OffsetMM - at.offset[g.j]
		return middle - at.strip.WidthMM/2, middle + at.strip.WidthMM/2
	}
	low, high := edges(i)
	least, most := edges(k)
	return low >= least && high <= most
}
