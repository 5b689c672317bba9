package forecast_test

import (
	"math"
	"testing"
	"time"

	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/world"
)

// changes asks when the sets in the stands will come out, by the shop's habit
// alone, before every third programme.
type changes struct {
	*shop
	others []float64
	last   map[string][]float64 // days of past stays
	since  map[string]time.Time
	open   map[string][]openChange
	n      int

	within, before, early, err, sheet, bias, count float64
}

type openChange struct {
	at    time.Time
	said  forecast.Dates
	sheet float64
}

func (c *changes) hear(e world.Event) error {
	now := e.When()
	switch e := e.(type) {
	case *world.Announced:
		c.others = append(c.others, e.Tonnes())
		if c.n++; c.n%3 == 0 && c.w.Day() >= 30 {
			c.ask(e)
		}
	case *world.Change:
		for _, o := range c.open[e.Stand] {
			days := func(t time.Time) float64 { return t.Sub(o.at).Hours() / 24 }
			c.count++
			switch {
			case now.Before(o.said.P10):
				c.before++
			case !now.After(o.said.P90):
				c.within++
			}
			if now.Before(o.said.P50) {
				c.early++
			}
			c.err += math.Abs(days(now) - days(o.said.P50))
			c.sheet += math.Abs(days(now) - o.sheet)
			c.bias += days(now) - days(o.said.P50)
		}
		c.open[e.Stand] = nil
		if e.Out != nil {
			c.last[e.Stand] = append(c.last[e.Stand], now.Sub(c.since[e.Stand]).Hours()/24)
		}
		c.since[e.Stand] = now
	}
	return c.shop.hear(e)
}

func (c *changes) ask(e *world.Announced) {
	habits := forecast.LearnHabits(c.runs, forecast.Defaults{NormalStockUM: 400})
	stands, _ := c.w.Stands()
	for k, stand := range stands {
		set, _ := c.w.In(stand)
		r := set.Rolls[0]
		o := c.shop.open[r.Number]
		h := habits.Of(r.Grade, stand, mill.Work)
		ahead := &forecast.Ahead{TonnageT: e.Tonnes(), StartsAt: e.When(), EndsAt: e.When().Add(time.Duration(2*len(e.Programme.Pieces)) * time.Minute), OthersT: c.others[max(0, len(c.others)-30):]}
		for _, p := range e.Programme.Pieces {
			ahead.RolledKM += p.MassT / (7.85 * p.WidthMM * p.Passes[k].ExitThicknessMM / 1000)
		}
		f, err := forecast.NextChange(forecast.ChangeInput{Now: e.When(), In: true, UsedT: o.TonnageT, UsedKM: o.RolledKM, OnceT: ahead.TonnageT, OnceKM: ahead.RolledKM,
			PastT: h.CampaignT, PastKM: h.CampaignKM, PerDay: h.TonnagePerDay, Ahead: ahead})
		if err != nil || !f.Dates {
			continue
		}
		past := c.last[stand]
		past = past[max(0, len(past)-10):]
		mean := 0.0
		for _, d := range past {
			mean += d / float64(len(past))
		}
		c.open[stand] = append(c.open[stand], openChange{e.When(), f.At, math.Max(0, mean-e.When().Sub(c.since[stand]).Hours()/24)})
	}
}

// TestNextChangeInWorlds holds the next change by habit against what a foreman did
// who changes before the programme that would be too long.
func TestNextChangeInWorlds(t *testing.T) {
	within, count := 0.0, 0.0
	for _, truth := range world.All() {
		t.Run(truth.Name, func(t *testing.T) {
			c := &changes{shop: newShop(world.New(truth, *dateSeed)), last: map[string][]float64{}, since: map[string]time.Time{}, open: map[string][]openChange{}}
			if err := c.w.Run(*dateDays/2+20, world.Foreman{Mood: *dateMood}, c.hear); err != nil {
				t.Fatal(err)
			}
			n := c.count
			within, count = within+c.within, count+n
			if c.err > 0.9*c.sheet {
				t.Errorf("the error is %.2f of the spreadsheet's, want at most 0.9", c.err/c.sheet)
			}
			t.Logf("%-12s %4.0f: P10-P90 %.3f, <P10 %.3f, <P50 %.3f; err %.2f d, %.3f of the sheet's; truth %+.2f d", truth.Name, n, c.within/n, c.before/n, c.early/n, c.err/n, c.err/c.sheet, c.bias/n)
		})
	}
	if cover := within / count; cover < 0.77 || cover > 0.87 {
		t.Errorf("P10 to P90 hold %.3f of %.0f changes; the quantiles are moments at which a programme begins, so a little more than 0.8 is meant", cover, count)
	}
}
