package app_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/api/app/report"
	"barrelbook/domain/consumption"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// simulated is a works of invented rolls whose true rates and diameters nobody
// in it knows: everything goes through the use cases, as the shop would enter it.
type simulated struct {
	*works
	random  *rand.Rand
	rate    map[string]float64 // µm per km at 10 kN/mm
	trueUM  map[string]float64 // diameter
	stands  []string
	sets    map[string][]string // by stand, the next to go in first
	in      map[string]string   // set in each stand
	tonnes  map[string]float64  // of each roll's campaigns that a regrind ended
	asked   int                 // entries acknowledged
	refused int                 // mistakes that were caught
	fixed   int                 // mistakes that were corrected afterwards
	late    int
	mishaps int
}

const (
	gaugeUM      = 7.0
	setsPerStand = 4
)

func newSimulated(t testing.TB, seed uint64, stands int) *simulated {
	s := &simulated{works: newWorks(t), random: rand.New(rand.NewPCG(seed, 5)), rate: map[string]float64{}, trueUM: map[string]float64{},
		sets: map[string][]string{}, in: map[string]string{}, tonnes: map[string]float64{}}
	for i := range stands {
		stand := fmt.Sprintf("F%d", i+1)
		s.stands = append(s.stands, stand)
		s.stand(stand, i+1)
		cell := 2.5 + 0.8*float64(i)
		for j := range setsPerStand {
			set := fmt.Sprintf("%s-S%d", stand, j+1)
			s.set(set, mill.Work, 720-3*float64(j), stand)
			s.sets[stand] = append(s.sets[stand], set)
			for _, roll := range []string{set + "-T", set + "-B"} {
				s.rate[roll] = cell * (1 + 0.12*s.random.NormFloat64())
				row, err := s.Roll(s.ctx, roll)
				s.must(err)
				// The receipt was measured too.
				s.trueUM[roll] = float64(row.State.Diameter) + gaugeUM*s.random.NormFloat64()
				s.asked += 2 // received and paired
			}
		}
		s.putIn(stand)
	}
	return s
}

func (s *simulated) putIn(stand string) {
	set := s.sets[stand][0]
	s.sets[stand] = s.sets[stand][1:]
	s.mount(stand, mill.Work, set)
	s.in[stand] = set
	s.asked += 2
}

// gauge reads a true diameter.
func (s *simulated) gauge(um float64) quantity.Micrometre {
	return quantity.Micrometre(math.Round(um + gaugeUM*s.random.NormFloat64()))
}

// round rolls a campaign at a stand, changes the set and grinds the one that
// came out.
func (s *simulated) round(stand string) {
	km := 40 + 25*s.random.Float64()
	force := 9 + 3*s.random.Float64()
	tonnes := math.Round(km * 40)
	out := s.in[stand]
	mishap := s.random.Float64() < 0.04
	if mishap {
		s.mishaps++
		_, err := s.RecordIncident(s.ctx, engineer, record.IncidentInput{What: roll.Bruise, Stand: stand, At: s.clock.now})
		s.must(err)
		s.asked += 2
	}
	s.clock.now = s.clock.now.Add(10 * time.Minute)
	next := s.sets[stand][0]
	why := roll.Planned
	if mishap {
		why = roll.Mishap
	}
	_, err := s.RecordChange(s.ctx, engineer, record.ChangeInput{Stand: stand, Role: mill.Work, At: s.clock.now, SetIn: next, Why: why, StatedT: tonnes, StatedKM: km, StatedSpecificKNPerMM: force})
	s.must(err)
	s.asked += 4
	s.sets[stand], s.in[stand] = append(s.sets[stand][1:], out), next
	for _, number := range []string{out + "-T", out + "-B"} {
		s.trueUM[number] -= s.rate[number] * km * force / 10
		s.tonnes[number] += tonnes
	}
	s.grind(out, mishap)
}

