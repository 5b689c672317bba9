package rest

import (
	"context"

	"barrelbook/api/oapi"
	"barrelbook/domain/heat"
)

const coolingModel = "cooling 1: long solid cylinder by the series of Bessel functions, free ends"

// CalculateCooling follows a withdrawn roll as it cools.
func (s *Server) CalculateCooling(_ context.Context, r oapi.CalculateCoolingRequestObject) (oapi.CalculateCoolingResponseObject, error) {
	b := r.Body
	c, err := heat.Cool(heat.Cylinder{DiameterMM: b.DiameterMm, ConductivityWPerMK: b.ConductivityWPerMk, DensityKgPerM3: b.DensityKgPerM3, SpecificHeatJPerKgK: b.SpecificHeatJPerKgk,
		SurfaceCoefficientWPerM2K: b.SurfaceCoefficientWPerM2k, ExpansionPerK: b.ExpansionPerK, StartC: b.StartC, AmbientC: b.AmbientC}, b.Minutes)
	if err != nil {
		return nil, err
	}
	return oapi.CalculateCooling200JSONResponse{Model: coolingModel, MeanC: list(c.MeanC), CentreC: list(c.CentreC), SurfaceC: list(c.SurfaceC),
		DiameterChangeUm: list(c.DiameterChangeUM), TimeConstantMin: c.TimeConstantMin}, nil
}
