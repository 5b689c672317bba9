package plan

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// Outlook is what the forecasts of all rolls have in common.
type Outlook struct {
	*learn.Basis
	r   port.Reader
	k   learn.Knowledge
	now time.Time
	// ahead is the programme of each mill, once read.
	ahead map[string]*programmeAhead
}

// NewOutlook makes ready to forecast from what is known.
func NewOutlook(r port.Reader, k learn.Knowledge, now time.Time) (*Outlook, error) {
	c, err := learn.NewBasis(r)
	if err != nil {
		return nil, err
	}
	return &Outlook{Basis: c, r: r, k: k, now: now}, nil
}

// standShares is where a roll does its work: the shares of the stands in its last
// ten stays, the one it is in or may serve alone before it has any. Nearly all in
// one stand counts as all.
func (o *Outlook) standShares(s roll.State) map[string]float64 {
	grinds := o.k.Past[s.Roll.Number]
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

// life forecasts what is left of a roll. It reads nothing from the store, so that
// a fleet can be forecast on several processors.
func (o *Outlook) life(s roll.State) (RollForecast, error) {
	f := RollForecast{Roll: s.Roll.Number, AskedAt: o.now, Model: ForecastModel, Grade: s.Roll.Grade, Mounted: s.Stage == roll.StageMounted,
		StockLeft: s.StockLeft(), Cautions: []string{caution.Limits}, practice: practice.Resolve(o.Practices, gather.CaseOf(s))}
	f.ScrapAt, f.LimitedBy = s.ScrapLimit()
	standShares := o.standShares(s)
	if len(standShares) == 1 {
		f.Stand = slices.Sorted(maps.Keys(standShares))[0]
	}
	f.habit = o.habitIn(s, f.Stand)
	f.Habit = f.habit.Source
	in := forecast.LifeInput{Stock: f.StockLeft, Habit: f.habit, Now: o.now, LastGrind: groundAt(s), Own: o.k.Cycles(s.Roll.Number)}
	of := learn.RateGroup{Mill: s.Mill, Role: s.Roll.Role}
	in.Fleet, in.LossProbability = o.k.Turns.Fleet(of, s.Roll.Grade, f.Stand), o.k.Turns.LossProbability(of)
	in.Phase, in.PhaseSince = phaseOf(s)
	if len(standShares) > 0 {
		rate := o.rateOver(s, standShares)
		f.Rate = &rate
		in.Rate = forecast.Rate{MeanUMPerKM: rate.UMPerKM, SDUMPerKM: rate.SD}
	}
	if f.Stand != "" {
		f.practice = practice.Resolve(o.Practices, gather.CaseIn(s, o.stand(f.Stand)))
	}
	var err error
	f.Life, err = forecast.Remaining(in, o.Ask)
	f.Notes = append(f.Notes, f.Life.Notes...)
	return f, port.Refused(err)
}

// phaseOf is how far a roll is in its cycle, and since when.
func phaseOf(s roll.State) (forecast.Phase, time.Time) {
	switch s.Stage {
	case roll.StageMounted:
		return forecast.Rolling, s.MountedAt
	case roll.StageWorn:
		return forecast.Worn, s.WithdrawnAt
	}
	return forecast.Waiting, groundAt(s)
}

// stand is as much of a stand as rates and practices are looked up by.
func (o *Outlook) stand(name string) mill.Stand { return mill.Stand{Name: name, Mill: o.MillOf[name]} }

func (o *Outlook) habitIn(s roll.State, stand string) forecast.Habit {
	return o.k.HabitsOf(learn.RateGroup{Mill: s.Mill, Role: s.Roll.Role}, o.Basis).Of(s.Roll.Grade, stand, s.Roll.Role)
}

// rateOver is the wear rate of a roll over the stands it goes round, each by its
// share and the exposure that is usual there. The doubts of the stands' rates are
// taken as independent.
func (o *Outlook) rateOver(s roll.State, standShares map[string]float64) learn.WearRate {
	var mix learn.WearRate
	var weights, variance float64
	for _, name := range slices.Sorted(maps.Keys(standShares)) {
		one := learn.RateOf(o.k.Rates, s, o.stand(name), practice.Resolve(o.Practices, gather.CaseIn(s, o.stand(name))))
		if len(standShares) == 1 {
			return one
		}
		w := standShares[name]
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
		mix.Source += fmt.Sprintf("%.0f %% %s: %s", 100*standShares[name], name, one.Source)
	}
	mix.UMPerKM, mix.SD = mix.UMPerKM/weights, math.Sqrt(variance)/weights
	if mix.UMPerKM > 0 {
		mix.OwnCV = mix.SD / mix.UMPerKM
	}
	return mix
}
