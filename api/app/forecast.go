package app

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// forecastModel names the models a forecast comes from.
const forecastModel = "roll-forecast 1: learned wear rate, lattice of remaining stock, rhythm of past cycles"

// RollForecast is what is ahead of a roll.
type RollForecast struct {
	Roll      string
	AskedAt   time.Time
	Model     string
	Grade     string
	Stand     string // whose rates and habits it is made with; empty for all of its grade
	Mounted   bool
	StockLeft quantity.Micrometre
	ScrapAt   quantity.Micrometre
	LimitedBy string
	Rate      *WearRate // nil where the wear measured is taken
	Habit     string    // what the shop's habit was learned from
	Change    forecast.Change
	Life      forecast.Life
	OrderBy   time.Time // zero without dates
	Delivery  practice.Value
	// MonthAgo is the same forecast made from what was known then.
	MonthAgo *PastForecast
	Cautions []string
	Notes    []string

	mounting *MountingRow
	practice practice.InForce
	habit    forecast.Habit
}

// PastForecast is what would have been forecast at a past moment.
type PastForecast struct {
	At        time.Time
	StockLeft quantity.Micrometre
	Campaigns forecast.Quantiles
	Dates     bool
	Scrap     forecast.Dates
}

// ForecastRoll says what is ahead of a roll and keeps the answer to be scored.
// NotFound for an unknown roll; Conflicting for one that is scrapped or below
// its limit.
func (a *App) ForecastRoll(ctx context.Context, call Call, number string) (RollForecast, error) {
	k, err := a.known(ctx)
	if err != nil {
		return RollForecast{}, err
	}
	var f RollForecast
	err = a.store.Read(ctx, func(r Reader) error {
		row, err := r.Roll(number)
		if err != nil {
			return err
		}
		o, err := newOutlook(r, k, a.clock.Now())
		if err != nil {
			return err
		}
		if f, err = o.roll(row); err != nil {
			return err
		}
		f.MonthAgo, err = o.monthAgo(row)
		return err
	})
	if err != nil {
		return RollForecast{}, err
	}
	return f, a.store.Write(ctx, func(w Writer) error { return w.KeepForecasts(f.kept(call)) })
}

// outlook is what the forecasts of all rolls have in common.
type outlook struct {
	*class
	r   Reader
	k   knowledge
	now time.Time
}

func newOutlook(r Reader, k knowledge, now time.Time) (*outlook, error) {
	c, err := newClass(r)
	if err != nil {
		return nil, err
	}
	return &outlook{class: c, r: r, k: k, now: now}, nil
}

// byRoll sorts regrinds by roll. Within a roll ids follow the order of happening:
// rewritten ones are all written anew, but for those a late piece renewed.
func byRoll(rows []GrindRow) map[string][]GrindRow {
	past := map[string][]GrindRow{}
	for _, g := range rows {
		list := past[g.Roll]
		i := len(list)
		for i > 0 && list[i-1].At.After(g.At) {
			i--
		}
		list = append(list, GrindRow{})
		copy(list[i+1:], list[i:])
		list[i] = g
		past[g.Roll] = list
	}
	return past
}

// rounds is where a roll does its work: the shares of the stands in its last ten
// campaigns, the one it is in or may serve alone before it has any. Nearly all in
// one stand counts as all.
func (o *outlook) rounds(s roll.State) map[string]float64 {
	grinds := o.k.past[s.Roll.Number]
	shares, all := map[string]float64{}, 0.0
	for i := len(grinds) - 1; i >= 0 && all < 10; i-- {
		for _, u := range grinds[i].Uses {
			shares[u.Stand]++
			all++
		}
	}
	switch {
	case all > 0:
	case s.Stand != "":
		return map[string]float64{s.Stand: 1}
	case len(s.Stands) == 1:
		return map[string]float64{s.Stands[0]: 1}
	}
	for stand := range shares {
		if shares[stand] /= all; shares[stand] >= 0.8 {
			return map[string]float64{stand: 1}
		}
	}
	return shares
}

// roll forecasts one roll.
func (o *outlook) roll(row RollRow) (RollForecast, error) {
	s := row.State
	if err := mayForecast(s); err != nil {
		return RollForecast{}, err
	}
	f, err := o.life(s)
	if err != nil {
		return f, err
	}
	f.Delivery = f.practice.Value(practice.DeliveryDays)
	if f.Life.Dates {
		f.OrderBy = f.Life.Scrap.P10.Add(-time.Duration(f.Delivery.Number * 24 * float64(time.Hour)))
	}
	return f, o.change(&f, s)
}

