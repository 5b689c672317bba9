package record

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"barrelbook/api/app/caution"
	"barrelbook/api/app/gather"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/domain/heat"
	"barrelbook/domain/next"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
	"barrelbook/domain/standgeometry"
	"barrelbook/domain/stock"
)

// RegrindInput is what the grinder hand tells.
type RegrindInput struct {
	At         time.Time // zero for now
	Found      quantity.Micrometre
	Ground     quantity.Micrometre
	For        roll.Purpose
	AboveShopK float64 // of the roll when found was read
	roll.Measures
	FoundStations []roll.Station
	// GrooveWornUM is the deepest wear of a groove as measured, nil to take what
	// was computed.
	GrooveWornUM *float64
	Grinder      string
	Tests        []roll.Test
	Confirm      string
	Confirmed    []string // questions of package doubt that are answered
	Note         string
}

// RegrindAnswer answers the first question: what came back, what was taken
// off, what is left, and is the roll fit to go out again.
type RegrindAnswer struct {
	Roll       string
	Entry      int64
	At         time.Time
	LastGround quantity.Micrometre
	Found      quantity.Micrometre
	Ground     quantity.Micrometre
	Wear       quantity.Micrometre
	Stock      quantity.Micrometre
	For        roll.Purpose
	// GrooveWorn is the deepest wear of a groove of a grooved roll, on diameter, and
	// GrooveMeasured is true where it was measured in the groove: the collars, on
	// which diameters are read, do not wear.
	GrooveWorn     *quantity.Micrometre
	GrooveMeasured bool
	Campaign       *port.Stay // the last stay that wore it, nil when it did not run since its last grind
	ScrapAt        quantity.Micrometre
	ScrapLimit     string
	StockLeft      quantity.Micrometre
	RegrindsLeft   int64
	Outlook        stock.Outlook
	FireCracks     roll.FireCracks
	RemovedKG      float64
	Partner        string
	Mismatch       quantity.Micrometre
	Tolerance      quantity.Micrometre
	AdvisedStock   *quantity.Micrometre
	Fitness        release.Verdict
	Owed           []roll.Owed
	Cautions       []string
	Notes          []string
	Next           []next.Step // where a figure is wrong
	DryRun         bool
	Version        int64
}

// RecordRegrind writes a regrind and answers. NotFound for an unknown roll;
// Conflicting when it is mounted, held, scrapped, or the entry contradicts the
// book; Impossible when the diameters cannot be; Doubtful when a figure looks like
// a slip and was not confirmed.
func (a *Recorder) RecordRegrind(ctx context.Context, call port.Call, number string, in RegrindInput) (RegrindAnswer, error) {
	answer, err := record(ctx, a, call, "recorded a regrind of roll "+number, func(w port.Writer, _ time.Time) (RegrindAnswer, error) {
		row, err := a.lockRoll(w, number, call)
		if err != nil {
			return RegrindAnswer{}, err
		}
		at, now, err := a.dated(w, in.At, row.State.LastAt)
		if err != nil {
			return RegrindAnswer{}, err
		}
		practices, err := gather.AllPractices(w)
		if err != nil {
			return RegrindAnswer{}, err
		}
		before, err := stateBefore(w, row.State, at)
		if err != nil {
			return RegrindAnswer{}, err
		}
		body, err := a.regrindBody(w, before, in, practices)
		if err != nil {
			return RegrindAnswer{}, err
		}
		ask := adviceFor(body)
		ask.GrooveWornUM = in.GrooveWornUM
		advice, err := a.planner.Advise(w, before, ask, practices)
		if err != nil {
			return RegrindAnswer{}, err
		}
		asked, err := a.askedOfGrind(w, before, body, at, advice, practices)
		if err != nil {
			return RegrindAnswer{}, err
		}
		open := settle(&body, asked)
		after, err := a.enter(w, row, call, at, now, "", body)
		if err != nil {
			return RegrindAnswer{}, err
		}
		if err := port.Asked(open); err != nil { // after the book has refused what cannot be
			return RegrindAnswer{}, err
		}
		if at.Before(row.State.LastAt) {
			book, err := w.Book(number)
			if err != nil {
				return RegrindAnswer{}, err
			}
			if err := a.groundOtherwise(w, now, number, book[:row.Version()]); err != nil {
				return RegrindAnswer{}, err
			}
		}
		answer, err := a.regrindAnswer(w, before, after, body, practices, advice.Stays, now)
		if err != nil {
			return RegrindAnswer{}, err
		}
		answer.GrooveMeasured = answer.GrooveWorn != nil && in.GrooveWornUM != nil
		answer.At, answer.DryRun, answer.AdvisedStock = at, call.DryRun, &advice.Stock
		warm, err := readWarm(w, before, body, practice.Resolve(practices, gather.CaseOf(before)), at)
		if answer.Cautions = append(answer.Cautions, warm...); len(warm) > 0 {
			answer.Next = append(answer.Next, next.CorrectRegrind(number))
		}
		if err != nil {
			return answer, err
		}
		histories, err := named(w, number, answer.Entry, body.Tests)
		answer.Cautions = append(answer.Cautions, histories...)
		return answer, err
	})
	a.Changed.Store(a.Changed.Load() || err == nil && !call.DryRun)
	return answer, err
}