// grind takes both rolls of a set to one diameter, with the slips of a shop.
func (s *simulated) grind(set string, mishap bool) {
	rolls := []string{set + "-T", set + "-B"}
	stock := 100 + 120*s.random.Float64()
	in := record.RegrindInput{For: roll.ForWear, Confirmed: lookedAt()}
	if mishap {
		stock += 500 + 1000*s.random.ExpFloat64()
		in.For = roll.ForIncident
		in.Tests = []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}
	}
	target := math.Min(s.trueUM[rolls[0]], s.trueUM[rolls[1]]) - stock
	for _, number := range rolls {
		in.Found = s.gauge(s.trueUM[number])
		in.Ground = s.gauge(target)
		s.trueUM[number] = target
		in.At = s.clock.now
		switch slip := s.random.Float64(); {
		case slip < 0.02: // a radius for a diameter
			wrong := in
			wrong.Found /= 2
			if _, err := s.RecordRegrind(s.ctx, engineer, number, wrong); !port.IsKind(err, port.Impossible) {
				s.t.Fatalf("a radius was taken for a diameter: %v", err)
			}
			s.refused++
		case slip < 0.04: // plausible, and wrong: seen and corrected the next hour
			wrong := in
			wrong.Ground -= 300
			answer, err := s.RecordRegrind(s.ctx, engineer, number, wrong)
			s.must(err)
			s.clock.now = s.clock.now.Add(time.Hour)
			right := in
			_, err = s.CorrectEntry(s.ctx, engineer, record.Correction{Number: number, Entry: answer.Entry, Reason: "misread", Regrind: instead(right)})
			s.must(err)
			s.asked += 2
			s.fixed++
			continue
		case slip < 0.06: // written down after the inspection that followed it
			s.clock.now = s.clock.now.Add(time.Hour)
			_, err := s.RecordHappening(s.ctx, engineer, record.Happening{Number: number, At: s.clock.now, Body: roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}}})
			s.must(err)
			s.asked++
			s.late++
		}
		_, err := s.RecordRegrind(s.ctx, engineer, number, in)
		if err != nil {
			s.t.Fatalf("%s on %s: %v", number, s.clock.now, err)
		}
		s.asked++
	}
}

var allSeeds = flag.Bool("all-seeds", false, "run the simulated works of three seeds, not of one")

// TestSimulatedWorks runs two stands for two years, and with -all-seeds twice
// more for most of one, asks on the way, and holds the books, the sums and the
// forecasts to what came.
func TestSimulatedWorks(t *testing.T) {
	t.Parallel()
	seeds := map[uint64]int{3: 290}
	if *allSeeds {
		seeds[11], seeds[42] = 100, 100
	}
	for seed, rounds := range seeds {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			t.Parallel()
			simulate(t, seed, rounds)
		})
	}
}

func simulate(t *testing.T, seed uint64, rounds int) {
	s := newSimulated(t, seed, 2)
	for i := range rounds {
		s.clock.now = s.clock.now.Add(60 * time.Hour)
		for _, stand := range s.stands {
			s.round(stand)
		}
		if i%5 == 0 {
			if _, err := s.CurrentWearRates(s.ctx); err != nil {
				t.Fatal(err)
			}
		}
		if i == 60 {
			_, err := s.KeepForecasts(s.ctx)
			s.must(err)
			for _, stand := range s.stands {
				for _, set := range s.sets[stand] {
					f, err := s.ForecastRoll(s.ctx, set+"-T")
					s.must(err)
					if !f.Life.Dates || f.Rate == nil || f.Rate.Version == 0 || f.MonthAgo == nil || f.OrderBy.IsZero() != f.Life.Beyond {
						t.Errorf("forecast of %s: %+v", f.Roll, f)
					}
				}
				f, err := s.ForecastRoll(s.ctx, s.in[stand]+"-T")
				s.must(err)
				if !f.Mounted || f.Change.Limit == "" || f.Change.TonnageT.P50 <= 0 {
					t.Errorf("next change of %s: %+v", f.Roll, f.Change)
				}
			}
		}
	}
	s.checkBooks()
	s.checkSums()
	s.checkRates()
	s.checkScores()
	s.checkStock()
}

func (s *simulated) checkBooks() {
	s.t.Helper()
	s.must(s.store.Verify(s.ctx))
	var counts port.Counts
	s.must(s.store.Read(s.ctx, func(r port.Reader) (err error) { counts, err = r.Counts(); return err }))
	if counts.Entries != int64(s.asked) {
		s.t.Errorf("%d entries in the books, %d acknowledged", counts.Entries, s.asked)
	}
	if s.refused == 0 || s.fixed == 0 || s.late == 0 || s.mishaps == 0 {
		s.t.Errorf("the simulation made no use of something: %d refused, %d corrected, %d late, %d mishaps", s.refused, s.fixed, s.late, s.mishaps)
	}
}