// life forecasts what is left of a roll. It reads nothing from the store, so that
// a fleet can be forecast on several processors.
func (o *outlook) life(s roll.State) (RollForecast, error) {
	f := RollForecast{Roll: s.Roll.Number, AskedAt: o.now, Model: forecastModel, Grade: s.Roll.Grade, Mounted: s.Stage == roll.StageMounted,
		StockLeft: s.StockLeft(), Cautions: []string{cautionLimits}, practice: practice.Resolve(o.practices, caseOf(s))}
	f.ScrapAt, f.LimitedBy = s.ScrapLimit()
	rounds := o.rounds(s)
	if len(rounds) == 1 {
		f.Stand = sortedKeys(rounds)[0]
	}
	f.habit = o.habitIn(s, f.Stand)
	f.Habit = f.habit.Source
	in := forecast.LifeInput{Stock: f.StockLeft, Habit: f.habit, Now: o.now, LastGrind: groundAt(s), OwnDays: ownDays(o.k.past[s.Roll.Number])}
	if len(rounds) > 0 {
		rate := o.rateOver(s, rounds)
		f.Rate = &rate
		in.Rate = forecast.Rate{MeanUMPerKM: rate.UMPerKM, SDUMPerKM: rate.SD}
	}
	if f.Stand != "" {
		f.practice = practice.Resolve(o.practices, caseIn(s, o.stand(f.Stand)))
	}
	var err error
	f.Life, err = forecast.Remaining(in)
	f.Notes = append(f.Notes, f.Life.Notes...)
	return f, impossible(err)
}

// stand is as much of a stand as rates and practices are looked up by.
func (o *outlook) stand(name string) mill.Stand { return mill.Stand{Name: name, Mill: o.millOf[name]} }

func (o *outlook) habitIn(s roll.State, stand string) forecast.Habit {
	return o.k.habitsOf(course{s.Mill, s.Roll.Role}, o.class).Of(s.Roll.Grade, stand, s.Roll.Role)
}

// rateOver is the wear rate of a roll over the stands it goes round, each by its
// share and the exposure that is usual there. The doubts of the stands' rates are
// taken as independent.
func (o *outlook) rateOver(s roll.State, rounds map[string]float64) WearRate {
	var mix WearRate
	var weights, variance float64
	for _, name := range sortedKeys(rounds) {
		one := o.k.rates.Of(s, o.stand(name), practice.Resolve(o.practices, caseIn(s, o.stand(name))))
		if len(rounds) == 1 {
			return one
		}
		w := rounds[name]
		if x := o.habitIn(s, name).ExposureKM.Mean; x > 0 {
			w *= x
		}
		weights += w
		mix.UMPerKM += w * one.UMPerKM
		variance += w * w * one.SD * one.SD
		mix.Version = max(mix.Version, one.Version)
		if mix.Source != "" {
			mix.Source += "; "
		}
		mix.Source += fmt.Sprintf("%.0f %% %s: %s", 100*rounds[name], name, one.Source)
	}
	mix.UMPerKM, mix.SD = mix.UMPerKM/weights, math.Sqrt(variance)/weights
	if mix.UMPerKM > 0 {
		mix.OwnCV = mix.SD / mix.UMPerKM
	}
	return mix
}

func mayForecast(s roll.State) error {
	if s.Stage == roll.StageScrapped {
		return fail(Conflicting, "roll %s is scrapped; there is nothing ahead of it", s.Roll.Number)
	}
	if s.StockLeft() < 0 {
		_, name := s.ScrapLimit()
		return fail(Conflicting, "roll %s is %s below its limit (%s); scrap it: barrelbook roll scrap %s", s.Roll.Number, -s.StockLeft(), name, s.Roll.Number)
	}
	return nil
}

func groundAt(s roll.State) time.Time {
	if s.GroundAt.IsZero() {
		return s.ReceivedAt
	}
	return s.GroundAt
}

func ownDays(grinds []GrindRow) []float64 {
	var days []float64
	for _, g := range grinds {
		if g.For != roll.ForIncoming {
			days = append(days, g.At.Sub(g.Since).Hours()/24)
		}
	}
	return days
}

