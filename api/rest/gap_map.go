package rest

import (
	"barrelbook/api/oapi"
	"barrelbook/domain/gap"
)

func gapToWire(g gap.Across) oapi.GapProfile {
	w := oapi.GapProfile{EdgeMm: g.EdgeMM, CentreToEdgeUm: g.Shape.CentreToEdgeUM, QuarterUm: g.Shape.QuarterUM, WedgeUm: g.Shape.WedgeUM, EdgeStepUm: g.EdgeStepUM,
		Parts: gapPartsToWire(g.Shape.Parts), Stations: oapi.GapStations{XMm: list(g.XMM)}}
	s := &w.Stations
	for _, p := range g.Parts {
		s.GapUm = append(s.GapUm, p.TotalUM())
		s.WearUm, s.HeatUm, s.ContourUm = append(s.WearUm, p.WearUM), append(s.HeatUm, p.HeatUM), append(s.ContourUm, p.ContourUM)
		s.BendingUm, s.CrossUm = append(s.BendingUm, p.BendingUM), append(s.CrossUm, p.CrossUM)
	}
	return w
}

func gapPartsToWire(p gap.Parts) oapi.GapParts {
	return oapi.GapParts{WearUm: p.WearUM, HeatUm: p.HeatUM, ContourUm: p.ContourUM, BendingUm: p.BendingUM, CrossUm: p.CrossUM}
}
