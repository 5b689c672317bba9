package record

import (
	"context"
	"strconv"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

// Campaigns lists the campaigns of a mill, or of all, newest first.
func (a *Recorder) Campaigns(ctx context.Context, millName string, p port.Page) (items []port.ProgrammeSummary, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		items, next, err = r.Campaigns(millName, p)
		return err
	})
	return items, next, err
}

// Campaign shows a campaign with its pieces. NotFound when there is none of
// the name.
func (a *Recorder) Campaign(ctx context.Context, name string) (c port.ProgrammeRow, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		c, err = r.Campaign(name)
		return err
	})
	return c, err
}

// LoadCampaign keeps a programme. Conflicting when the name is taken;
// Impossible when it is empty, a piece cannot be rolled in the mill, a piece is
// named twice or a planned stop lies beyond the programme. The answer is no echo
// of the pieces: whoever loads a programme has them.
func (a *Recorder) LoadCampaign(ctx context.Context, call port.Call, programme mill.Programme) (port.ProgrammeSummary, error) {
	summary, err := record(ctx, a, call, "loaded a campaign of "+programme.Mill, func(w port.Writer, now time.Time) (port.ProgrammeSummary, error) {
		if programme.Name == "" {
			programme.Name = a.ids.Name("campaign")
		}
		if programme.StartsAt.IsZero() {
			programme.StartsAt = now
		}
		if programme.MinutesPerPiece == 0 {
			programme.MinutesPerPiece = mill.DefaultMinutesPerPiece
		}
		if err := checkProgramme(w, &programme); err != nil {
			return port.ProgrammeSummary{}, err
		}
		row := port.ProgrammeRow{Programme: programme, LoadedBy: call.Actor}
		return row.Summary(), w.CreateCampaign(row)
	})
	a.Changed.Store(a.Changed.Load() || err == nil && !call.DryRun)
	return summary, err
}

func checkProgramme(r port.Reader, p *mill.Programme) error {
	var c refusal.Check
	var of mill.Mill
	if err := checkKnown(&c, "mill", p.Mill, func() (err error) { of, err = r.Mill(p.Mill); return err }); err != nil {
		return err
	}
	if err := c.Err(); err != nil {
		return port.Refused(err)
	}
	list, err := port.Drain(func(page port.Page) ([]mill.Stand, string, error) { return r.Stands(p.Mill, page) })
	if err != nil {
		return err
	}
	stands := map[string]mill.Stand{}
	for _, s := range list {
		stands[s.Name] = s
	}
	if err := p.Check(stands); err != nil {
		return port.Refused(err)
	}
	for i, piece := range p.Pieces {
		for _, f := range refusal.FieldsOf(piece.CheckKind(of.Kind)) {
			c.Add("pieces/"+strconv.Itoa(i)+"/"+f.Path, f.Value, f.Limit, f.Do)
		}
	}
	return port.Refused(c.Err())
}
