package rest

import (
	"context"
	"encoding/json"

	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
)

// ListPractices lists the practices in force.
func (s *Server) ListPractices(ctx context.Context, r oapi.ListPracticesRequestObject) (oapi.ListPracticesResponseObject, error) {
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	items, next, err := s.app.Practices(ctx, page)
	if err != nil {
		return nil, err
	}
	out := oapi.ListPractices200JSONResponse{Items: make([]oapi.Practice, len(items)), Next: nextOf(ctx, next)}
	for i, p := range items {
		if out.Items[i], err = practiceToWire(p); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// GetPractice shows the current version of a practice.
func (s *Server) GetPractice(ctx context.Context, r oapi.GetPracticeRequestObject) (oapi.GetPracticeResponseObject, error) {
	p, err := s.app.Practice(ctx, r.Practice)
	if err != nil {
		return nil, err
	}
	body, err := practiceToWire(p)
	return oapi.GetPractice200JSONResponse{Body: body, Headers: oapi.GetPractice200ResponseHeaders{ETag: etag(p.Version)}}, err
}

// CreatePractice keeps the first version of a practice.
func (s *Server) CreatePractice(ctx context.Context, r oapi.CreatePracticeRequestObject) (oapi.CreatePracticeResponseObject, error) {
	in, err := practiceFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	p, err := s.app.CreatePractice(ctx, call(ctx, r.Params.IdempotencyKey, nil), in)
	if err != nil {
		return nil, err
	}
	body, err := practiceToWire(p)
	return oapi.CreatePractice201JSONResponse{Body: body, Headers: oapi.CreatePractice201ResponseHeaders{ETag: etag(p.Version)}}, err
}

// ReplacePractice keeps a new version of a practice.
func (s *Server) ReplacePractice(ctx context.Context, r oapi.ReplacePracticeRequestObject) (oapi.ReplacePracticeResponseObject, error) {
	call, err := callOnRequired(ctx, nil, nil, r.Params.IfMatch)
	if err != nil {
		return nil, err
	}
	if r.Body.Name != r.Practice {
		return nil, refusal.One("name", r.Body.Name, "must be "+r.Practice+", as in the path", "a practice keeps its name")
	}
	in, err := practiceFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	p, err := s.app.ReplacePractice(ctx, call, in)
	if err != nil {
		return nil, err
	}
	body, err := practiceToWire(p)
	return oapi.ReplacePractice200JSONResponse{Body: body, Headers: oapi.ReplacePractice200ResponseHeaders{ETag: etag(p.Version)}}, err
}

// practiceFromWire goes through JSON, because a setting's key in the domain is
// its field in the contract: a new setting needs no line here.
func practiceFromWire(w oapi.Practice) (practice.Practice, error) {
	p := practice.Practice{Name: w.Name, Values: map[practice.Key]float64{},
		Scope: practice.Scope{Mill: given(w.Scope.Mill), Stand: given(w.Scope.Stand), Role: text[mill.Role](w.Scope.Role), Grade: given(w.Scope.Grade), Material: given(w.Scope.Material)}}
	values, err := json.Marshal(w.Values)
	if err != nil {
		return p, err
	}
	return p, json.Unmarshal(values, &p.Values)
}

func practiceToWire(p practice.Practice) (oapi.Practice, error) {
	w := oapi.Practice{Name: p.Name, Version: optional(p.Version),
		Scope: oapi.PracticeScope{Mill: optional(p.Scope.Mill), Stand: optional(p.Scope.Stand), Role: word[oapi.Role](p.Scope.Role), Grade: optional(p.Scope.Grade), Material: optional(p.Scope.Material)}}
	values, err := json.Marshal(p.Values)
	if err != nil {
		return w, err
	}
	return w, json.Unmarshal(values, &w.Values)
}
