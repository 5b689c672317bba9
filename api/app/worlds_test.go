package app_test

import (
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/doubt"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
	"barrelbook/domain/world"
)

var (
	worldDays  = flag.Int("world-days", 14, "days of each world that are fed through the use cases; answers are scored after the first 60, or the first half")
	worldNames = flag.String("worlds", "", "names of the worlds to feed, separated by commas; all for a long run, rough for a short one")
	worldSeed  = flag.Uint64("world-seed", 1, "their seed")
	worldEvery = flag.Int("world-every", 3, "how many programmes from one asking to the next")
	worldQuick = flag.Bool("world-quick", false, "ask for finish checks alone")
)

// TestWorlds feeds worlds whose truth is not the models' own through the use
// cases, as a shop would, asks what a shop would ask, and scores the answers
// against the truth and the spreadsheet's rule. The short form holds that it all
// goes through; run it with -world-days 540 for the figures.
func TestWorlds(t *testing.T) {
	names := strings.Split(*worldNames, ",")
	for _, truth := range world.All() {
		switch long := *worldDays > 100; {
		case *worldNames != "" && !slices.Contains(names, truth.Name), *worldNames == "" && !long && truth.Name != "rough":
			continue
		}
		t.Run(truth.Name, func(t *testing.T) {
			t.Parallel()
			s := newWorldShop(t, world.New(truth, *worldSeed))
			s.must(s.w.Run(*worldDays, world.Foreman{Mood: 0.05}, s.hear))
			s.settle()
			s.scores.report(t)
			if s.scores.finish.count() == 0 || s.scores.wearEnd.count() == 0 || !*worldQuick && (s.scores.change.count() == 0 || s.scores.scrap[anyStock].count() == 0) {
				t.Error("something was never asked, or never came")
			}
		})
	}
}

// worldShop writes down what a world tells, and asks.
type worldShop struct {
	*works
	w      *world.World
	scores worldScores
	sheet  spreadsheet
	from   int // the first day whose answers are scored
	asked  int // programmes
	week   int // the last whose scrap dates were asked

	openChange []openChange
	openScrap  []openScrap
}

func newWorldShop(t testing.TB, w *world.World) *worldShop {
	s := &worldShop{works: newWorks(t), w: w, from: min(60, *worldDays/2), sheet: newSpreadsheet(w), week: -1}
	s.clock.now = world.Start
	_, err := s.CreateGrade(s.ctx, engineer, port.Grade{Name: "hicr", Family: "high_chromium_iron", Title: "High chromium iron"})
	s.must(err)
	_, err = s.CreateGrade(s.ctx, engineer, port.Grade{Name: "icdp", Family: "icdp", Title: "Indefinite chill"})
	s.must(err)
	s.practice("world", practice.Scope{}, map[practice.Key]float64{practice.CoolingH: 0, practice.PairToleranceUM: 2000, practice.MaxWearUM: w.Truth.LimitUM,
		practice.GaugeUncertaintyUM: 60, practice.DeliveryDays: w.Truth.LeadDays, practice.WearRateUMPerKM: 2})
	names, _ := w.Stands()
	// Backup rolls are there for the load between the rolls and are never changed.
	s.practice("world-backup", practice.Scope{Role: mill.Backup}, map[practice.Key]float64{practice.WearRateUMPerKM: 0.001, practice.FatigueReferenceTurns: 1e15, practice.CoolingH: 0})
	for i, name := range names {
		_, err := s.CreateStand(s.ctx, engineer, mill.Stand{Name: name, Mill: "hot", Order: i + 1, Arrangement: mill.FourHigh, MaxForceKN: 45000, MinRPM: 20, MaxRPM: 600})
		s.must(err)
		s.set("BU-"+name, mill.Backup, 1500, name)
		s.mount(name, mill.Backup, "BU-"+name)
	}
	return s
}

