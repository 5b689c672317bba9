package plan

import (
	"strings"

	"barrelbook/api/app/learn"
	"barrelbook/domain/roll"
	"barrelbook/domain/stockplan"
)

// ScrapOf forecasts the scrap date of one roll from what is in memory, and what
// a month takes off it. why tells why there is no date.
func (o *Outlook) ScrapOf(s roll.State) (one stockplan.Roll, usePerMonthUM float64, why string) {
	one = stockplan.Roll{Number: s.Roll.Number, Grade: s.Roll.Grade, ScrapP10: o.now, ScrapP50: o.now, ScrapP90: o.now}
	switch {
	case s.Stage == roll.StageScrapped:
		return one, 0, "scrapped"
	case s.StockLeft() < 0:
		return one, 0, "" // to be replaced now
	}
	f, err := o.life(s)
	switch {
	case err != nil:
		return one, 0, err.Error()
	case !f.Life.Dates:
		return one, 0, strings.Join(f.Life.Notes, "; ")
	}
	one.ScrapP10, one.ScrapP50, one.ScrapP90, one.SharedCV = f.Life.Scrap.P10, f.Life.Scrap.P50, f.Life.Scrap.P90, f.Life.SharedCV
	return one, (f.Life.WearUM + f.Life.StockUM + f.Life.ExtraUM) * learn.DaysPerMonth / f.Life.DaysPerCycle, ""
}
