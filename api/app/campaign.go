package app

import (
	"context"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

// DefaultMinutesPerPiece is the rolling rhythm taken where none is given.
const DefaultMinutesPerPiece = 2.5

// Campaigns lists the campaigns of a mill, or of all, newest first.
func (a *App) Campaigns(ctx context.Context, millName string, p Page) (items []CampaignSummary, next string, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		items, next, err = r.Campaigns(millName, p)
		return err
	})
	return items, next, err
}

// Campaign shows a campaign with its pieces. NotFound when there is none of
// the name.
func (a *App) Campaign(ctx context.Context, name string) (c CampaignRow, err error) {
	err = a.store.Read(ctx, func(r Reader) error {
		c, err = r.Campaign(name)
		return err
	})
	return c, err
}

// LoadCampaign keeps a programme. Conflicting when the name is taken;
// Impossible when it is empty, a piece cannot be rolled in the mill, a piece is
// named twice or a planned stop lies beyond the programme.
func (a *App) LoadCampaign(ctx context.Context, call Call, programme mill.Programme) (CampaignRow, error) {
	return record(ctx, a, call, "loaded a campaign of "+programme.Mill, func(w Writer, now time.Time) (CampaignRow, error) {
		if programme.Name == "" {
			programme.Name = a.ids.Name("campaign")
		}
		if programme.StartsAt.IsZero() {
			programme.StartsAt = now
		}
		if programme.MinutesPerPiece == 0 {
			programme.MinutesPerPiece = DefaultMinutesPerPiece
		}
		if err := checkProgramme(w, &programme); err != nil {
			return CampaignRow{}, err
		}
		row := CampaignRow{Programme: programme, LoadedBy: call.Actor}
		return row, w.CreateCampaign(row)
	})
}

func checkProgramme(r Reader, p *mill.Programme) error {
	var c refusal.Check
	var of mill.Mill
	if err := known(&c, "mill", p.Mill, func() (err error) { of, err = r.Mill(p.Mill); return err }); err != nil {
		return err
	}
	if err := c.Err(); err != nil {
		return impossible(err)
	}
	list, err := drain(func(page Page) ([]mill.Stand, string, error) { return r.Stands(p.Mill, page) })
	if err != nil {
		return err
	}
	stands := map[string]mill.Stand{}
	for _, s := range list {
		stands[s.Name] = s
	}
	if err := p.Check(stands); err != nil {
		return impossible(err)
	}
	for i, piece := range p.Pieces {
		for _, f := range refusal.FieldsOf(piece.CheckKind(of.Kind)) {
			c.Add("pieces/"+itoa(i)+"/"+f.Path, f.Value, f.Limit, f.Do)
		}
	}
	return impossible(c.Err())
}

// PieceTime is when a piece of the programme is expected to be rolled, planned
// stops before it included. number is from 1.
func PieceTime(p mill.Programme, number int) time.Time {
	minutes := float64(number-1) * p.MinutesPerPiece
	for _, s := range p.Stops {
		if s.BeforePiece <= number {
			minutes += s.Minutes
		}
	}
	return p.StartsAt.Add(time.Duration(minutes * float64(time.Minute)))
}
