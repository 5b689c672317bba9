package plan

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/wear"
)

// A finish answer is scored where it was given of a programme about to begin: at
// most so long before it, when the sets in the stands are those it begins with, and
// so long after, as long as nothing of it was rolled.
const (
	finishBefore = time.Hour
	finishAfter  = 24 * time.Hour
)

// finishForecasts asks, of each mill's programme that is about to begin, whether the
// sets in its stands finish it. Who asks the same question records nothing: what is
// scored hangs on what was rolled and not on who looked how often.
func (a *Planner) finishForecasts(ctx context.Context, now time.Time) (kept []port.ForecastRow, err error) {
	due, err := a.dueProgrammes(ctx, now)
	if err != nil || len(due) == 0 {
		return nil, err
	}
	k, err := a.learner.Known(ctx)
	if err != nil {
		return nil, err
	}
	err = a.store.Read(ctx, func(r port.Reader) error {
		for _, name := range due {
			c, err := a.newFinishCheck(r, FinishInput{Campaign: name}, k.Rates)
			if err != nil {
				return err
			}
			if c.withoutKept(); len(c.stands) == 0 {
				continue
			}
			answer, err := c.answer()
			if port.IsKind(err, port.Impossible) {
				continue // of this programme nothing can be said
			}
			if err != nil {
				return err
			}
			rows, err := c.keptFinish(answer, k)
			if err != nil {
				return err
			}
			kept = append(kept, rows...)
		}
		return nil
	})
	return kept, err
}

// dueProgrammes are those about to begin, one of a mill: the newest.
func (a *Planner) dueProgrammes(ctx context.Context, now time.Time) (due []string, err error) {
	err = a.store.Read(ctx, func(r port.Reader) error {
		mills, err := port.Drain(r.Mills)
		if err != nil {
			return err
		}
		for _, m := range mills {
			for page := (port.Page{Limit: 20}); ; {
				programmes, next, err := r.Campaigns(m.Name, page)
				if err != nil {
					return err
				}
				name, older, err := dueOf(r, m.Name, programmes, now)
				if err != nil {
					return err
				}
				if name != "" {
					due = append(due, name)
				}
				if page.After = next; older || name != "" || next == "" {
					break
				}
			}
		}
		return nil
	})
	return due, err
}

// dueOf is the first programme of a page that is about to begin, and whether the
// page reaches back to those that are not.
func dueOf(r port.Reader, millName string, newestFirst []port.ProgrammeSummary, now time.Time) (name string, older bool, err error) {
	for _, p := range newestFirst {
		switch {
		case p.StartsAt.After(now.Add(finishBefore)):
			continue
		case p.StartsAt.Before(now.Add(-finishAfter)):
			return "", true, nil
		}
		rolled, _, err := r.PiecesBetween(millName, p.StartsAt, time.Time{}, port.Page{Limit: 1})
		if err != nil || len(rolled) > 0 {
			return "", true, err
		}
		return p.Name, true, nil
	}
	return "", false, nil
}

// workStay is the stay of the set of work rolls in a stand, nil where there is none.
func (c *finishCheck) workStay(stand string) *port.Stay {
	for i, m := range c.Mounted[stand] {
		if m.Position.Role() == mill.Work {
			return &c.Mounted[stand][i]
		}
	}
	return nil
}

func (c *finishCheck) isWorkRoll(stand, number string) bool {
	for _, m := range c.Mounted[stand] {
		if m.Roll == number {
			return m.Position.Role() == mill.Work
		}
	}
	return false
}

func (c *finishCheck) aboutFinish(stand string, m *port.Stay) string {
	return fmt.Sprintf("%s/%s/%s/%s", c.campaign.Name, stand, m.Set, m.MountedAt.UTC().Format(time.RFC3339))
}

// withoutKept leaves the stands whose set was not asked about.
func (c *finishCheck) withoutKept() {
	var stands []mill.Stand
	for _, s := range c.stands {
		m := c.workStay(s.Name)
		if m == nil || m.Set == "" {
			continue
		}
		if kept, err := c.r.ForecastKept(port.ForecastFinish, c.aboutFinish(s.Name, m)); err != nil || !kept {
			stands = append(stands, s)
		}
	}
	c.stands = stands
}

// keptFinish is the answers as they are scored later: of the sets of work rolls in
// their stands that may run.
func (c *finishCheck) keptFinish(answer FinishAnswer, k learn.Knowledge) (rows []port.ForecastRow, err error) {
	basis, err := learn.NewBasis(c.r)
	if err != nil {
		return nil, err
	}
	for _, one := range answer.Stands {
		m := c.workStay(one.Stand)
		if m == nil || m.Set != one.Set || one.Verdict == finish.Blocked {
			continue
		}
		in := learn.FinishBasis{Campaign: answer.Campaign, Set: one.Set, MountedAt: m.MountedAt, UsedT: m.Usage.TonnageT, Verdict: string(one.Verdict), Modelled: new(one.Modelled)}
		for _, margin := range one.Margins {
			if margin.Criterion == "wear" && margin.Groove == 0 && c.isWorkRoll(one.Stand, margin.Roll) {
				in.WearLimitUM = margin.Limit
			}
		}
		for _, piece := range c.campaign.Pieces {
			for _, pass := range piece.Passes {
				if pass.Stand == one.Stand {
					in.NeedT += piece.MassT
					break
				}
			}
		}
		mean, sd := basis.RuleRate(k.Rows, mill.Work, one.Stand, c.Now)
		in.RuleProbability = c.ruleProbability(one.Stand, m.Usage.RolledKM, in.WearLimitUM, mean, sd)
		p := one.Probability
		rows = append(rows, port.ForecastRow{Kind: port.ForecastFinish, About: c.aboutFinish(one.Stand, m), Roll: m.Roll, Grade: c.States[m.Roll].Roll.Grade,
			Stand: one.Stand, AskedAt: c.Now, AskedBy: keptBy, RatesVersion: k.Rates.Version, Probability: &p, Input: jsonText(in)})
	}
	return rows, nil
}

// ruleProbability is what the spreadsheet's rule says of a set that has rolled so far:
// that mean and spread of wear per kilometre keep it below the limit on wear.
func (c *finishCheck) ruleProbability(stand string, km, limitUM, mean, sd float64) *float64 {
	if mean <= 0 || sd <= 0 || limitUM == 0 {
		return nil
	}
	for _, piece := range c.campaign.Pieces {
		for _, pass := range piece.Passes {
			if pass.Stand != stand {
				continue
			}
			if l, err := wear.RolledKM(piece.MassT, cmp.Or(pass.WidthMM, piece.WidthMM), pass.ExitThicknessMM, c.mill.Density()); err == nil {
				km += l
			}
		}
	}
	return new(math.Erfc((mean*km-limitUM)/(sd*km)/math.Sqrt2) / 2)
}