// hear writes one event down.
func (s *worldShop) hear(e world.Event) error {
	if e.When().After(s.clock.now) {
		s.clock.now = e.When()
	}
	switch e := e.(type) {
	case *world.Receipt:
		r := roll.Roll{Number: e.Roll.Number, Role: mill.Work, Grade: e.Roll.Grade, NewDiameter: quantity.Micrometre(max(e.Roll.NewUM, e.DiameterUM)), BarrelLength: 1_900_000,
			BearingSpan: 2_900_000, NeckDiameter: 400_000, Scrap: roll.ScrapLimits{Nominal: quantity.Micrometre(e.Roll.ScrapUM)}}
		_, err := s.ReceiveRoll(s.ctx, engineer, s.clock.now, roll.Received{Roll: r, Mill: world.Mill, Stands: s.w.GroupStands(e.Roll.Group), Diameter: quantity.Micrometre(e.DiameterUM), Ground: true})
		s.sheet.received(e)
		return err
	case *world.Built:
		_, err := s.BuildSet(s.ctx, engineer, record.SetInput{Name: e.Set.Name, At: s.clock.now, Top: e.Set.Rolls[0].Number, Bottom: e.Set.Rolls[1].Number})
		return err
	case *world.Broken:
		return s.broken(e.Set)
	case *world.Announced:
		return s.announced(e)
	case *world.Rolled:
		s.sheet.rolled(e)
		return s.rolled(e)
	case *world.Incident:
		// Told of the work rolls alone: the backup rolls are looked at in the stand.
		set, _ := s.w.In(e.Stand)
		for _, r := range set.Rolls {
			if _, err := s.RecordIncident(s.ctx, engineer, record.IncidentInput{What: roll.Cobble, Roll: r.Number, At: s.clock.now}); err != nil {
				return err
			}
		}
		return nil
	case *world.Change:
		why := map[world.Why]roll.Why{world.Chosen: roll.Planned, world.Passed: roll.Wear, world.Mishap: roll.Mishap}[e.Why]
		s.sheet.changed(e)
		s.settleChange(e)
		_, err := s.RecordChange(s.ctx, engineer, record.ChangeInput{Stand: e.Stand, Role: mill.Work, At: s.clock.now, SetIn: e.In.Name, Why: why})
		return err
	case *world.Regrind:
		s.sheet.ground(e)
		return s.ground(e)
	case *world.Lost:
		_, err := s.RecordHappening(s.ctx, engineer, record.Happening{Number: e.Roll.Number, At: s.clock.now, Reason: "spalled in the stand", Body: roll.Scrapped{Why: roll.BySpall}})
		return err
	}
	return fmt.Errorf("%T is not written down", e)
}

// broken takes a set apart, where the scrapping of a roll has not done so.
func (s *worldShop) broken(set *world.Set) error {
	view, err := s.Set(s.ctx, set.Name)
	if err != nil || !view.BrokenAt.IsZero() {
		return err
	}
	call := engineer
	call.IfVersion = view.Version
	_, err = s.BreakSet(s.ctx, call, set.Name, s.clock.now, "one of its rolls is gone")
	return err
}

func (s *worldShop) rolled(e *world.Rolled) error {
	answers, err := s.ImportPieces(s.ctx, engineer, slices.Clone(e.Pieces))
	for i, a := range answers {
		if a.Status != record.PieceStored {
			return fmt.Errorf("piece %s was %s: %w", e.Pieces[i].ID, a.Status, a.Err)
		}
	}
	return err
}

