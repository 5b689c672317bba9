package rest

import (
	"barrelbook/api/oapi"
	"barrelbook/domain/gap"
)

// gapStations is at how many places across the strip a gap is told.
const gapStations = 41

func gapToWire(g *gap.Gap) oapi.GapProfile {
	shape := g.Shape()
	step, _ := g.EdgeStep()
	w := oapi.GapProfile{EdgeMm: g.EdgeMM, CentreToEdgeUm: shape.CentreToEdgeUM, QuarterUm: shape.QuarterUM, WedgeUm: shape.WedgeUM, EdgeStepUm: step,
		Parts: oapi.GapParts{WearUm: shape.Parts.WearUM, HeatUm: shape.Parts.HeatUM, ContourUm: shape.Parts.ContourUM, BendingUm: shape.Parts.BendingUM, CrossUm: shape.Parts.CrossUM}}
	s := &w.Stations
	for i := range gapStations {
		x := g.OffsetMM + g.WidthMM*(float64(i)/(gapStations-1)-0.5)
		p := g.At(x)
		s.XMm, s.GapUm = append(s.XMm, x), append(s.GapUm, p.TotalUM())
		s.WearUm, s.HeatUm, s.ContourUm = append(s.WearUm, p.WearUM), append(s.HeatUm, p.HeatUM), append(s.ContourUm, p.ContourUM)
		s.BendingUm, s.CrossUm = append(s.BendingUm, p.BendingUM), append(s.CrossUm, p.CrossUM)
	}
	return w
}
