package rest

import (
	"context"

	"barrelbook/api/oapi"
	"barrelbook/domain/contact"
	"barrelbook/domain/refusal"
	"barrelbook/domain/rollload"
)

const rollLoadModel = "roll-load 1: Timoshenko beams by influence coefficients, Hertz flattening, Newton's method"

// CalculateRollLoad finds the load along the barrels.
func (s *Server) CalculateRollLoad(_ context.Context, r oapi.CalculateRollLoadRequestObject) (oapi.CalculateRollLoadResponseObject, error) {
	b := r.Body
	stack := rollload.Stack{Work: calcRollFromWire(b.Work), Backup: calcRollFromWire(b.Backup), ApproachConstant: approachConstant(b.ApproachConstant)}
	load := rollload.Load{Strip: rollload.Points{XMM: b.StripLoad.XMm, Value: b.StripLoad.NPerMm}, BendingForceN: given(b.BendingForceN),
		Work: calcShapeFromWire(b.Work), Backup: calcShapeFromWire(b.Backup)}
	if b.Intermediate != nil {
		stack.Intermediate, load.Intermediate = calcRollFromWire(*b.Intermediate), calcShapeFromWire(*b.Intermediate)
		load.IntermediateBendingForceN = given(b.IntermediateBendingForceN)
	} else if err := noIntermediate("intermediate_bending_force_n", b.IntermediateBendingForceN); err != nil {
		return nil, err
	}
	coefficients, err := rollload.NewCoefficients(stack, rollload.Options{Stations: int(given(b.StationCount))})
	if err != nil {
		return nil, err
	}
	result, err := rollload.NewSolver(coefficients).Solve(&load)
	if err != nil {
		return nil, err
	}
	w := oapi.CalculateRollLoad200JSONResponse{
		Model: rollLoadModel, MeanLineLoadNPerMm: result.MeanLineLoadNPerMM, MaxLineLoadNPerMm: result.MaxLineLoadNPerMM, MaxLineLoadXMm: result.MaxLineLoadXMM,
		PeakPressureMpa: result.PeakPressureMPa, ContactLengthMm: result.ContactLengthMM, WorkAxisCentreMinusStripEdgeUm: result.WorkAxisCentreMinusStripEdgeUM,
		FlatteningCentreUm: result.FlatteningCentreUM, Iterations: int64(result.Iterations), TiltUm: &result.TiltUM,
		Stations: oapi.CalcWorkStations{XMm: list(result.StationXMM), LineLoadNPerMm: list(result.StationLineLoadNPerMM), WorkAxisUm: some(result.StationAxisUM), GapUm: some(result.StationGapUM)},
	}
	if c := result.Backup; stack.SixHigh() {
		w.BackupContact = &oapi.CalcBackupContact{MeanLineLoadNPerMm: c.MeanLineLoadNPerMM, MaxLineLoadNPerMm: c.MaxLineLoadNPerMM, MaxLineLoadXMm: c.MaxLineLoadXMM, PeakPressureMpa: c.PeakPressureMPa,
			ContactLengthMm: c.ContactLengthMM, FlatteningCentreUm: c.FlatteningCentreUM, XMm: list(c.StationXMM), LineLoadNPerMm: list(c.StationLineLoadNPerMM)}
	}
	return w, nil
}

// noIntermediate refuses what is given for an intermediate roll that is not.
func noIntermediate(path string, v *float64) error {
	if given(v) == 0 {
		return nil
	}
	return refusal.One(path, refusal.Number(*v), "is of an intermediate roll, and there is none", "give the intermediate roll")
}

func approachConstant(given *float64) float64 {
	if given != nil {
		return *given
	}
	return contact.DefaultApproachConstant
}

func calcRollFromWire(w oapi.CalcRoll) rollload.Roll {
	shear := rollload.DefaultShearCoefficient
	if w.ShearCoefficient != nil {
		shear = *w.ShearCoefficient
	}
	return rollload.Roll{Body: contact.Body{DiameterMM: w.DiameterMm, ElasticModulusMPa: w.ElasticModulusMpa, PoissonRatio: w.PoissonRatio},
		BarrelLengthMM: w.BarrelLengthMm, BearingSpanMM: w.BearingSpanMm, NeckDiameterMM: w.NeckDiameterMm, ShearCoefficient: shear, AxialOffsetMM: given(w.AxialOffsetMm)}
}

func calcShapeFromWire(w oapi.CalcRoll) rollload.Profile {
	p := rollload.Profile{CrownUM: given(w.CrownUm)}
	copy(p.PolynomialUM[:], given(w.PolynomialUm))
	if w.Wear != nil {
		p.WearUM = rollload.Points{XMM: w.Wear.XMm, Value: w.Wear.DepthUm}
	}
	if w.Growth != nil {
		p.GrowthUM = rollload.Points{XMM: w.Growth.XMm, Value: w.Growth.DiameterUm}
	}
	return p
}
