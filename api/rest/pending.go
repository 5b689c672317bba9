package rest

import (
	"context"

	"barrelbook/api/app"
	"barrelbook/api/oapi"
)

// notBuilt is a part of the contract that this version does not answer yet. It
// says so with status 501 and computes nothing.
const notBuilt app.Kind = "not-built"

func pending(what string) error { return refuse(notBuilt, "%s is not in this version yet", what) }

// CalculateRollLife is not built yet.
func (s *Server) CalculateRollLife(context.Context, oapi.CalculateRollLifeRequestObject) (oapi.CalculateRollLifeResponseObject, error) {
	return nil, pending("the life of a roll")
}

// CalculateWearRate is not built yet.
func (s *Server) CalculateWearRate(context.Context, oapi.CalculateWearRateRequestObject) (oapi.CalculateWearRateResponseObject, error) {
	return nil, pending("learning of wear rates")
}
