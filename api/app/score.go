package app

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
	"barrelbook/domain/score"
)

// ScoreReport says how forecasts did.
type ScoreReport struct {
	AskedAt time.Time
	// Nominal is what the intervals are meant to hold.
	Nominal   float64
	Intervals []IntervalScore // by kind
	Finish    score.ChanceScore
	// Open are the forecasts whose outcome is not known yet, Void those that will
	// never have one, and why, most frequent first.
	Open  int
	Void  int
	Notes []string
}

// IntervalScore is the score of one kind of forecast.
type IntervalScore struct {
	Kind ForecastKind
	score.IntervalScore
}

// ScoreInput narrows the forecasts scored. Zero fields stand for any.
type ScoreInput struct {
	Grade, Stand string
	From         time.Time
}

// nominalCoverage is what an interval of a kept forecast is meant to hold.
const nominalCoverage = 0.9

// ReportScores settles the forecasts whose outcome is known by now and scores
// them all. Impossible where a period begins in the future.
func (a *App) ReportScores(ctx context.Context, in ScoreInput) (ScoreReport, error) {
	now := a.clock.Now()
	if in.From.After(now) {
		return ScoreReport{}, impossible(refusal.One("from", in.From.Format(time.RFC3339), "is in the future", ""))
	}
	if _, err := a.known(ctx); err != nil {
		return ScoreReport{}, err
	}
	if err := a.settle(ctx, now); err != nil {
		return ScoreReport{}, err
	}
	report := ScoreReport{AskedAt: now, Nominal: nominalCoverage}
	err := a.store.Read(ctx, func(r Reader) error {
		of := ForecastFilter{Grade: in.Grade, Stand: in.Stand, From: in.From}
		settled, err := drain(func(p Page) ([]ForecastRow, string, error) { return r.Forecasts(of, p) })
		if err != nil {
			return err
		}
		of.Open = true
		of.From = time.Time{}
		open, err := drain(func(p Page) ([]ForecastRow, string, error) { return r.Forecasts(of, p) })
		if err != nil {
			return err
		}
		report.Open = len(open)
		return report.add(settled)
	})
	return report, err
}

func (s *ScoreReport) add(rows []ForecastRow) error {
	var chances []score.Chance
	intervals := map[ForecastKind][]score.Interval{}
	for _, f := range rows {
		switch {
		case f.Outcome == nil:
			s.Void++
		case f.Probability != nil:
			chances = append(chances, score.Chance{Probability: *f.Probability, Happened: *f.Outcome > 0})
		default:
			intervals[f.Kind] = append(intervals[f.Kind], score.Interval{Low: *f.Low, Middle: *f.Middle, High: *f.High, Outcome: *f.Outcome})
		}
	}
	var err error
	if s.Finish, err = score.Chances(chances); err != nil {
		return err
	}
	for _, kind := range []ForecastKind{ForecastWear, ForecastChange, ForecastScrap} {
		one, err := score.Intervals(intervals[kind])
		if err != nil {
			return err
		}
		s.Intervals = append(s.Intervals, IntervalScore{kind, one})
	}
	s.Notes = append(s.Notes,
		"wear: each regrind is held against the rates in force before it was recorded; regrinds after cracks and incidents are left out",
		"next change and scrap date: forecasts asked for with roll forecast; changes after mishaps and rolls lost before their limit are void",
		"finish: a set that rolled the rest of its campaign finished; one that came out for wear or surface before did not; other changes are void")
	return nil
}

// settle writes what came of open forecasts.
func (a *App) settle(ctx context.Context, now time.Time) error {
	type verdict struct {
		id      int64
		outcome *float64
		void    string
	}
	var known []verdict
	err := a.store.Read(ctx, func(r Reader) error {
		open, err := drain(func(p Page) ([]ForecastRow, string, error) { return r.Forecasts(ForecastFilter{Open: true}, p) })
		if err != nil {
			return err
		}
		for _, f := range open {
			outcome, void, err := outcomeOf(r, f)
			if err != nil {
				return fmt.Errorf("settling forecast %d: %w", f.ID, err)
			}
			if outcome != nil || void != "" {
				known = append(known, verdict{f.ID, outcome, void})
			}
		}
		return nil
	})
	if err != nil || len(known) == 0 {
		return err
	}
	return a.store.Write(ctx, func(w Writer) error {
		for _, v := range known {
			if err := w.SettleForecast(v.id, v.outcome, now, v.void); err != nil && !IsKind(err, Conflicting) {
				return err
			}
		}
		return nil
	})
}

// outcomeOf is what came of a forecast, nil and "" where it is still open.
func outcomeOf(r Reader, f ForecastRow) (outcome *float64, void string, err error) {
	switch f.Kind {
	case ForecastScrap:
		return scrapOutcome(r, f)
	case ForecastChange:
		var in changeInput
		if err := json.Unmarshal([]byte(f.Input), &in); err != nil {
			return nil, "", err
		}
		m, why, err := stretchOf(r, f, in.MountedAt)
		switch {
		case err != nil || m == nil || m.WithdrawnAt.IsZero():
			return nil, "", err
		case why == roll.Mishap || why == roll.Bearing:
			return nil, "changed after a mishap", nil
		}
		return number(m.Usage.TonnageT), "", nil
	case ForecastFinish:
		return finishOutcome(r, f)
	}
	return nil, "", nil
}

