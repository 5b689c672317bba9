package record

import (
	"context"
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/purchase"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// ClaimView is a claim with whether the warranty stood.
type ClaimView struct {
	port.ClaimRow
	Warranty purchase.Cover
}

// Claims lists claims, newest first.
func (a *Recorder) Claims(ctx context.Context, f port.ClaimFilter, p port.Page) (views []ClaimView, next string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		rows, after, err := r.Claims(f, p)
		if err != nil {
			return err
		}
		next = after
		for _, row := range rows {
			v, err := claimView(r, row)
			if err != nil {
				return err
			}
			views = append(views, v)
		}
		return nil
	})
	return views, next, err
}

// claimView holds what the roll had borne against the warranty of the order it came
// with.
func claimView(r port.Reader, row port.ClaimRow) (ClaimView, error) {
	v := ClaimView{ClaimRow: row, Warranty: purchase.NotKnown}
	of, err := r.Roll(row.Roll)
	if err != nil {
		return v, err
	}
	orders, err := port.Drain(func(p port.Page) ([]port.OrderRow, string, error) {
		return r.Orders(port.OrderFilter{Mill: of.State.Mill}, p)
	})
	for _, o := range orders {
		if slices.Contains(o.Arrived, row.Roll) {
			ended := row.MadeAt
			if of.State.Stage == roll.StageScrapped && of.State.ScrappedAt.Before(ended) {
				ended = of.State.ScrappedAt
			}
			v.Warranty = o.Warranty.Covers(of.Totals.TonnageT, of.Totals.RolledKM, ended.Sub(of.State.ReceivedAt))
		}
	}
	return v, err
}

// MakeClaim keeps a claim on the supplier of a roll. NotFound without a book of the
// roll; Impossible for more money than the roll cost.
func (a *Recorder) MakeClaim(ctx context.Context, call port.Call, c purchase.Claim) (ClaimView, error) {
	return record(ctx, a, call, "made a claim for roll "+c.Roll, func(w port.Writer, now time.Time) (ClaimView, error) {
		of, err := w.Roll(c.Roll)
		if err != nil {
			return ClaimView{}, err
		}
		if c.MadeAt, err = resolveMoment(c.MadeAt, now); err != nil {
			return ClaimView{}, err
		}
		if c.Name == "" {
			c.Name = a.ids.Name("claim")
		}
		c.Supplier, c.By = of.State.Roll.Supplier, call.Actor
		if err := c.Check(of.State.Roll.Price); err != nil {
			return ClaimView{}, port.Refused(err)
		}
		row := port.ClaimRow{Claim: c, Version: 1}
		if err := w.CreateClaim(row); err != nil {
			return ClaimView{}, err
		}
		return claimView(w, row)
	})
}

// SettleClaim notes what the supplier gave back. Conflicting when it was settled
// before.
func (a *Recorder) SettleClaim(ctx context.Context, call port.Call, name string, credited int64, at time.Time, note string) (ClaimView, error) {
	return record(ctx, a, call, "settled claim "+name, func(w port.Writer, now time.Time) (ClaimView, error) {
		row, err := w.Claim(name)
		if err != nil {
			return ClaimView{}, err
		}
		if !row.SettledAt.IsZero() {
			return ClaimView{}, port.Fail(port.Conflicting, "claim %s was settled on %s; make another claim for what is still owed", name, row.SettledAt.Format(time.DateOnly))
		}
		of, err := w.Roll(row.Roll)
		if err != nil {
			return ClaimView{}, err
		}
		if row.SettledAt, err = resolveMoment(at, now); err != nil {
			return ClaimView{}, err
		}
		if row.SettledAt.Before(row.MadeAt) {
			return ClaimView{}, port.Refused(refusal.One("at", port.Moment(row.SettledAt), "is before the claim was made, "+port.Moment(row.MadeAt), ""))
		}
		if row.Credited = credited; note != "" {
			row.Note = note
		}
		if err := row.Check(of.State.Roll.Price); err != nil {
			return ClaimView{}, port.Refused(err)
		}
		if err := w.ReplaceClaim(row); err != nil {
			return ClaimView{}, err
		}
		row.Version++
		return claimView(w, row)
	})
}
