package plan

import (
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/roll"
)

// monthAgo makes the forecast of the roll's life again as of a month ago, from
// the regrinds up to then. Nil where the roll was not there, or past its limit.
func (o *Outlook) monthAgo(row port.RollRow) (*PastForecast, error) {
	then := o.now.AddDate(0, -1, 0)
	book, err := o.r.Book(row.State.Roll.Number)
	if err != nil {
		return nil, err
	}
	s, err := roll.ReplayUntil(book, then)
	if err != nil {
		return nil, port.BookError(err)
	}
	if s.Stage == "" || mayForecast(s) != nil {
		return nil, nil
	}
	past := &Outlook{Basis: o.Basis, r: o.r, now: then}
	past.k.Rows, past.k.Past = o.knownThen(s, then)
	past.k.Habits = o.Habits(past.k.Rows)
	past.k.Turns = o.k.Turns
	if past.k.Rates, err = o.LearnThen(past.k.Rows); err != nil {
		return nil, err
	}
	f, err := past.life(s)
	if err != nil {
		return nil, err
	}
	l := f.Life
	return &PastForecast{At: then, StockLeft: s.StockLeft(), Campaigns: l.Campaigns, Dates: l.Dates && !l.Beyond, Scrap: l.Scrap}, nil
}

// knownThen is the regrinds up to a moment that speak for a roll: those of its
// grade in the stands it goes round, or in all where these are few. To learn from
// the whole works again would take a second in a large one.
func (o *Outlook) knownThen(s roll.State, then time.Time) ([]port.GrindRow, map[string][]port.GrindRow) {
	number := s.Roll.Number
	own := map[string][]port.GrindRow{}
	for _, g := range o.k.Past[number] {
		if !g.At.After(then) {
			own[number] = append(own[number], g)
		}
	}
	standShares := (&Outlook{Basis: o.Basis, k: learn.Knowledge{Past: own}}).standShares(s)
	var near, all []port.GrindRow
	for _, g := range o.k.Rows {
		if g.Grade != s.Roll.Grade || g.Role != s.Roll.Role || g.At.After(then) {
			continue
		}
		all = append(all, g)
		if standShares[g.Stand()] > 0 || g.Roll == number {
			near = append(near, g)
		}
	}
	const few = 50
	if len(near) < few {
		return all, own
	}
	return near, own
}