func scrapOutcome(r Reader, f ForecastRow) (*float64, string, error) {
	row, err := r.Roll(f.Roll)
	switch s := row.State; {
	case err != nil || s.Stage != roll.StageScrapped:
		return nil, "", err
	case s.ScrapWhy != roll.ByDiameter:
		return nil, "lost before its limit: " + string(s.ScrapWhy), nil
	default:
		return number(monthsUntil(f.AskedAt, s.ScrappedAt)), "", nil
	}
}

// finishInput is what a finish answer was about.
type finishInput struct {
	Campaign  string    `json:"campaign"`
	Set       string    `json:"set"`
	MountedAt time.Time `json:"mounted_at"`
	UsedT     float64   `json:"used_t"` // before
	NeedT     float64   `json:"need_t"` // ahead in the campaign
	Verdict   string    `json:"verdict"`
}

func finishOutcome(r Reader, f ForecastRow) (*float64, string, error) {
	var in finishInput
	if err := json.Unmarshal([]byte(f.Input), &in); err != nil {
		return nil, "", err
	}
	m, why, err := stretchOf(r, f, in.MountedAt)
	switch {
	case err != nil || m == nil:
		return nil, "", err
	case m.Usage.TonnageT >= in.UsedT+0.995*in.NeedT: // the mill's weights differ a little from the programme's
		return number(1), "", nil
	case m.WithdrawnAt.IsZero():
		return nil, "", nil
	case why == roll.Wear || why == roll.Surface:
		return number(0), "", nil
	}
	return nil, "came out before the end for another reason: " + strings.ReplaceAll(string(why), "_", " "), nil
}

// stretchOf finds the stay in a stand that a forecast was about, and why it
// ended.
func stretchOf(r Reader, f ForecastRow, mountedAt time.Time) (*MountingRow, roll.Why, error) {
	page := Page{Limit: 50}
	for {
		rows, next, err := r.Mountings(f.Roll, page)
		if err != nil {
			return nil, "", err
		}
		for i, m := range rows {
			if m.MountedAt.Equal(mountedAt) {
				if m.WithdrawnAt.IsZero() {
					return &rows[i], "", nil
				}
				why, err := whyOut(r, m)
				return &rows[i], why, err
			}
			if m.MountedAt.Before(mountedAt) {
				return nil, "", nil
			}
		}
		if page.After = next; next == "" {
			return nil, "", nil
		}
	}
}

// whyOut reads in the roll's book why it came out.
func whyOut(r Reader, m MountingRow) (roll.Why, error) {
	book, err := r.Book(m.Roll)
	if err != nil {
		return "", err
	}
	for i := len(book) - 1; i >= 0; i-- {
		if b, ok := book[i].Body.(roll.Withdrawn); ok && book[i].At.Equal(m.WithdrawnAt) {
			return b.Why, nil
		}
	}
	return roll.Planned, nil
}

// keptFinish is the answers of a finish check as they are scored later: of work
// sets in their stands. An answer about a set that is not in, or that may not run,
// is kept and void from the start.
func (c *finishCheck) keptFinish(answer FinishAnswer, ratesVersion int64) []ForecastRow {
	if !c.in.AsOf.IsZero() {
		return nil // about the past
	}
	var rows []ForecastRow
	for _, one := range answer.Stands {
		p := one.Probability
		row := ForecastRow{Kind: ForecastFinish, About: fmt.Sprintf("%s/%s/%s/%s", answer.Campaign, one.Stand, one.Set, c.now.Format(time.RFC3339Nano)),
			Stand: one.Stand, AskedAt: c.now, AskedBy: c.in.AskedBy, RatesVersion: ratesVersion, Probability: &p}
		in := finishInput{Campaign: answer.Campaign, Set: one.Set, Verdict: string(one.Verdict)}
		for _, m := range c.mounted[one.Stand] {
			if m.Set == one.Set && m.Position.Role() == mill.Work {
				row.Roll, row.Grade = m.Roll, c.rows[m.Roll].Roll.Grade
				in.MountedAt, in.UsedT = m.MountedAt, m.Usage.TonnageT
			}
		}
		for _, piece := range c.campaign.Pieces[c.in.FromPiece-1:] {
			for _, pass := range piece.Passes {
				if pass.Stand == one.Stand {
					in.NeedT += piece.MassT
					break
				}
			}
		}
		row.Input = jsonText(in)
		if in.MountedAt.IsZero() {
			row.Void, row.SettledAt = "the set was not in the stand", c.now
		} else if one.Verdict == finish.Blocked {
			row.Void, row.SettledAt = "the set may not run", c.now
		}
		rows = append(rows, row)
	}
	return rows
}
