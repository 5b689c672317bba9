package app

import (
	"time"

	"barrelbook/domain/roll"
)

// monthAgo makes the forecast of the roll's life again as of a month ago, from
// the regrinds up to then. Nil where the roll was not there, or past its limit.
func (o *outlook) monthAgo(row RollRow) (*PastForecast, error) {
	then := o.now.AddDate(0, -1, 0)
	book, err := o.r.Book(row.State.Roll.Number)
	if err != nil {
		return nil, err
	}
	s, err := roll.ReplayUntil(book, then)
	if err != nil {
		return nil, bookError(err)
	}
	if s.Stage == "" || mayForecast(s) != nil {
		return nil, nil
	}
	past := &outlook{class: o.class, r: o.r, now: then}
	past.k.rows, past.k.past = o.knownThen(s, then)
	past.k.habits = o.habits(past.k.rows)
	if err := o.learnAll(past.k.rows, &past.k.rates); err != nil {
		return nil, err
	}
	f, err := past.life(s)
	if err != nil {
		return nil, err
	}
	l := f.Life
	return &PastForecast{At: then, StockLeft: s.StockLeft(), Campaigns: l.Campaigns, Dates: l.Dates, Scrap: l.Scrap}, nil
}

// knownThen is the regrinds up to a moment that speak for a roll: those of its
// grade in the stands it goes round, or in all where these are few. To learn from
// the whole works again would take a second in a large one.
func (o *outlook) knownThen(s roll.State, then time.Time) ([]GrindRow, map[string][]GrindRow) {
	number := s.Roll.Number
	own := map[string][]GrindRow{}
	for _, g := range o.k.past[number] {
		if !g.At.After(then) {
			own[number] = append(own[number], g)
		}
	}
	rounds := (&outlook{class: o.class, k: knowledge{past: own}}).rounds(s)
	var near, all []GrindRow
	for _, g := range o.k.rows {
		if g.Grade != s.Roll.Grade || g.Role != s.Roll.Role || g.At.After(then) {
			continue
		}
		all = append(all, g)
		if rounds[g.Stand()] > 0 || g.Roll == number {
			near = append(near, g)
		}
	}
	const few = 50
	if len(near) < few {
		return all, own
	}
	return near, own
}
