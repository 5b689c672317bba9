package report

import (
	"context"
	"time"

	"barrelbook/api/app/learn"
	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
	"barrelbook/domain/stockplan"
)

// StockGroup is rolls that can take one another's place: of one role and mill,
// for the same stands.
type StockGroup struct {
	Mill        string
	Role        mill.Role
	Stands      []string
	Rolls       int
	ByStage     map[roll.Stage]int
	Held        int
	StockLeftMM float64
	// Needed, CoverMonths and the orders are as in the buying plan.
	Cover stockplan.Cover
}

// StockReport is what there is.
type StockReport struct {
	AskedAt time.Time
	Model   string
	Groups  []StockGroup
	Notes   []string
}

// BuyingInput asks what to buy.
type BuyingInput struct {
	Mill string
	// Months of ordering looked at; 0 for 12.
	Months float64
	// TonnagePerMonth is what the mill is to roll; 0 for as much as lately.
	TonnagePerMonth float64
	// NeededRolls is how many rolls each group must keep; 0 for as the practice says
	// of its stands, and where it does not for as many as there are.
	NeededRolls int
}

// BuyingReport is which rolls to order by when.
type BuyingReport struct {
	stockplan.Plan
	AskedAt      time.Time
	Model        string
	RatesVersion int64
	Pace         float64
	// RecentPerMonthT is the tonnage of the last quarter, by month.
	RecentPerMonthT float64
	Unforecast      []string // rolls without a scrap date, and why
	Notes           []string
}

// ReportStock counts the rolls and what is left on them, with the months it
// lasts.
func (a *Reporter) ReportStock(ctx context.Context, millName string) (StockReport, error) {
	fleet, err := a.fleet(ctx, BuyingInput{Mill: millName})
	if err != nil {
		return StockReport{}, err
	}
	report := StockReport{AskedAt: fleet.now, Model: plan.ForecastModel, Groups: fleet.groups,
		Notes: []string{"months of cover: stock above the limits over what a month takes in the rhythm of the past cycles; rolls that go round several stands count once, with all their stands"}}
	plan, err := stockplan.Make(stockplan.Input{Now: fleet.now, Until: fleet.now, Pace: 1, Groups: fleet.plans})
	if err != nil {
		return report, port.Refused(err)
	}
	for i := range report.Groups {
		report.Groups[i].Cover = plan.Covers[i]
	}
	return report, nil
}

// ReportBuying plans the orders. Impossible for figures that cannot be.
func (a *Reporter) ReportBuying(ctx context.Context, in BuyingInput) (BuyingReport, error) {
	var c refusal.Check
	c.Within("months", in.Months, 0, 120)
	c.NotNegative("tonnage_per_month_t", in.TonnagePerMonth)
	if err := c.Err(); err != nil {
		return BuyingReport{}, port.Refused(err)
	}
	if in.Months == 0 {
		in.Months = 12
	}
	fleet, err := a.fleet(ctx, in)
	if err != nil {
		return BuyingReport{}, err
	}
	report := BuyingReport{AskedAt: fleet.now, Model: plan.ForecastModel, RatesVersion: fleet.version, Pace: 1, RecentPerMonthT: fleet.recentT, Unforecast: fleet.without,
		Notes: []string{"order by: as late as keeps the chance that a group is short at the level of the practice (short_chance), deliveries late or early by a tenth of their time; rolls on order count from the day they are due"}}
	switch {
	case in.TonnagePerMonth > 0 && fleet.recentT > 0:
		report.Pace = min(max(in.TonnagePerMonth/fleet.recentT, 0.01), 100)
	case in.TonnagePerMonth > 0:
		report.Notes = append(report.Notes, "nothing was rolled in the last quarter to hold the programme's tonnage against; the rhythm of the past cycles is taken as it is")
	}
	report.Plan, err = stockplan.Make(stockplan.Input{Now: fleet.now, Until: fleet.now.Add(time.Duration(in.Months * learn.DaysPerMonth * 24 * float64(time.Hour))), Pace: report.Pace, Groups: fleet.plans})
	return report, port.Refused(err)
}
