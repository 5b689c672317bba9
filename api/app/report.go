package app

import (
	"context"
	"runtime"
	"sort"
	"strings"
	"sync"
	"time"

	"barrelbook/domain/consumption"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
	"barrelbook/domain/stockplan"
)

// ConsumptionReport is what rolls cost, with the period it is of.
type ConsumptionReport struct {
	consumption.Report
	From, Until time.Time
	Notes       []string
}

// ConsumptionInput asks for it. Zero moments stand for any.
type ConsumptionInput struct {
	By          consumption.By // empty for grade
	Mill        string
	From, Until time.Time
}

// ReportConsumption adds up the regrinds of a period and the tonnes of the
// campaigns that they ended. Impossible where the period ends before it begins.
func (a *App) ReportConsumption(ctx context.Context, in ConsumptionInput) (ConsumptionReport, error) {
	if in.By == "" {
		in.By = consumption.ByGrade
	}
	if !in.From.IsZero() && !in.Until.IsZero() && !in.Until.After(in.From) {
		return ConsumptionReport{}, impossible(refusal.One("until", in.Until.Format(time.RFC3339), "must be after from, "+in.From.Format(time.RFC3339), ""))
	}
	report := ConsumptionReport{From: in.From, Until: in.Until, Notes: []string{
		"tonnes are those of the campaigns that the regrinds of the period ended; a pair counts a tonne once, and each stand counts it again",
		"micrometres are on diameter and of both rolls of a pair, wear and grind together; money is the price of a roll shared over its usable diameter",
	}}
	err := a.store.Read(ctx, func(r Reader) error {
		grinds, err := grindsOf(r, GrindFilter{From: in.From, Until: in.Until})
		if err != nil {
			return err
		}
		rolls, err := allRolls(r, RollFilter{})
		if err != nil {
			return err
		}
		grades, err := gradesByName(r)
		if err != nil {
			return err
		}
		practices, err := allPractices(r)
		if err != nil {
			return err
		}
		cuts := cutsOf(grinds, rolls, grades, practices, in)
		report.Report, err = consumption.Add(in.By, cuts)
		return impossible(err)
	})
	return report, err
}

func allRolls(r Reader, f RollFilter) (map[string]RollRow, error) {
	rows, err := drain(func(p Page) ([]RollRow, string, error) { return r.Rolls(f, p) })
	byNumber := make(map[string]RollRow, len(rows))
	for _, row := range rows {
		byNumber[row.State.Roll.Number] = row
	}
	return byNumber, err
}

func gradesByName(r Reader) (map[string]Grade, error) {
	list, err := drain(func(p Page) ([]Grade, string, error) { return r.Grades(p) })
	byName := map[string]Grade{}
	for _, g := range list {
		byName[g.Name] = g
	}
	return byName, err
}

// cutsOf turns regrinds into cuts, and adds what was left on rolls that were
// scrapped in the period for another reason than their diameter.
func cutsOf(grinds []GrindRow, rolls map[string]RollRow, grades map[string]Grade, practices []practice.Practice, in ConsumptionInput) []consumption.Cut {
	var cuts []consumption.Cut
	cut := func(s roll.State, at time.Time) consumption.Cut {
		scrap, _ := s.ScrapLimit()
		return consumption.Cut{Roll: s.Roll.Number, Role: s.Roll.Role, Grade: s.Roll.Grade, Supplier: s.Roll.Supplier, At: at, New: s.Roll.NewDiameter, Scrap: scrap,
			BarrelLength: s.Roll.BarrelLength, DensityKGPerM3: grades[s.Roll.Grade].Density(), Price: priceOf(s, practices)}
	}
	for _, g := range grinds {
		s := rolls[g.Roll].State
		if in.Mill != "" && s.Mill != in.Mill {
			continue
		}
		c := cut(s, g.At)
		c.For, c.From, c.To = g.For, max(g.LastGround, g.Ground), g.Ground
		for _, u := range g.Uses {
			c.Stays = append(c.Stays, consumption.Stay{Stand: u.Stand, TonnageT: u.TonnageT})
		}
		cuts = append(cuts, c)
	}
	for _, number := range sortedKeys(rolls) {
		s := rolls[number].State
		lost := s.Stage == roll.StageScrapped && s.StockLeft() > 0 && (in.Mill == "" || s.Mill == in.Mill) &&
			(in.From.IsZero() || !s.LastAt.Before(in.From)) && (in.Until.IsZero() || s.LastAt.Before(in.Until))
		if lost {
			c := cut(s, s.LastAt)
			c.Lost, c.From, c.To = true, s.Diameter, s.Diameter-s.StockLeft()
			cuts = append(cuts, c)
		}
	}
	return cuts
}