// change forecasts the end of the campaign the roll is in, or of its next.
func (o *outlook) change(f *RollForecast, s roll.State) error {
	habit, p, rate := f.habit, f.practice, f.Rate
	if s.Stand != "" && s.Stand != f.Stand {
		// The campaign is rolled where the roll is now, wherever it goes otherwise.
		habit, p = o.habitIn(s, s.Stand), practice.Resolve(o.practices, caseIn(s, o.stand(s.Stand)))
		here := o.k.rates.Of(s, o.stand(s.Stand), p)
		rate = &here
	}
	in := forecast.ChangeInput{Now: o.now, In: f.Mounted, MaxT: p.Number(practice.MaxCampaignT), MaxKM: p.Number(practice.MaxCampaignKM),
		MaxWearUM: p.Number(practice.MaxWearUM), PastT: habit.CampaignT, PerDay: habit.TonnagePerDay}
	if habit.TonnageT.Mean > 0 {
		in.KMPerT = habit.RolledKM.Mean / habit.TonnageT.Mean
	}
	booked := 1.0 // what the wear booked along the barrel is to be multiplied with
	if rate != nil && rate.UMPerKM > 0 {
		in.RateCV = math.Hypot(rate.OwnCV, rate.SharedCV)
		if habit.TonnageT.Mean > 0 {
			in.WearUMPerT = rate.UMPerKM * p.Number(practice.EdgeWearFactor) * habit.ExposureKM.Mean / habit.TonnageT.Mean
		}
		booked = rate.overBooked(p)
	}
	rows, err := stretchesSinceGrind(o.r, s)
	if err != nil {
		return err
	}
	for i, m := range rows {
		in.WearUM += m.Usage.DeepestWearUM() * booked
		if !m.WithdrawnAt.IsZero() {
			continue
		}
		f.mounting = &rows[i]
		in.UsedT, in.UsedKM = m.Usage.TonnageT, m.Usage.RolledKM
		if m.Usage.TonnageT > 0 {
			in.KMPerT = m.Usage.RolledKM / m.Usage.TonnageT
			in.WearUMPerT = m.Usage.DeepestWearUM() * booked / m.Usage.TonnageT
		}
	}
	f.Change, err = forecast.NextChange(in)
	f.Notes = append(f.Notes, f.Change.Notes...)
	return impossible(err)
}

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

// changeInput and scrapInput are what a kept forecast was made from.
type changeInput struct {
	MountedAt time.Time `json:"mounted_at"`
	UsedT     float64   `json:"used_t"`
	Limit     string    `json:"limit"`
}

type scrapInput struct {
	StockMM float64 `json:"stock_mm"`
	Habit   string  `json:"habit"`
}

// daysPerMonth turns days into months of equal length.
const daysPerMonth = 365.25 / 12

func monthsUntil(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 / daysPerMonth }

// kept is the forecast as it is scored later.
func (f RollForecast) kept(call Call) []ForecastRow {
	base := ForecastRow{Roll: f.Roll, Stand: f.Stand, Grade: f.Grade, AskedAt: f.AskedAt, AskedBy: call.Actor,
		About: fmt.Sprintf("%s/%s", f.Roll, f.AskedAt.Format(time.RFC3339Nano))}
	if f.Rate != nil {
		base.RatesVersion = f.Rate.Version
	}
	var rows []ForecastRow
	if f.mounting != nil && f.Change.Limit != "" {
		row, q := base, f.Change.TonnageT
		used := f.mounting.Usage.TonnageT
		row.Kind = ForecastChange
		row.Low, row.Middle, row.High = number(used+q.P5), number(used+q.P50), number(used+q.P95)
		row.Input = jsonText(changeInput{f.mounting.MountedAt, used, f.Change.Limit})
		rows = append(rows, row)
	}
	if f.Life.Dates {
		row, d := base, f.Life.Scrap
		row.Kind = ForecastScrap
		row.Low, row.Middle, row.High = number(monthsUntil(f.AskedAt, d.P5)), number(monthsUntil(f.AskedAt, d.P50)), number(monthsUntil(f.AskedAt, d.P95))
		row.Input = jsonText(scrapInput{f.StockLeft.MM(), f.Habit})
		rows = append(rows, row)
	}
	return rows
}

func number(v float64) *float64 { return &v }

// jsonText writes a value that cannot fail to be written.
func jsonText(v any) string {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(text)
}
