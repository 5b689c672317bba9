package rest

import (
	"context"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
	"barrelbook/domain/mill"
)

// ListCampaigns lists campaigns without their pieces, newest first.
func (s *Server) ListCampaigns(ctx context.Context, r oapi.ListCampaignsRequestObject) (oapi.ListCampaignsResponseObject, error) {
	page, err := changedPage(ctx, r.Params.Limit, r.Params.Cursor, r.Params.ChangedSince)
	if err != nil {
		return nil, err
	}
	page.Sort = text[port.Sort](r.Params.Sort)
	items, next, err := s.app.Campaigns(ctx, given(r.Params.Mill), page)
	if err != nil {
		return nil, err
	}
	return oapi.ListCampaigns200JSONResponse{Items: each(items, campaignSummaryToWire), Next: nextOf(ctx, next)}, nil
}

// GetCampaign shows a campaign with its pieces.
func (s *Server) GetCampaign(ctx context.Context, r oapi.GetCampaignRequestObject) (oapi.GetCampaignResponseObject, error) {
	c, err := s.app.Campaign(ctx, r.Campaign)
	if err != nil {
		return nil, err
	}
	return oapi.GetCampaign200JSONResponse(campaignToWire(c)), nil
}

// LoadCampaign keeps a programme.
func (s *Server) LoadCampaign(ctx context.Context, r oapi.LoadCampaignRequestObject) (oapi.LoadCampaignResponseObject, error) {
	c, err := s.app.LoadCampaign(ctx, call(ctx, r.Params.IdempotencyKey, r.Params.DryRun), programmeFromWire(*r.Body))
	if err != nil {
		return nil, err
	}
	location := "/v1/campaigns/" + c.Name
	return oapi.LoadCampaign201JSONResponse{Body: campaignSummaryToWire(c), Headers: oapi.LoadCampaign201ResponseHeaders{Location: &location}}, nil
}

func programmeFromWire(w oapi.CampaignInput) mill.Programme {
	p := mill.Programme{Name: given(w.Name), Mill: w.Mill, StartsAt: given(w.StartsAt), MinutesPerPiece: given(w.MinutesPerPiece),
		Stops: each(given(w.PlannedStops), func(s oapi.PlannedStop) mill.PlannedStop {
			return mill.PlannedStop{BeforePiece: int(s.BeforePiece), Name: given(s.Name), Minutes: given(s.Minutes)}
		}),
		Pieces: each(w.Pieces, func(piece oapi.ProgrammePiece) mill.Piece {
			return mill.Piece{ID: piece.Id, Mill: w.Mill, Material: given(piece.Material), Block: given(piece.Block), Demand: demandFromWire(piece.Demand), MassT: piece.MassT, WidthMM: piece.WidthMm,
				EntryThicknessMM: piece.EntryThicknessMm, Passes: each(piece.Passes, passFromWire)}
		})}
	return p
}

// demandFromWire: ordinary is what a piece is that says nothing.
func demandFromWire(w *oapi.ProgrammePieceDemand) mill.Demand {
	if d := mill.Demand(given(w)); d == mill.WarmUp || d == mill.Demanding {
		return d
	}
	return ""
}

func campaignSummaryToWire(c port.ProgrammeSummary) oapi.Campaign {
	return oapi.Campaign{Name: c.Name, Mill: c.Mill, StartsAt: c.StartsAt.UTC(), MinutesPerPiece: optional(c.MinutesPerPiece), PieceCount: c.Pieces, TonnageT: c.TonnageT,
		PlannedStops: each(c.Stops, stopToWire), LoadedBy: optional(c.LoadedBy)}
}

func campaignToWire(c port.ProgrammeRow) oapi.Campaign {
	w := campaignSummaryToWire(c.Summary())
	pieces := each(c.Pieces, func(p mill.Piece) oapi.ProgrammePiece {
		return oapi.ProgrammePiece{Id: p.ID, Material: optional(p.Material), Block: optional(p.Block), Demand: word[oapi.ProgrammePieceDemand](p.Demand), MassT: p.MassT, WidthMm: p.WidthMM,
			EntryThicknessMm: p.EntryThicknessMM, Passes: each(p.Passes, passToWire)}
	})
	w.Pieces = &pieces
	return w
}

func stopToWire(s mill.PlannedStop) oapi.PlannedStop {
	return oapi.PlannedStop{BeforePiece: int64(s.BeforePiece), Name: optional(s.Name), Minutes: optional(s.Minutes)}
}