// priceOf is the roll's own price, else the practice's for its case.
func priceOf(s roll.State, practices []practice.Practice) int64 {
	if s.Roll.Price > 0 {
		return s.Roll.Price
	}
	return int64(practice.Resolve(practices, caseOf(s)).Number(practice.RollPrice))
}

func sortedKeys[T any](m map[string]T) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

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
	// NeededRolls is how many rolls each group must keep; 0 for as many as it has.
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
func (a *App) ReportStock(ctx context.Context, millName string) (StockReport, error) {
	fleet, err := a.fleet(ctx, BuyingInput{Mill: millName})
	if err != nil {
		return StockReport{}, err
	}
	report := StockReport{AskedAt: fleet.now, Model: forecastModel, Groups: fleet.groups,
		Notes: []string{"months of cover: stock above the limits over what a month takes in the rhythm of the past cycles; rolls that go round several stands count once, with all their stands"}}
	plan, err := stockplan.Make(stockplan.Input{Now: fleet.now, Until: fleet.now, Pace: 1, Groups: fleet.plans})
	if err != nil {
		return report, impossible(err)
	}
	for i := range report.Groups {
		report.Groups[i].Cover = plan.Covers[i]
	}
	return report, nil
}

// ReportBuying plans the orders. Impossible for figures that cannot be.
func (a *App) ReportBuying(ctx context.Context, in BuyingInput) (BuyingReport, error) {
	var c refusal.Check
	c.Within("months", in.Months, 0, 120)
	c.NotNegative("tonnage_per_month_t", in.TonnagePerMonth)
	if err := c.Err(); err != nil {
		return BuyingReport{}, impossible(err)
	}
	if in.Months == 0 {
		in.Months = 12
	}
	fleet, err := a.fleet(ctx, in)
	if err != nil {
		return BuyingReport{}, err
	}
	report := BuyingReport{AskedAt: fleet.now, Model: forecastModel, RatesVersion: fleet.version, Pace: 1, RecentPerMonthT: fleet.recentT, Unforecast: fleet.without,
		Notes: []string{"order by: the tenth percentile of the scrap date less the delivery time; rolls on order already are not known here and must be taken off"}}
	switch {
	case in.TonnagePerMonth > 0 && fleet.recentT > 0:
		report.Pace = min(max(in.TonnagePerMonth/fleet.recentT, 0.01), 100)
	case in.TonnagePerMonth > 0:
		report.Notes = append(report.Notes, "nothing was rolled in the last quarter to hold the programme's tonnage against; the rhythm of the past cycles is taken as it is")
	}
	report.Plan, err = stockplan.Make(stockplan.Input{Now: fleet.now, Until: fleet.now.Add(time.Duration(in.Months * daysPerMonth * 24 * float64(time.Hour))), Pace: report.Pace, Groups: fleet.plans})
	return report, impossible(err)
}

// fleet is the forecasts of all rolls that are not scrapped, by group.
type fleet struct {
	now     time.Time
	version int64
	groups  []StockGroup
	plans   []stockplan.Group
	recentT float64
	without []string
}

func (a *App) fleet(ctx context.Context, in BuyingInput) (fleet, error) {
	k, err := a.known(ctx)
	if err != nil {
		return fleet{}, err
	}
	f := fleet{now: a.clock.Now(), version: k.rates.Version}
	err = a.store.Read(ctx, func(r Reader) error {
		if in.Mill != "" {
			if _, err := r.Mill(in.Mill); err != nil {
				return err
			}
		}
		o, err := newOutlook(r, k, f.now)
		if err != nil {
			return err
		}
		rolls, err := allRolls(r, RollFilter{Mill: in.Mill})
		if err != nil {
			return err
		}
		f.recentT = recentTonnage(k.rows, f.now, in.Mill, o.class)
		return f.gather(o, rolls, in.NeededRolls)
	})
	return f, err
}

