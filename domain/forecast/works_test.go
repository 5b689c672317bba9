package forecast_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/wearrate"
)

// simWorks is a works of invented rolls with rates that nobody in it knows.
type simWorks struct {
	random *rand.Rand
	rolls  []*simRoll
	cycles []forecast.Run
}

type simRoll struct {
	name, grade, stand string
	rate               float64 // µm per km at 10 kN/mm
	rhythm             float64 // days of a cycle
	diameter, scrap    float64 // true, mm
	measured           float64 // last ground diameter as the gauge read it, µm
	at                 time.Time
	scrapped           bool
}

var (
	simStart  = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	simStands = []string{"F1", "F2", "F3"}
	simGrades = []string{"hss", "icdp"}
)

const (
	simGaugeUM  = 7.0
	simIncident = 0.04
)

func (w *simWorks) gamma(mean, cv float64) float64 {
	shape := 1 / (cv * cv)
	return distuv.Gamma{Alpha: shape, Beta: shape / mean, Src: w.random}.Rand()
}

func (w *simWorks) gauge(trueMM float64) float64 {
	return math.Round(trueMM*1000 + simGaugeUM*w.random.NormFloat64())
}

// newSimWorks has eight rolls of each grade in each stand, of all ages.
func newSimWorks(seed uint64) *simWorks {
	w := &simWorks{random: rand.New(rand.NewPCG(seed, 77))}
	for g, grade := range simGrades {
		for s, stand := range simStands {
			cell := (2 + 1.5*float64(g)) * (1 + 0.2*float64(s)) * math.Exp(0.15*w.random.NormFloat64())
			for i := range 8 {
				r := &simRoll{name: fmt.Sprintf("%s-%s-%d", grade, stand, i), grade: grade, stand: stand, at: simStart,
					rate: cell * math.Max(0.5, 1+0.12*w.random.NormFloat64()), rhythm: 9 * math.Max(0.5, 1+0.1*w.random.NormFloat64()),
					diameter: 740 - 35*w.random.Float64(), scrap: 680}
				r.measured = w.gauge(r.diameter)
				w.rolls = append(w.rolls, r)
			}
		}
	}
	return w
}

// cycle takes a roll through one campaign and grind.
func (w *simWorks) cycle(r *simRoll) {
	exposure := w.gamma(55, 0.25)
	wear := r.rate * exposure / 1000
	normal := w.random.Float64() >= simIncident
	c := forecast.Run{Roll: r.name, Grade: r.grade, Stand: r.stand, Role: mill.Work, Since: r.at, Campaigns: 1, Normal: normal,
		TonnageT: exposure * 45, RolledKM: exposure / 1.1, ExposureKM: exposure, InStand: 14 * time.Hour}
	found := w.gauge(r.diameter - wear)
	stock := w.gamma(0.15, 0.3)
	if !normal {
		stock += 0.5 + 1.2*w.random.ExpFloat64()
	}
	r.diameter -= wear + stock
	ground := w.gauge(r.diameter)
	c.WearUM, c.StockUM = r.measured-found, found-ground
	r.measured = ground
	r.at = r.at.Add(time.Duration(w.gamma(r.rhythm, 0.35) * 24 * float64(time.Hour)))
	c.At = r.at
	r.scrapped = r.measured < r.scrap*1000
	w.cycles = append(w.cycles, c)
}

// run takes all rolls up to a day, or to their end.
func (w *simWorks) run(until time.Time) {
	for _, r := range w.rolls {
		for !r.scrapped && r.at.Before(until) {
			w.cycle(r)
		}
	}
}

// known is the cycles that ended by a day.
func (w *simWorks) known(by time.Time) []forecast.Run {
	var past []forecast.Run
	for _, c := range w.cycles {
		if !c.At.After(by) {
			past = append(past, c)
		}
	}
	return past
}

func teach(cycles []forecast.Run) []wearrate.Run {
	var campaigns []wearrate.Run
	for _, c := range cycles {
		if c.Normal {
			campaigns = append(campaigns, wearrate.Run{Roll: c.Roll, Cell: wearrate.Cell{Grade: c.Grade, Stand: c.Stand}, RolledKM: c.ExposureKM, SpecificForceKNPerMM: 10, WearUM: c.WearUM})
		}
	}
	return campaigns
}

// outlook is a forecast of every roll that is in use on a day, with what came.
type outlook struct {
	name     string
	forecast forecast.Life
	scrapped time.Time
	grinds   float64 // that were still to come
}

// outlooks forecasts on the day from what was known then, and then lets the
// works run to the end of every roll.
func outlooks(seed uint64, day time.Time) ([]outlook, error) {
	w := newSimWorks(seed)
	// A cycle that is under way on the day is not known: its grind comes later.
	w.run(day)
	past := w.known(day)
	rates, err := wearrate.Learn(teach(past), wearrate.StandardDefaults(), nil)
	if err != nil {
		return nil, err
	}
	habits := forecast.LearnHabits(past, forecast.Defaults{NormalStockUM: 400})
	type last struct {
		at       time.Time
		diameter float64
		own      []forecast.Run
	}
	state := map[string]last{}
	for _, c := range past {
		s := state[c.Roll]
		s.at = c.At
		s.own = append(s.own, c)
		state[c.Roll] = s
	}
	begun := newSimWorks(seed)
	for i, r := range begun.rolls {
		s := state[r.name]
		s.diameter = r.measured
		for _, c := range past {
			if c.Roll == r.name {
				s.diameter -= c.WearUM + c.StockUM
			}
		}
		_ = i
		state[r.name] = s
	}
	w.run(day.AddDate(60, 0, 0))
	var list []outlook
	for _, r := range w.rolls {
		s := state[r.name]
		if s.diameter < r.scrap*1000 || len(s.own) == 0 {
			continue // scrapped before
		}
		cell := wearrate.Cell{Grade: r.grade, Stand: r.stand}
		p, err := rates.Predict(wearrate.Next{Roll: r.name, Cell: cell})
		if err != nil {
			return nil, err
		}
		in := forecast.LifeInput{Stock: quantity.Micrometre(s.diameter - r.scrap*1000), Rate: forecast.Rate{MeanUMPerKM: p.RateUMPerKM, SDUMPerKM: p.RateSD},
			Habit: habits.Of(r.grade, r.stand, mill.Work), Own: s.own, LastGrind: s.at, Now: day}
		f, err := forecast.Remaining(in, nil)
		if err != nil {
			return nil, err
		}
		o := outlook{name: r.name, forecast: f, scrapped: r.at}
		for _, c := range w.cycles {
			if c.Roll == r.name && c.At.After(day) {
				o.grinds++
			}
		}
		list = append(list, o)
	}
	return list, nil
}