// regrindBody turns the input into the body of an entry, with what is in force
// now and the found diameter brought to shop temperature.
func (a *Recorder) regrindBody(r port.Reader, s roll.State, in RegrindInput, practices []practice.Practice) (roll.Reground, error) {
	p := practice.Resolve(practices, gather.CaseOf(s))
	found := in.Found
	if in.AboveShopK != 0 {
		grade, err := r.Grade(s.Roll.Grade)
		if err != nil {
			return roll.Reground{}, err
		}
		cold := func(um quantity.Micrometre) quantity.Micrometre {
			return um - quantity.Micrometre(math.Round(heat.GrownUM(um.MM(), grade.Expansion(), in.AboveShopK)))
		}
		found = cold(found)
		in.FoundStations = slices.Clone(in.FoundStations)
		for i := range in.FoundStations {
			in.FoundStations[i].Diameter = cold(in.FoundStations[i].Diameter)
		}
	}
	worn, err := gather.GrooveWorn(r, s)
	if err != nil {
		return roll.Reground{}, err
	}
	if in.GrooveWornUM != nil && s.Roll.Grooved() {
		worn = quantity.Micrometre(math.Ceil(*in.GrooveWornUM))
	}
	tests, err := judgedBy(p, in.Tests)
	if err != nil {
		return roll.Reground{}, err
	}
	if err := onBarrel(s.Roll, in.Measures, tests); err != nil {
		return roll.Reground{}, err
	}
	if err := onBarrel(s.Roll, roll.Measures{Stations: in.FoundStations}, nil); err != nil {
		return roll.Reground{}, err
	}
	grown, err := fireCrackGrown(r, s, p)
	if err != nil {
		return roll.Reground{}, err
	}
	return roll.Reground{
		GrooveWorn: worn, FireCrackUM: grown,
		Found: found, FoundAsRead: in.Found, AboveShopK: in.AboveShopK, Ground: in.Ground,
		GaugeUncertainty: p.Micrometres(practice.GaugeUncertaintyUM),
		MaxPlausible:     p.Millimetres(practice.MaxPlausibleStockMM),
		For:              in.For, Measures: in.Measures, FoundStations: in.FoundStations,
		Grinder: in.Grinder, Tests: tests, Confirm: in.Confirm, Confirmed: in.Confirmed, Note: in.Note,
	}, nil
}

