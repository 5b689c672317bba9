package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/purchase"
)

// ListOrders lists orders by the day they are due.
func (s *Server) ListOrders(ctx context.Context, r oapi.ListOrdersRequestObject) (oapi.ListOrdersResponseObject, error) {
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Orders(ctx, port.OrderFilter{Mill: given(r.Params.Mill), Open: given(r.Params.Open)}, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListOrders200JSONResponse{Items: each(items, orderToWire), Next: nextOf(ctx, next)}, nil
}

// GetOrder shows an order.
func (s *Server) GetOrder(ctx context.Context, r oapi.GetOrderRequestObject) (oapi.GetOrderResponseObject, error) {
	o, err := s.app.Order(ctx, r.Order)
	if err != nil {
		return nil, err
	}
	return oapi.GetOrder200JSONResponse(orderToWire(o)), nil
}

// PlaceOrder keeps an order.
func (s *Server) PlaceOrder(ctx context.Context, r oapi.PlaceOrderRequestObject) (oapi.PlaceOrderResponseObject, error) {
	in, err := orderFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	o, err := s.app.PlaceOrder(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), in)
	if err != nil {
		return nil, err
	}
	location := "/v1/orders/" + o.Name
	return oapi.PlaceOrder201JSONResponse{Body: orderToWire(o), Headers: oapi.PlaceOrder201ResponseHeaders{Location: &location}}, nil
}

// RecordArrival says which rolls came.
func (s *Server) RecordArrival(ctx context.Context, r oapi.RecordArrivalRequestObject) (oapi.RecordArrivalResponseObject, error) {
	o, err := s.app.RecordArrival(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Order, r.Body.Rolls)
	if err != nil {
		return nil, err
	}
	return oapi.RecordArrival201JSONResponse(orderToWire(o)), nil
}

// MoveOrder gives an order another due date.
func (s *Server) MoveOrder(ctx context.Context, r oapi.MoveOrderRequestObject) (oapi.MoveOrderResponseObject, error) {
	o, err := s.app.MoveOrder(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Order, r.Body.DueAt, given(r.Body.Note))
	if err != nil {
		return nil, err
	}
	return oapi.MoveOrder201JSONResponse(orderToWire(o)), nil
}

// CloseOrder ends an order.
func (s *Server) CloseOrder(ctx context.Context, r oapi.CloseOrderRequestObject) (oapi.CloseOrderResponseObject, error) {
	o, err := s.app.CloseOrder(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), r.Order, given(r.Body.At), r.Body.Reason)
	if err != nil {
		return nil, err
	}
	return oapi.CloseOrder201JSONResponse(orderToWire(o)), nil
}

func orderFromWire(w oapi.OrderInput) (purchase.Order, error) {
	var l lengths
	o := purchase.Order{Name: given(w.Name), Mill: w.Mill, Role: mill.Role(w.Role), Stands: given(w.Stands), Grade: given(w.Grade), Supplier: given(w.Supplier), Rolls: int(w.RollCount),
		NewDiameter: l.mmOr("new_diameter_mm", w.NewDiameterMm), ScrapDiameter: l.mmOr("scrap_diameter_mm", w.ScrapDiameterMm), MassKG: given(w.MassKg), Price: given(w.Price),
		OrderedAt: given(w.OrderedAt), DueAt: w.DueAt.UTC(), Warranty: warrantyFromWire(given(w.Warranty)), Note: given(w.Note)}
	return o, l.err()
}

func warrantyFromWire(w oapi.Warranty) purchase.Warranty {
	return purchase.Warranty{TonnageT: given(w.TonnageT), RolledKM: given(w.RolledKm), Months: given(w.Months)}
}

func warrantyToWire(w purchase.Warranty) *oapi.Warranty {
	if w == (purchase.Warranty{}) {
		return nil
	}
	return &oapi.Warranty{TonnageT: optional(w.TonnageT), RolledKm: optional(w.RolledKM), Months: optional(w.Months)}
}

func orderToWire(v record.OrderView) oapi.Order {
	w := oapi.Order{Name: v.Name, Mill: v.Mill, Role: oapi.Role(v.Role), Stands: some(v.Stands), Grade: optional(v.Grade), Supplier: optional(v.Supplier), RollCount: int64(v.Rolls), ToComeCount: int64(v.ToCome()),
		NewDiameterMm: optional(v.NewDiameter.MM()), ScrapDiameterMm: optional(v.ScrapDiameter.MM()), MassKg: optional(v.MassKG), Price: optional(v.Price),
		OrderedAt: v.OrderedAt.UTC(), DueAt: v.DueAt.UTC(), Late: v.Late, Warranty: warrantyToWire(v.Warranty), Arrived: some(v.Arrived), ClosedWhy: optional(v.ClosedWhy), By: optional(v.By), Note: optional(v.Note), Version: v.Version}
	if perKG, known := v.PricePerKG(); known {
		w.PricePerKg = &perKG
	}
	if perMM, known := v.PricePerMM(); known {
		w.PricePerMm = &perMM
	}
	if !v.ClosedAt.IsZero() {
		at := v.ClosedAt.UTC()
		w.ClosedAt = &at
	}
	return w
}