// ground writes a regrind down; where the service asks back, the figures are read
// again.
func (s *worldShop) ground(e *world.Regrind) error {
	passed := []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}, {Kind: roll.EddyCurrent, Outcome: roll.Passed}, {Kind: roll.Ultrasonic, Outcome: roll.Passed}}
	in := record.RegrindInput{Found: quantity.Micrometre(e.FoundUM), Ground: quantity.Micrometre(e.GroundUM), For: roll.ForWear, Grinder: fmt.Sprintf("G%d", e.Grinder+1), Tests: passed}
	if e.ForIncident {
		in.For = roll.ForIncident
	}
	if e.Scraps {
		in.Confirm = "used up"
	}
	_, err := s.RecordRegrind(s.ctx, engineer, e.Roll.Number, in)
	if !port.IsKind(err, port.Impossible) && !port.IsKind(err, port.Conflicting) && !port.IsKind(err, port.Doubtful) {
		return err
	}
	s.scores.askedBack++
	in.Found, in.Ground, in.Confirm = quantity.Micrometre(e.ReadFoundUM), quantity.Micrometre(e.ReadGroundUM), "read again"
	for _, q := range doubt.Names() {
		in.Confirmed = append(in.Confirmed, string(q))
	}
	if row, err := s.Roll(s.ctx, e.Roll.Number); err == nil {
		in.Found = min(in.Found, row.State.Diameter) // a slip of the grind before leaves it below what is there
		in.Ground = min(in.Ground, in.Found)
	}
	_, err = s.RecordRegrind(s.ctx, engineer, e.Roll.Number, in)
	return err
}

// announced loads a programme and asks, every few programmes, what is asked of it.
func (s *worldShop) announced(e *world.Announced) error {
	s.asked++
	if s.w.Day() < s.from || s.asked%*worldEvery != 0 {
		return nil
	}
	if _, err := s.LoadCampaign(s.ctx, engineer, e.Programme); err != nil {
		return err
	}
	answer, err := s.CheckFinish(s.ctx, plan.FinishInput{Campaign: e.Programme.Name})
	if err != nil {
		return err
	}
	for _, one := range answer.Stands {
		set, _ := s.w.In(one.Stand)
		s.scoreFinish(one, set, e)
		if *worldQuick {
			continue
		}
		if err := s.askChange(one.Stand, set); err != nil {
			return err
		}
	}
	if week := s.w.Day() / 7; week != s.week && !*worldQuick {
		s.week = week
		return s.askScrap()
	}
	return nil
}

// askChange asks when the set in a stand will come out.
func (s *worldShop) askChange(stand string, set *world.Set) error {
	f, err := s.ForecastRoll(s.ctx, set.Rolls[0].Number)
	if err != nil || !f.Change.Dates {
		return err
	}
	s.openChange = append(s.openChange, openChange{stand: stand, set: set, at: s.clock.now, said: f.Change.At, sheet: s.sheet.nextChange(stand, s.clock.now)})
	return nil
}

// askScrap asks for the scrap date of every roll.
func (s *worldShop) askScrap() error {
	for _, r := range s.w.Rolls() {
		if r.Gone() {
			continue
		}
		f, err := s.ForecastRoll(s.ctx, r.Number)
		if port.IsKind(err, port.Conflicting) {
			continue // a slip has it below its limit
		}
		if err != nil {
			return err
		}
		sheet, ok := s.sheet.scrap(r, s.clock.now)
		if !f.Life.Dates || !ok {
			s.scores.undated++
			continue
		}
		s.openScrap = append(s.openScrap, openScrap{roll: r, at: s.clock.now, said: f.Life.Scrap, sheet: sheet, leftMM: f.StockLeft.MM()})
	}
	return nil
}

// settle runs the world on, with nobody listening, until the rolls asked about
// are gone, and scores their dates.
func (s *worldShop) settle() {
	for range 40 {
		open := 0
		for _, o := range s.openScrap {
			if !o.roll.Gone() {
				open++
			}
		}
		if open == 0 {
			break
		}
		s.must(s.w.Run(60, world.Foreman{Mood: 0.05}, nil))
	}
	for _, o := range s.openScrap {
		if o.roll.Gone() {
			s.scores.scrapped(o)
		}
	}
}

type openChange struct {
	stand string
	set   *world.Set
	at    time.Time
	said  dates
	sheet time.Time
}

type openScrap struct {
	roll   *world.Roll
	at     time.Time
	said   dates
	sheet  time.Time
	leftMM float64
}

func (s *worldShop) settleChange(e *world.Change) {
	left := s.openChange[:0]
	for _, o := range s.openChange {
		if o.stand != e.Stand {
			left = append(left, o)
			continue
		}
		s.scores.change.add(o.at, o.said, o.sheet, e.When())
	}
	s.openChange = left
}