// stateBefore is the state at the moment of a late entry, or as it stands.
func stateBefore(r port.Reader, s roll.State, at time.Time) (roll.State, error) {
	if !at.Before(s.LastAt) {
		return s, nil
	}
	book, err := r.Book(s.Roll.Number)
	if err != nil {
		return roll.State{}, err
	}
	before, err := roll.ReplayUntil(book, at)
	if err != nil {
		return roll.State{}, port.BookError(err)
	}
	if before.Stage == "" {
		return s, nil // before the receipt: the entry itself will be refused
	}
	return before, nil
}

func (a *Recorder) regrindAnswer(r port.Reader, before roll.State, row port.RollRow, b roll.Reground, practices []practice.Practice, stays []port.Stay, now time.Time) (RegrindAnswer, error) {
	s := row.State
	p := practice.Resolve(practices, gather.CaseOf(s))
	partner, err := gather.PartnerOf(r, s)
	if err != nil {
		return RegrindAnswer{}, err
	}
	shop, err := gather.OpenShop(r, now)
	if err != nil {
		return RegrindAnswer{}, err
	}
	fitness, err := shop.Judge(s, partner, now)
	if err != nil {
		return RegrindAnswer{}, err
	}
	grade, err := r.Grade(s.Roll.Grade)
	if err != nil {
		return RegrindAnswer{}, err
	}
	removed, err := standgeometry.RemovedMassKG(b.Found, b.Ground, s.Roll.BarrelLength, grade.Density())
	if err != nil {
		return RegrindAnswer{}, port.Refused(err)
	}
	limit, name := s.ScrapLimit()
	answer := RegrindAnswer{
		Roll: s.Roll.Number, Entry: row.Version(), LastGround: before.Diameter, Found: b.Found, Ground: b.Ground,
		Wear: before.Diameter - b.Found, Stock: b.Found - b.Ground, For: b.For,
		ScrapAt: limit, ScrapLimit: name, StockLeft: b.Ground - limit,
		RegrindsLeft: plan.RegrindsLeft(b.Ground-limit, p), RemovedKG: removed,
		Outlook: stock.Next(before.Diameter-b.Ground, b.Ground-limit, p), FireCracks: s.FireCracks,
		Partner: s.Partner, Tolerance: p.Micrometres(practice.PairToleranceUM),
		Fitness: fitness, Owed: s.Owed,
		Cautions: caution.ForGrind(s, b.Ground), Version: row.Version(),
	}
	if s.Roll.Grooved() {
		answer.GrooveWorn = &b.GrooveWorn
	}
	if partner != nil {
		answer.Mismatch = roll.Mismatch(s, *partner)
	}
	if b.For == roll.ForRetexture {
		answer.Cautions = append(answer.Cautions, caution.Texturing)
	}
	if s.Stage == roll.StageScrapped && b.Ground < limit {
		answer.Cautions = append(answer.Cautions, fmt.Sprintf("This grind took the roll below its scrap limit %s (%s): it is scrapped. If a figure is wrong, take the regrind back.", limit, name))
		answer.Next = append(answer.Next, next.WithdrawEntry(s.Roll.Number, strconv.FormatInt(row.Version(), 10)))
	}
	if len(stays) > 0 {
		answer.Campaign = &stays[0]
	}
	answer.Notes = append(answer.Notes, fmt.Sprintf("regrinds left: stock left by the normal stock %s (%s)",
		p.Millimetres(practice.NormalStockMM), p.Value(practice.NormalStockMM).Source))
	if b.AboveShopK != 0 {
		answer.Notes = append(answer.Notes, fmt.Sprintf("found %s was read %g K above the shop and is %s at shop temperature", b.FoundAsRead, b.AboveShopK, b.Found))
	}
	return answer, nil
}

// adviceFor is the question what to take off, as it stood before a grind.
func adviceFor(b roll.Reground) plan.AdviceInput {
	return plan.AdviceInput{Found: b.Found, FoundStations: b.FoundStations, CrackDepthUM: deepestCrack(b.Tests)}
}

func deepestCrack(tests []roll.Test) float64 {
	deepest := 0.0
	for _, t := range tests {
		deepest = max(deepest, t.CrackDepthUM)
	}
	return deepest
}
