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
	Criterion: "edge_step", Key: practice.MaxEdgeStepUM, Unit: "µm", Words: "edge step under the strip", Noun: "edge-step",
	Ends: func(roll, limit string, _ int) string { return "the edge step of " + roll + " reaches " + limit },
	Watch: func(a *Ahead, j int) []Watch {
		if j > 1 || len(a.Rolls) < 2 || a.wear[j] == nil {
			return nil
		}
		w, ok := of(a.Rolls[j], practice.MaxEdgeStepUM)
		if !ok {
			return nil
		}
		w.Growth, w.Spread = Stepping{a: a, j: j}, Exact
		w.Source += "; use: worn contour within 50 mm under the strip of each piece, as the wear grid of the roll shows it, taken at the planned figures"
		return []Watch{w}
	},
}

// Stepping is the greatest edge step that any piece finds on one roll.
type Stepping struct {
	a *Ahead
	j int
}

// Now is 0: what was found before is over and done with.
func (g Stepping) Now() float64 { return 0 }

// Lines is one line with nothing borne. A piece narrower than those since the
// widest before it finds nothing new, and is not looked at but at the end.
func (g Stepping) Lines(into []Line, spans []Span) []Line {
	roll := g.a.wornBy(g.j)
	places := len(roll.before)
	if places < 2 {
		return append(into, Line{})
	}
	contour := rollload.Points{XMM: make([]float64, places), Value: make([]float64, places)}
	for k := range contour.XMM {
		contour.XMM[k] = roll.barrelMM * (float64(k)/float64(places-1) - 0.5)
	}
	most := 0.0
	for _, s := range spans {
		if s.empty() {
			continue
		}
		roll.roll(s.From, s.To, s.Times-1)
		for i := s.From; i < s.To; i++ {
			at := &g.a.gaps[i]
			if !g.worthALook(i, s.To) {
				continue
			}
			for k, x := range contour.XMM {
				contour.Value[k] = roll.at(x, s.From, i+1)
			}
			middle := at.strip.OffsetMM - at.offset[g.j]
			step, _ := gap.EdgeStepUM(contour, middle-at.strip.WidthMM/2, middle+at.strip.WidthMM/2)
			most = max(most, step)
		}
		roll.roll(s.From, s.To, 1)
	}
	return append(into, Line{0, most})
}

// worthALook says whether piece i may find a greater step than the pieces about
// it: it lies elsewhere or is wider than the next one, or is the last.
func (g Stepping) worthALook(i, to int) bool {
	if g.a.gaps[i].strip.WidthMM == 0 {
		return false
	}
	if i+1 == to {
		return true
	}
	now, then := &g.a.gaps[i], &g.a.gaps[i+1]
	reach := now.strip.WidthMM / 2
	return now.strip.OffsetMM-now.offset[g.j]-reach < then.strip.OffsetMM-then.offset[g.j]-then.strip.WidthMM/2 ||
		now.strip.OffsetMM-now.offset[g.j]+reach > then.strip.OffsetMM-then.offset[g.j]+then.strip.WidthMM/2
}
