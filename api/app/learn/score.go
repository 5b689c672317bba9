package learn

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
	"barrelbook/domain/score"
)

// DaysPerMonth turns days into months of equal length.
const DaysPerMonth = 365.25 / 12

// MonthsUntil is how many months of equal length lie between two moments.
func MonthsUntil(from, to time.Time) float64 { return to.Sub(from).Hours() / 24 / DaysPerMonth }

// ScoreReport says how forecasts did.
type ScoreReport struct {
	AskedAt time.Time
	// Nominal is what the intervals are meant to hold.
	Nominal   float64
	Intervals []IntervalScore // by kind
	Finish    FinishScore
	// Parts are the same by kind with stand and grade, and by how far ahead.
	Parts []ScorePart
	// Open are the forecasts whose outcome is not known yet, Void those that will
	// never have one, and why, most frequent first.
	Open  int
	Void  int
	Notes []string
}

// IntervalScore is the score of one kind of forecast.
type IntervalScore struct {
	Kind port.ForecastKind
	score.IntervalScore
	score.DistributionScore
	Rule score.Skill
}

// FinishScore is the score of the answers about finishing. Against the rule errors are
// those of probabilities.
type FinishScore struct {
	score.ChanceScore
	Rule score.Skill
}

// ScorePart is the score of a part of the forecasts of a kind; Horizon is empty where
// it is by stand and grade. Of intervals it has Coverage, Bias and AbsoluteError, of
// probabilities Brier and CalibrationError.
type ScorePart struct {
	Kind                          port.ForecastKind
	Stand, Grade, Horizon         string
	Count                         int
	Coverage, Bias, AbsoluteError *float64
	Brier, CalibrationError       *float64
	Rule                          score.Skill
}

