package stand

import (
	"fmt"
	"math"

	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
	"barrelbook/domain/drawing"
)

// printGap is how the gap has changed since the work rolls were ground, by what
// made it, and a drawing of it across the strip.
func printGap(t *term.Streams, u render.Units, g *oapi.GapProfile) {
	if g == nil {
		return
	}
	t.Print("\nChange of the gap under it since the work rolls were ground, crown taken %s from the strip's edges:", u.Dimension(g.EdgeMm))
	signed := func(um float64) string {
		if um = math.Round(um) + 0; um > 0 { // no minus before a nought
			return "+" + u.Small(um)
		}
		return u.Small(um)
	}
	facts := render.Facts{}
	facts.Add("crown", fmt.Sprintf("%s: wear %s, heat %s, contour %s, bending %s, crossing %s", signed(g.CentreToEdgeUm), signed(g.Parts.WearUm), signed(g.Parts.HeatUm),
		signed(g.Parts.ContourUm), signed(g.Parts.BendingUm), signed(g.Parts.CrossUm)))
	facts.Add("quarter points", signed(g.QuarterUm))
	facts.Add("wedge", signed(g.WedgeUm))
	facts.Add("edge step", u.Small(math.Round(g.EdgeStepUm))+" within 50 mm")
	facts.Write(t)
	u.BarrelPlot(g.Stations.XMm, g.Stations.GapUm).Draw(t, "Change of the gap across the strip, wider downwards")
}

// gapPanel draws the change of the gap and its parts.
func gapPanel(u render.Units, v oapi.StandView) drawing.Panel {
	s := v.Load.Gap.Stations
	panel := drawing.Panel{Title: "Change of the gap of " + v.Stand.Name + " since its work rolls were ground", Marks: StripEdges(u, v.Load)}
	for _, c := range []struct {
		name string
		um   []float64
	}{{"gap", s.GapUm}, {"wear", s.WearUm}, {"heat", s.HeatUm}, {"contour", s.ContourUm}, {"bending", s.BendingUm}, {"crossing", s.CrossUm}} {
		if flat(c.um) && c.name != "gap" {
			continue
		}
		plot := u.BarrelPlot(s.XMm, c.um)
		panel.X, panel.Y = "across the strip from the mill's centre line, "+plot.XUnit, "wider than in the middle, "+plot.YUnit
		panel.Curves = append(panel.Curves, drawing.Curve{Name: c.name, X: plot.X, Y: plot.Y})
	}
	return panel
}

// flat is true for a curve that is nowhere off zero by a tenth of a micrometre.
func flat(um []float64) bool {
	for _, v := range um {
		if v > 0.1 || v < -0.1 {
			return false
		}
	}
	return true
}
