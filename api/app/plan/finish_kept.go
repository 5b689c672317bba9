package plan

import (
	"fmt"
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
)

// keptOnceIn is how often the same question is kept: screens ask it every few
// seconds, and each answer more of the same minute would count for the same outcome.
const keptOnceIn = time.Minute

// keptFinish is the answers of a finish check as they are scored later: of work
// sets in their stands. An answer about a set that is not in, or that may not run,
// is kept and void from the start.
func (c *finishCheck) keptFinish(answer FinishAnswer, ratesVersion int64) []port.ForecastRow {
	if !c.in.AsOf.IsZero() {
		return nil // about the past
	}
	var rows []port.ForecastRow
	for _, one := range answer.Stands {
		p := one.Probability
		row := port.ForecastRow{Kind: port.ForecastFinish, About: fmt.Sprintf("%s/%s/%s/%s", answer.Campaign, one.Stand, one.Set, c.Now.UTC().Truncate(keptOnceIn).Format(time.RFC3339)),
			Stand: one.Stand, AskedAt: c.Now, AskedBy: c.in.AskedBy, RatesVersion: ratesVersion, Probability: &p}
		in := learn.FinishBasis{Campaign: answer.Campaign, Set: one.Set, Verdict: string(one.Verdict)}
		for _, m := range c.Mounted[one.Stand] {
			if m.Set == one.Set && m.Position.Role() == mill.Work {
				row.Roll, row.Grade = m.Roll, c.States[m.Roll].Roll.Grade
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
			row.Void, row.SettledAt = "the set was not in the stand", c.Now
		} else if one.Verdict == finish.Blocked {
			row.Void, row.SettledAt = "the set may not run", c.Now
		}
		rows = append(rows, row)
	}
	return rows
}