func (j *judged) part(of ScorePart) (ScorePart, error) {
	of.Rule = score.Against(j.rivals)
	if len(j.chances) > 0 {
		c, err := score.Chances(j.chances)
		of.Count, of.Brier, of.CalibrationError = c.Count, &c.Brier, &c.ECE
		return of, err
	}
	i, err := score.Intervals(j.intervals)
	of.Count, of.Coverage, of.Bias, of.AbsoluteError = i.Count, &i.Coverage, &i.Bias, &i.AbsoluteError
	return of, err
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
func (l *Learner) ReportScores(ctx context.Context, in ScoreInput) (ScoreReport, error) {
	now := l.clock.Now()
	if in.From.After(now) {
		return ScoreReport{}, port.Refused(refusal.One("from", in.From.Format(time.RFC3339), "is in the future", ""))
	}
	if _, err := l.Known(ctx); err != nil {
		return ScoreReport{}, err
	}
	if err := l.Settle(ctx, now, ""); err != nil {
		return ScoreReport{}, err
	}
	report := ScoreReport{AskedAt: now, Nominal: nominalCoverage}
	err := l.store.Read(ctx, func(r port.Reader) error {
		of := port.ForecastFilter{Grade: in.Grade, Stand: in.Stand, From: in.From}
		settled, err := port.Drain(func(p port.Page) ([]port.ForecastRow, string, error) { return r.Forecasts(of, p) })
		if err != nil {
			return err
		}
		of.Open = true
		of.From = time.Time{}
		open, err := port.Drain(func(p port.Page) ([]port.ForecastRow, string, error) { return r.Forecasts(of, p) })
		if err != nil {
			return err
		}
		report.Open = len(open)
		return report.add(settled)
	})
	return report, err
}

// judged are forecasts that are scored together.
type judged struct {
	chances   []score.Chance
	intervals []score.Interval
	rivals    []score.Rival
}

func (j *judged) add(f port.ForecastRow) {
	rule := ruleOf(f)
	if f.Probability != nil {
		happened := *f.Outcome > 0
		j.chances = append(j.chances, score.Chance{Probability: *f.Probability, Happened: happened})
		if rule != nil {
			j.rivals = append(j.rivals, score.Rival{Said: *f.Probability, Rule: *rule, Outcome: min(*f.Outcome, 1)})
		}
		return
	}
	j.intervals = append(j.intervals, score.Interval{Low: *f.Low, Middle: *f.Middle, High: *f.High, Outcome: *f.Outcome})
	if rule != nil {
		j.rivals = append(j.rivals, score.Rival{Said: *f.Middle, Rule: *rule, Outcome: *f.Outcome})
	}
}

// ruleOf is what the spreadsheet's rule said in the place of a forecast, nil where it
// was not asked.
func ruleOf(f port.ForecastRow) *float64 {
	var in struct {
		UM *float64 `json:"rule_um"`
		P  *float64 `json:"rule_probability"`
	}
	if json.Unmarshal([]byte(f.Input), &in) != nil {
		return nil
	}
	if f.Probability != nil {
		return in.P
	}
	return in.UM
}

// horizonOf says how far ahead a scrap date was, "" of what has no such thing.
func horizonOf(f port.ForecastRow) string {
	switch {
	case f.Kind != port.ForecastScrap:
		return ""
	case *f.Middle < 3:
		return "under 3 months"
	case *f.Middle < 12:
		return "3 to 12 months"
	}
	return "over 12 months"
}

func (s *ScoreReport) add(rows []port.ForecastRow) error {
	type key struct {
		kind                  port.ForecastKind
		horizon, stand, grade string
	}
	all, parts := map[port.ForecastKind]*judged{}, map[key]*judged{}
	for _, f := range rows {
		if f.Outcome == nil {
			s.Void++
			continue
		}
		if all[f.Kind] == nil {
			all[f.Kind] = &judged{}
		}
		all[f.Kind].add(f)
		of := []key{{kind: f.Kind, stand: f.Stand, grade: f.Grade}}
		if h := horizonOf(f); h != "" {
			of = append(of, key{kind: f.Kind, horizon: h})
		}
		for _, k := range of {
			if parts[k] == nil {
				parts[k] = &judged{}
			}
			parts[k].add(f)
		}
	}
	var err error
	if j := all[port.ForecastFinish]; j != nil {
		s.Finish.Rule = score.Against(j.rivals)
		if s.Finish.ChanceScore, err = score.Chances(j.chances); err != nil {
			return err
		}
	} else if s.Finish.ChanceScore, err = score.Chances(nil); err != nil {
		return err
	}
	for _, kind := range []port.ForecastKind{port.ForecastWear, port.ForecastChange, port.ForecastScrap} {
		j := all[kind]
		if j == nil {
			j = &judged{}
		}
		one := IntervalScore{Kind: kind, DistributionScore: score.Distributions(j.intervals), Rule: score.Against(j.rivals)}
		if one.IntervalScore, err = score.Intervals(j.intervals); err != nil {
			return err
		}
		s.Intervals = append(s.Intervals, one)
	}
	keys := slices.SortedFunc(maps.Keys(parts), func(a, b key) int {
		return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.horizon, b.horizon), cmp.Compare(a.stand, b.stand), cmp.Compare(a.grade, b.grade))
	})
	for _, k := range keys {
		part, err := parts[k].part(ScorePart{Kind: k.kind, Stand: k.stand, Grade: k.grade, Horizon: k.horizon})
		if err != nil {
			return err
		}
		s.Parts = append(s.Parts, part)
		if part.Rule.Loses() {
			s.Notes = append(s.Notes, fmt.Sprintf("%s of %s in %s: the spreadsheet's rule did better by %.0f %% over %d answers", k.kind, k.grade, k.stand, -100*part.Rule.Share(), part.Rule.Count))
		}
	}
	s.Notes = append(s.Notes,
		"wear: each regrind is held against the rates in force before it was recorded; regrinds after cracks and incidents are left out",
		"next change and scrap date: the forecasts that the service makes of its own, one a day of each roll in a stand or just ground; changes after mishaps and rolls lost before their limit are void",
		"finish: what the service asks itself of each set when a programme is about to begin, once, whoever else asks; a set that rolled the rest of its campaign finished; one that came out for wear or surface before did not; other changes are void")
	return nil
}

