package forecast

import (
	"math"
	"time"

	"barrelbook/domain/life"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/stop"
)

// Rate is a roll's wear rate, µm per km at 10 kN/mm on diameter, and how well
// it is known.
type Rate struct{ MeanUMPerKM, SDUMPerKM float64 }

// LifeInput is one roll and what is known about rolls like it.
type LifeInput struct {
	Stock quantity.Micrometre // above the tightest limit
	Rate  Rate
	Habit Habit
	// Own are the roll's own past cycles, newest last.
	Own []Run
	// Phase is where the roll is in its present cycle, PhaseSince since when,
	// LastGrind when the cycle began and Now the day of the forecast.
	Phase                      Phase
	PhaseSince, LastGrind, Now time.Time
	LossProbability            float64
	// Fleet is the rolls it takes turns with, itself included; nil where they are
	// not known.
	Fleet Fleet
}

// Life is what is left of a roll.
type Life struct {
	Grinds    Quantiles // that it will be ground once more, the last one included
	Campaigns Quantiles
	TonnageT  Quantiles
	// Dates is false where no rhythm is known.
	Dates bool
	Scrap Dates
	// Beyond is true where even P10 is more than five years ahead: further than any
	// rhythm tells. Scrap is then to be compared with, not to be shown.
	Beyond bool
	// SharedCV is how far the time to P50 may be off for all rolls of the sort together.
	SharedCV float64
	// The rhythm is that of so many cycles that ended between these moments; zero
	// where it is the roll's own.
	RhythmFrom, RhythmUntil  time.Time
	RhythmCycles             int
	CampaignsPerMonth        float64
	DaysPerCycle             float64
	WearUM, StockUM, ExtraUM float64 // means of one cycle, for the reader
	Notes                    []string
}

// Dates are the moments at the quantiles.
type Dates struct{ P5, P10, P50, P90, P95 time.Time }

// Remaining forecasts the rest of a roll's life.
//
// The number of grinds is exact for the means given (package life): each takes
// what a normal cycle takes altogether and, with probability p, an incident. The
// means themselves are known within limits only. All of that is one factor g on
// the removal of every cycle, lognormal with the combined standard error, and a
// number of grinds n becomes n/g, rounded, to at least 1:
//
//	cv²(g) = (SE(removal)² + SE(incidents)²) / mean²
//
// (Scaling n instead of the stock neglects that the spread of n grows with its
// root, which is of second order.) Where no grinds of the sort are known the wear
// is the rate on the exposure of a cycle, as far as there is one.
//
// Dates are what is left of the present cycle, from where the roll is in it, and
// n−1 cycles in the rhythm of now; how far that rhythm has moved in the past over
// as long a time is a doubt that all cycles share.
//
// A stock below 0 is refused: the roll is past its limit. Coverage of P10 … P90
// is held to simulated works in life_test.go and dates_test.go. ask ends it early,
// with its error.
func Remaining(in LifeInput, ask stop.Check) (Life, error) {
	if in.Stock < 0 {
		return Life{}, refusal.One("stock_mm", in.Stock.String(), "is below 0: the roll is below its scrap limit", "scrap it, or enter the limit that holds for it")
	}
	h := in.Habit
	out := Life{StockUM: math.Max(0, h.StockUM.Mean), WearUM: math.Max(0, h.WearUM.Mean)}
	took := in.removal(&out)
	out.ExtraUM = h.Incident.Probability * (h.Incident.MinimumMM + h.Incident.MeanExcessMM) * 1000
	sure, err := life.Remaining(life.Input{
		StockMM: in.Stock.MM(), Wear: life.Spread{Mean: took.Mean / 1000, CV: took.cv()}, Incident: h.Incident, LossProbability: in.LossProbability,
	}, ask)
	if err != nil {
		return Life{}, err
	}
	cv := math.Hypot(took.SE, h.ExtraSE*1000) / (took.Mean + out.ExtraUM)
	points := stretched(sure.Chances, math.Min(cv, 1))
	out.Grinds = discrete(points)
	out.Campaigns = times(out.Grinds, math.Max(h.Campaigns, 0))
	if h.TonnageT.Mean > 0 {
		out.TonnageT, _ = sums(points, h.TonnageT, 0)
	} else {
		out.Notes = append(out.Notes, "no tonnage: of no past cycle are the tonnes known")
	}
	out.dates(in, points)
	return out, nil
}

// removal is what a normal cycle takes off this roll, and splits it into wear and
// stock for the reader.
func (in LifeInput) removal(out *Life) Estimate {
	h := in.Habit
	if x := h.ExposureKM; x.Mean > 0 && in.Rate.MeanUMPerKM > 0 {
		out.WearUM = in.Rate.MeanUMPerKM * x.Mean
	} else {
		out.Notes = append(out.Notes, "the wear per cycle is the mean measured: no exposure is known to put a rate to")
	}
	if h.Removal.UM.Count >= enough {
		took := h.Removal.of(in.Own)
		out.WearUM = math.Min(out.WearUM, took.Mean)
		out.StockUM = took.Mean - out.WearUM
		return took
	}
	took := Estimate{Mean: out.WearUM + out.StockUM, SD: math.Hypot(h.WearUM.SD, h.StockUM.SD), SE: math.Hypot(h.WearUM.SE, h.StockUM.SE)}
	if x := h.ExposureKM; x.Mean > 0 {
		took.SE = math.Hypot(h.StockUM.SE, math.Hypot(in.Rate.SDUMPerKM*x.Mean, in.Rate.MeanUMPerKM*x.SE))
	}
	return took
}

