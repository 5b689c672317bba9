package rest

import (
	"context"

	"barrelbook/api/oapi"
	"barrelbook/domain/contact"
	"barrelbook/domain/rollload"
)

const rollLoadModel = "roll-load 1: Timoshenko beams by influence coefficients, Hertz flattening, Newton's method"

// CalculateRollLoad finds the load along the barrel.
func (s *Server) CalculateRollLoad(_ context.Context, r oapi.CalculateRollLoadRequestObject) (oapi.CalculateRollLoadResponseObject, error) {
	b := r.Body
	pair := rollload.Stack{Work: calcRollFromWire(b.Work), Backup: calcRollFromWire(b.Backup), ApproachConstant: contact.DefaultApproachConstant}
	if b.ApproachConstant != nil {
		pair.ApproachConstant = *b.ApproachConstant
	}
	coefficients, err := rollload.NewCoefficients(pair, rollload.Options{Stations: int(given(b.StationCount))})
	if err != nil {
		return nil, err
	}
	load := rollload.Load{Strip: rollload.Points{XMM: b.StripLoad.XMm, Value: b.StripLoad.NPerMm}, BendingForceN: given(b.BendingForceN),
		Work: calcShapeFromWire(b.Work), Backup: calcShapeFromWire(b.Backup)}
	result, err := rollload.NewSolver(coefficients).Solve(&load)
	if err != nil {
		return nil, err
	}
	w := oapi.CalculateRollLoad200JSONResponse{
		Model: rollLoadModel, MeanLineLoadNPerMm: result.MeanLineLoadNPerMM, MaxLineLoadNPerMm: result.MaxLineLoadNPerMM, MaxLineLoadXMm: result.MaxLineLoadXMM,
		PeakPressureMpa: result.PeakPressureMPa, ContactLengthMm: result.ContactLengthMM, WorkAxisCentreMinusStripEdgeUm: result.WorkAxisCentreMinusStripEdgeUM,
		FlatteningCentreUm: result.FlatteningCentreUM, Iterations: int64(result.Iterations),
	}
	w.Stations.XMm, w.Stations.LineLoadNPerMm = list(result.StationXMM), list(result.StationLineLoadNPerMM)
	return w, nil
}

func calcRollFromWire(w oapi.CalcRoll) rollload.Roll {
	shear := rollload.DefaultShearCoefficient
	if w.ShearCoefficient != nil {
		shear = *w.ShearCoefficient
	}
	return rollload.Roll{Body: contact.Body{DiameterMM: w.DiameterMm, ElasticModulusMPa: w.ElasticModulusMpa, PoissonRatio: w.PoissonRatio},
		BarrelLengthMM: w.BarrelLengthMm, BearingSpanMM: w.BearingSpanMm, NeckDiameterMM: w.NeckDiameterMm, ShearCoefficient: shear}
}

func calcShapeFromWire(w oapi.CalcRoll) rollload.Profile {
	p := rollload.Profile{CrownUM: given(w.CrownUm)}
	if w.Wear != nil {
		p.WearUM = rollload.Points{XMM: w.Wear.XMm, Value: w.Wear.DepthUm}
	}
	return p
}