// recentTonnage is the most that a stand of the mill passed a month in the last
// quarter, by the campaigns that ended in it: what all stands pass is the mill's.
func recentTonnage(rows []GrindRow, now time.Time, millName string, c *class) float64 {
	from := now.AddDate(0, -3, 0)
	byStand := map[string]float64{}
	for _, g := range rows {
		for _, u := range g.Uses {
			if g.Role == mill.Work && u.WithdrawnAt.After(from) && !u.WithdrawnAt.After(now) && (millName == "" || c.millOf[u.Stand] == millName) {
				byStand[u.Stand] += u.TonnageT / 2
			}
		}
	}
	most := 0.0
	for _, t := range byStand {
		most = max(most, t)
	}
	return most / 3
}

// gather forecasts the rolls, on as many processors as there are, and puts them
// into groups.
func (f *fleet) gather(o *outlook, rolls map[string]RollRow, needed int) error {
	numbers := sortedKeys(rolls)
	scraps := make([]stockplan.Roll, len(numbers))
	usage := make([]float64, len(numbers))
	why := make([]string, len(numbers))
	var wait sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for worker := range workers {
		wait.Go(func() {
			for i := worker; i < len(numbers); i += workers {
				scraps[i], usage[i], why[i] = o.scrapOf(rolls[numbers[i]].State)
			}
		})
	}
	wait.Wait()
	index := map[string]int{}
	for i, number := range numbers {
		s := rolls[number].State
		if s.Stage == roll.StageScrapped {
			continue
		}
		name := strings.Join(append([]string{s.Mill, string(s.Roll.Role)}, s.Stands...), " ")
		at, ok := index[name]
		if !ok {
			at = len(f.groups)
			index[name] = at
			p := practice.Resolve(o.practices, caseOf(s))
			f.groups = append(f.groups, StockGroup{Mill: s.Mill, Role: s.Roll.Role, Stands: s.Stands, ByStage: map[roll.Stage]int{}})
			f.plans = append(f.plans, stockplan.Group{Name: name, Stands: s.Stands, Role: s.Roll.Role, Needed: needed, DeliveryDays: p.Number(practice.DeliveryDays)})
		}
		g, plan := &f.groups[at], &f.plans[at]
		g.Rolls++
		g.ByStage[s.Stage]++
		if s.HeldFor != "" {
			g.Held++
		}
		left := max(0, s.StockLeft())
		g.StockLeftMM += left.MM()
		plan.StockUM += float64(left)
		plan.UsePerMonthUM += usage[i]
		if why[i] != "" {
			f.without = append(f.without, number+": "+why[i])
			continue
		}
		scraps[i].Price = priceOf(s, o.practices)
		plan.Rolls = append(plan.Rolls, scraps[i])
	}
	f.order()
	return nil
}

// order sorts the groups by mill, role and stands.
func (f *fleet) order() {
	by := make([]int, len(f.groups))
	for i := range by {
		by[i] = i
	}
	sort.SliceStable(by, func(i, j int) bool { return f.plans[by[i]].Name < f.plans[by[j]].Name })
	groups, plans := make([]StockGroup, len(by)), make([]stockplan.Group, len(by))
	for i, at := range by {
		groups[i], plans[i] = f.groups[at], f.plans[at]
	}
	f.groups, f.plans = groups, plans
}

// scrapOf forecasts the scrap date of one roll from what is in memory, and what
// a month takes off it. why tells why there is no date.
func (o *outlook) scrapOf(s roll.State) (one stockplan.Roll, usePerMonthUM float64, why string) {
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
	one.ScrapP10, one.ScrapP50, one.ScrapP90 = f.Life.Scrap.P10, f.Life.Scrap.P50, f.Life.Scrap.P90
	return one, (f.Life.WearUM + f.Life.StockUM + f.Life.ExtraUM) * daysPerMonth / f.Life.DaysPerCycle, ""
}
