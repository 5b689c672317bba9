package board

import (
	"html/template"

	"barrelbook/api/oapi"
	"barrelbook/domain/drawing"
)

// mapFigure lays the barrel flat with what tests have read on it.
func mapFigure(m oapi.RollMap) template.HTML {
	var spots []drawing.Spot
	for _, p := range m.Places {
		if p.AroundDeg != nil {
			spots = append(spots, drawing.Spot{Course: words(p.Course), At: p.AtMm, AroundDeg: *p.AroundDeg})
		}
	}
	if len(spots) == 0 {
		return ""
	}
	return figure("What tests read on "+m.Roll, drawing.FlatBarrel("What tests read, the barrel laid flat", "along the barrel, mm", m.BarrelLengthMm, spots))
}

// contourFigure draws how far the contour measured at the last grind lies off its
// target.
func contourFigure(r oapi.Roll) template.HTML {
	c := r.State.Contour
	if c == nil {
		return ""
	}
	panel := drawing.Panel{Title: "Contour after the last grind, off its target (" + words(c.Target) + ")", X: "along the barrel from the drive side, mm", Y: "too thick above 0, µm on diameter"}
	line := drawing.Curve{Name: "measured"}
	for _, s := range c.Stations {
		line.X, line.Y = append(line.X, s.AtMm), append(line.Y, s.OffUm)
	}
	panel.Curves = []drawing.Curve{line}
	panel.Limits = []drawing.Level{{Name: "target", At: 0}}
	if c.ToleranceUm != nil {
		panel.Limits = []drawing.Level{{Name: "most", At: *c.ToleranceUm}, {Name: "target", At: 0}, {Name: "least", At: -*c.ToleranceUm}}
	}
	return figure(panel.Title, panel)
}
