package plan

import (
	"maps"
	"slices"
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
	var stands []string
	past.k.Rows, past.k.Past, stands = o.knownThen(s, then)
	past.k.Habits = o.Habits(past.k.Rows)
	past.k.Turns = o.k.Turns
	past.k.Rates, err = o.r.WearRatesThen(then, port.RatesOf{Mill: s.Mill, Role: s.Roll.Role, Grade: s.Roll.Grade, Stands: stands})
	if err != nil && !port.IsKind(err, port.NotFound) {
		return nil, err
	}
	f, err := past.life(s)
	if err != nil {
		return nil, err
	}
	l := f.Life
	return &PastForecast{At: then, StockLeft: s.StockLeft(), Campaigns: l.Campaigns, Dates: l.Dates && !l.Beyond, Scrap: l.Scrap}, nil
}

// pastKept is how many regrinds before a moment its habits are read from.
const pastKept = 400

// knownThen is the last regrinds up to a moment that speak for a roll: its own, and
// those of its grade in the stands it goes round, or in all where these are few; and
// those stands. Rates are taken as they were kept then, not learned again.
func (o *Outlook) knownThen(s roll.State, then time.Time) (rows []port.GrindRow, past map[string][]port.GrindRow, stands []string) {
	number := s.Roll.Number
	past = map[string][]port.GrindRow{}
	for _, g := range o.k.Past[number] {
		if !g.At.After(then) {
			past[number] = append(past[number], g)
		}
	}
	standShares := (&Outlook{Basis: o.Basis, k: learn.Knowledge{Past: past}}).standShares(s)
	var near, all []port.GrindRow
	for i := len(o.k.Rows) - 1; i >= 0 && len(near) < pastKept; i-- {
		g := o.k.Rows[i]
		if g.Grade != s.Roll.Grade || g.Role != s.Roll.Role || g.At.After(then) {
			continue
		}
		if len(all) < pastKept {
			all = append(all, g)
		}
		if standShares[g.Stand()] > 0 || g.Roll == number {
			near = append(near, g)
		}
	}
	const few = 50
	if len(near) < few {
		near = all
	}
	slices.Reverse(near)
	return near, past, slices.Sorted(maps.Keys(standShares))
}