// checkSums holds the consumption, sorted in every way, against the states of
// the rolls and what was rolled.
func (s *simulated) checkSums() {
	s.t.Helper()
	var removed quantity.Micrometre
	tonnes := 0.0
	for number := range s.rate {
		row, err := s.Roll(s.ctx, number)
		s.must(err)
		removed += row.State.StockRemoved
		tonnes += s.tonnes[number] / 2
	}
	for _, by := range consumption.Ways() {
		answer, err := s.ReportConsumption(s.ctx, report.ConsumptionInput{By: by})
		s.must(err)
		total := answer.Totals[0]
		if total.Removed != removed || math.Abs(total.TonnageT-tonnes) > 1e-6*tonnes {
			s.t.Errorf("by %s: %s removed and %.1f t, the books have %s and %.1f t", by, total.Removed, total.TonnageT, removed, tonnes)
		}
	}
}

// checkRates holds the learned rates against the true ones.
func (s *simulated) checkRates() {
	s.t.Helper()
	rates, err := s.CurrentWearRates(s.ctx)
	s.must(err)
	if len(rates.Mills) != 1 || len(rates.Mills[0].Cells) != len(s.stands) || len(rates.Mills[0].Rolls) != len(s.rate) {
		s.t.Fatalf("learned %+v", rates)
	}
	squares := 0.0
	for _, r := range rates.Mills[0].Rolls {
		off := r.RateUMPerKM/s.rate[r.Roll] - 1
		squares += off * off
	}
	if rms := math.Sqrt(squares / float64(len(s.rate))); rms > 0.05 {
		s.t.Errorf("rates are off by %.1f %% after %d campaigns, want at most 5 %%", 100*rms, rates.Campaigns)
	}
}

func (s *simulated) checkScores() {
	s.t.Helper()
	answer, err := s.ReportScores(s.ctx, learn.ScoreInput{})
	s.must(err)
	for _, one := range answer.Intervals {
		s.t.Logf("%s: %d of %d within (%.3f to %.3f), off by %.2f ± %.2f, %.1f wide", one.Kind, one.Within, one.Count, one.CoverageLow, one.CoverageHigh, one.Bias, one.BiasSE, one.Sharpness)
		switch one.Kind {
		case port.ForecastWear:
			if one.Count < 300 || one.CoverageHigh < 0.87 || one.CoverageLow > 0.93 {
				s.t.Errorf("wear: %d of %d within the interval of 90 %%", one.Within, one.Count)
			}
		case port.ForecastChange:
			if want := 2 * len(s.stands); one.Count != want { // both rolls of the set in each
				s.t.Errorf("%d next changes settled, want %d", one.Count, want)
			}
		}
	}
	if answer.Open == 0 {
		s.t.Error("no scrap date is open, and no roll was scrapped")
	}
}

func (s *simulated) checkStock() {
	s.t.Helper()
	stock, err := s.ReportStock(s.ctx, "hot")
	s.must(err)
	left := 0.0
	for number := range s.rate {
		row, err := s.Roll(s.ctx, number)
		s.must(err)
		left += row.State.StockLeft().MM()
	}
	rolls, sum := 0, 0.0
	for _, g := range stock.Groups {
		rolls += g.Rolls
		sum += g.StockLeftMM
		if !g.Cover.HasCover || g.Cover.CoverMonths <= 0 {
			s.t.Errorf("cover of %+v", g)
		}
	}
	if len(stock.Groups) != len(s.stands) || rolls != len(s.rate) || math.Abs(sum-left) > 1e-6 {
		s.t.Errorf("%d groups, %d rolls and %.3f mm left, the books have %d rolls and %.3f mm", len(stock.Groups), rolls, sum, len(s.rate), left)
	}
	usual, err := s.ReportBuying(s.ctx, report.BuyingInput{Mill: "hot", Months: 120})
	s.must(err)
	twice, err := s.ReportBuying(s.ctx, report.BuyingInput{Mill: "hot", Months: 120, TonnagePerMonth: 2 * usual.RecentPerMonthT})
	s.must(err)
	if len(usual.Orders) != len(s.rate) || len(twice.Orders) != len(s.rate) || usual.RecentPerMonthT <= 0 || math.Abs(twice.Pace-2) > 1e-9 {
		s.t.Fatalf("%d and %d orders for %d rolls, %.0f t a month, pace %g", len(usual.Orders), len(twice.Orders), len(s.rate), usual.RecentPerMonthT, twice.Pace)
	}
	if a, b := usual.Orders[0].NeededFrom.Sub(usual.AskedAt), twice.Orders[0].NeededFrom.Sub(twice.AskedAt); math.Abs(b.Hours()*2-a.Hours()) > 2*72 {
		s.t.Errorf("needed in %s, at twice the tonnage in %s", a, b)
	}
	if _, err := s.ReportStock(s.ctx, "nowhere"); !port.IsKind(err, port.NotFound) {
		s.t.Errorf("stock of an unknown mill: %v", err)
	}
}
