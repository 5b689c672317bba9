package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

// ListGrades lists roll materials by name.
func (s *Server) ListGrades(ctx context.Context, r oapi.ListGradesRequestObject) (oapi.ListGradesResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Grades(ctx, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListGrades200JSONResponse{Items: each(items, gradeToWire), Next: nextOf(ctx, next)}, nil
}

// CreateGrade keeps a roll material.
func (s *Server) CreateGrade(ctx context.Context, r oapi.CreateGradeRequestObject) (oapi.CreateGradeResponseObject, error) {
	g, err := s.app.CreateGrade(ctx, call(ctx, r.Params.IdempotencyKey, nil), gradeFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	return oapi.CreateGrade201JSONResponse(gradeToWire(g)), nil
}

func gradeFromWire(w oapi.Grade) port.Grade {
	return port.Grade{Name: w.Name, Family: string(w.Family), Title: given(w.Title), ElasticModulusMPa: given(w.ElasticModulusMpa), PoissonRatio: given(w.PoissonRatio),
		DensityKGPerM3: given(w.DensityKgPerM3), ExpansionPerK: given(w.ExpansionPerK), ConductivityWPerMK: given(w.ConductivityWPerMk),
		SpecificHeatJPerKGK: given(w.SpecificHeatJPerKgk), AllowableStressMPa: given(w.AllowableStressMpa)}
}

func gradeToWire(g port.Grade) oapi.Grade {
	return oapi.Grade{Name: g.Name, Family: oapi.GradeFamily(g.Family), Title: optional(g.Title), ElasticModulusMpa: optional(g.ElasticModulusMPa), PoissonRatio: optional(g.PoissonRatio),
		DensityKgPerM3: optional(g.DensityKGPerM3), ExpansionPerK: optional(g.ExpansionPerK), ConductivityWPerMk: optional(g.ConductivityWPerMK),
		SpecificHeatJPerKgk: optional(g.SpecificHeatJPerKGK), AllowableStressMpa: optional(g.AllowableStressMPa)}
}