// Settle writes what came of open forecasts of a kind, of all where it is empty, so
// that the next answers are calibrated on them.
func (l *Learner) Settle(ctx context.Context, now time.Time, kind port.ForecastKind) error {
	type verdict struct {
		id      int64
		outcome *float64
		void    string
	}
	var known []verdict
	err := l.store.Read(ctx, func(r port.Reader) error {
		open, err := port.Drain(func(p port.Page) ([]port.ForecastRow, string, error) {
			return r.Forecasts(port.ForecastFilter{Open: true, Kind: kind}, p)
		})
		if err != nil {
			return err
		}
		for _, f := range open {
			outcome, void, err := outcomeOf(r, f, now)
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
	return l.store.Write(ctx, func(w port.Writer) error {
		for _, v := range known {
			if err := w.SettleForecast(v.id, v.outcome, now, v.void); err != nil && !port.IsKind(err, port.Conflicting) {
				return err
			}
		}
		return nil
	})
}

// outcomeOf is what came of a forecast, nil and "" where it is still open.
func outcomeOf(r port.Reader, f port.ForecastRow, now time.Time) (outcome *float64, void string, err error) {
	switch f.Kind {
	case port.ForecastScrap:
		return scrapOutcome(r, f)
	case port.ForecastChange:
		var in ChangeBasis
		if err := json.Unmarshal([]byte(f.Input), &in); err != nil {
			return nil, "", err
		}
		m, why, err := stayOf(r, f, in.MountedAt)
		switch {
		case err == nil && wasOut(f, m):
			return nil, toldLater, nil
		case err != nil || m.WithdrawnAt.IsZero():
			return nil, "", err
		case why == roll.Mishap || why == roll.Bearing:
			return nil, "changed after a mishap", nil
		}
		return new(m.Usage.TonnageT), "", nil
	case port.ForecastFinish:
		return finishOutcome(r, f, now)
	}
	return nil, "", nil
}

func scrapOutcome(r port.Reader, f port.ForecastRow) (*float64, string, error) {
	row, err := r.Roll(f.Roll)
	switch s := row.State; {
	case err != nil || s.Stage != roll.StageScrapped:
		return nil, "", err
	case s.ScrapWhy != roll.ByDiameter:
		return nil, "lost before its limit: " + string(s.ScrapWhy), nil
	default:
		return new(MonthsUntil(f.AskedAt, s.ScrappedAt)), "", nil
	}
}

// ChangeBasis is what a kept forecast of the next change was made from.
type ChangeBasis struct {
	MountedAt time.Time `json:"mounted_at"`
	UsedT     float64   `json:"used_t"`
	Limit     string    `json:"limit"`
}

// FinishBasis is what a finish answer was about.
type FinishBasis struct {
	Campaign  string    `json:"campaign"`
	Set       string    `json:"set"`
	MountedAt time.Time `json:"mounted_at"`
	UsedT     float64   `json:"used_t"` // before
	NeedT     float64   `json:"need_t"` // ahead in the campaign
	Verdict   string    `json:"verdict"`
	// Modelled is the probability before it was recalibrated.
	Modelled *float64 `json:"modelled,omitempty"`
	// RuleProbability is what the spreadsheet's rule would have said.
	RuleProbability *float64 `json:"rule_probability,omitempty"`
	// WearLimitUM is the limit on the deepest wear of the work rolls; 0 for none.
	WearLimitUM float64 `json:"wear_limit_um,omitempty"`
}

// toldLater is why nothing comes of a forecast that was made of what the books
// said then. It stays as it was made.
const toldLater = "the roll was not in the stand then, as was told later"

// wasOut says whether the stay that a forecast was about never was, or was over
// when it was asked.
func wasOut(f port.ForecastRow, m *port.Stay) bool {
	return m == nil || !m.WithdrawnAt.IsZero() && !m.WithdrawnAt.After(f.AskedAt)
}

// stayOf finds the stay in a stand that a forecast was about, and why it
// ended.
func stayOf(r port.Reader, f port.ForecastRow, mountedAt time.Time) (*port.Stay, roll.Why, error) {
	page := port.Page{Limit: 50}
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
func whyOut(r port.Reader, m port.Stay) (roll.Why, error) {
	book, err := r.Book(m.Roll)
	if err != nil {
		return "", err
	}
	for i := len(book) - 1; i >= 0; i-- {
		if !book[i].At.Equal(m.WithdrawnAt) {
			continue
		}
		switch b := book[i].Body.(type) {
		case roll.Withdrawn:
			return b.Why, nil
		case roll.PastStay:
			return b.Why, nil
		}
	}
	return roll.Planned, nil
}