// stretched turns P(n) into that of round(n/g) over the factor g.
func stretched(chances []float64, cv float64) []point {
	points := make([]point, 0, 5*len(chances))
	for _, g := range factors(cv) {
		for i, c := range chances {
			if c > 1e-7 {
				points = append(points, point{math.Max(1, math.Round(float64(i+1)/g.value)), c * g.weight})
			}
		}
	}
	return merged(points)
}

func times(q Quantiles, f float64) Quantiles {
	return Quantiles{math.Ceil(q.P5*f - 1e-9), math.Ceil(q.P10*f - 1e-9), math.Ceil(q.P50*f - 1e-9), math.Ceil(q.P90*f - 1e-9), math.Ceil(q.P95*f - 1e-9), q.Mean * f}
}

// dates fills the scrap dates from the rhythm.
func (l *Life) dates(in LifeInput, points []point) {
	rhythm, ok := in.rhythm()
	if !ok {
		l.Notes = append(l.Notes, "no dates: there is no finished cycle to take a rhythm from")
		return
	}
	l.Dates, l.DaysPerCycle = true, rhythm.Mean
	if r := &in.Habit.Rhythm; r.Days.Count > 0 {
		l.RhythmFrom, l.RhythmUntil, l.RhythmCycles = r.From, r.Until, r.Days.Count
	}
	l.CampaignsPerMonth = in.Habit.Campaigns * daysPerMonth / rhythm.Mean
	rest, variance, known := in.Habit.Rhythm.rest(in.Phase, dayCount(in.PhaseSince, in.Now))
	if !known {
		rest, variance = in.restOfCycle(rhythm)
	}
	q := spans(points, rhythm, rest, variance, &in.Habit.Rhythm)
	at := func(days float64) time.Time {
		return in.Now.Add(time.Duration(math.Min(days, 36500) * 24 * float64(time.Hour))).Truncate(time.Second)
	}
	l.Scrap = Dates{at(q.P5), at(q.P10), at(q.P50), at(q.P90), at(q.P95)}
	l.SharedCV = in.Habit.Rhythm.doubtAfter(q.P50)
	if l.Beyond = q.P10 > Reach.Hours()/24; l.Beyond {
		l.Notes = append(l.Notes, "its stock lasts more than five years in the rhythm of now: no date is given")
	}
}

// restOfCycle is what is left of the present cycle by its length alone.
func (in LifeInput) restOfCycle(rhythm Estimate) (mean, variance float64) {
	passed := dayCount(in.LastGrind, in.Now)
	few := math.Max(rhythm.SD, 0.1*rhythm.Mean)
	mean = math.Max(rhythm.Mean-passed, few)
	return mean, few * few
}

// Reach is how far ahead a date is said.
const Reach = 5 * 8766 * time.Hour

const daysPerMonth = 365.25 / 12

// rhythm is the days of a cycle: the roll's own of the time that the rhythm of its
// sort is read from, drawn towards it.
func (in LifeInput) rhythm() (Estimate, bool) {
	r := &in.Habit.Rhythm
	var own []float64
	for i := len(in.Own) - 1; i >= 0 && len(own) < 10; i-- {
		if c := &in.Own[i]; !c.First && (r.Days.Count == 0 || !c.At.Before(r.From)) {
			own = append(own, c.days())
		}
	}
	switch mine := estimate(own); {
	case r.Days.Mean > 0:
		e := shrunk(r.Days, r.Between, own)
		turns := in.turns()
		return Estimate{e.Mean * turns, e.SD * turns, e.SE * turns, e.Count}, true
	case mine.Mean > 0:
		return Estimate{Mean: mine.Mean, SD: math.Max(mine.SD, 0.3*mine.Mean), SE: 0.3 * mine.Mean / math.Sqrt(float64(mine.Count)), Count: mine.Count}, true
	}
	return Estimate{}, false
}

// turns is how many rolls take turns now over how many did while the rhythm was
// read: with the same work a roll's turn comes round so much later.
func (in LifeInput) turns() float64 {
	r := &in.Habit.Rhythm
	then := in.Fleet.Mean(r.From.Add(-time.Duration(r.Days.Mean*24*float64(time.Hour))), r.Until)
	now := in.Fleet.Mean(in.Now.Add(-time.Hour), in.Now)
	if then <= 0 || now <= 0 {
		return 1
	}
	return min(max(now/then, 0.5), 2)
}
