package rest

import (
	"context"
	"errors"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
	"barrelbook/domain/rollforce"
)

const rollForceModel = "roll-force 1: "

// CalculateRollForce predicts the force of a pass by a named method.
func (s *Server) CalculateRollForce(_ context.Context, r oapi.CalculateRollForceRequestObject) (oapi.CalculateRollForceResponseObject, error) {
	b := r.Body
	in := rollforce.Input{
		Method: rollforce.Method(b.Method), EntryThicknessMM: b.EntryThicknessMm, ExitThicknessMM: b.ExitThicknessMm, DiameterMM: b.DiameterMm, WidthMM: b.WidthMm,
		Flatten: given(b.Flatten), RollModulusMPa: rollforce.SteelModulusMPa, RollPoissonRatio: rollforce.SteelPoissonRatio, SpeedMPerS: given(b.SpeedMPerS),
		MeanFlowStressMPa: given(b.MeanFlowStressMpa), MeanPressureMPa: given(b.MeanPressureMpa), MeasuredForceN: given(b.MeasuredForceN),
		Friction: given(b.Friction), EntryTensionMPa: given(b.EntryTensionMpa), ExitTensionMPa: given(b.ExitTensionMpa), TemperatureC: given(b.TemperatureC),
		CarbonPct: given(b.CarbonPct), ManganesePct: given(b.ManganesePct), ChromiumPct: given(b.ChromiumPct), RollSurface: text[rollforce.RollSurface](b.RollSurface),
	}
	if b.ElasticModulusMpa != nil {
		in.RollModulusMPa = *b.ElasticModulusMpa
	}
	if b.PoissonRatio != nil {
		in.RollPoissonRatio = *b.PoissonRatio
	}
	result, err := rollforce.Predict(in)
	var flat *rollforce.NoFlattenedRadiusError
	if errors.As(err, &flat) {
		return nil, &port.Error{Kind: port.Impossible, Detail: flat.Error(), Err: err}
	}
	if err != nil {
		return nil, renamed(err, "roll_modulus_mpa", "elastic_modulus_mpa", "roll_poisson_ratio", "poisson_ratio")
	}
	return oapi.CalculateRollForce200JSONResponse{Model: rollForceModel + string(in.Method), ForceN: result.ForceN, ContactLengthMm: result.ContactLengthMM,
		FlattenedRadiusMm: result.FlattenedRadiusMM, MeanPressureMpa: result.MeanPressureMPa, TorqueNm: result.TorqueNM, PowerKw: optional(result.PowerKW), ForwardSlip: optional(result.ForwardSlip), ForceFactor: optional(result.ForceFactor), NeutralAngleRad: optional(result.NeutralAngleRad), Warnings: some(result.Warnings)}, nil
}
