package report

import (
	"context"
	"maps"
	"math"
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/consumption"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// ConsumptionReport is what rolls cost, with the period it is of.
type ConsumptionReport struct {
	consumption.Report
	From, Until time.Time
	// Balance is where the money of all rolls is now, whatever the period.
	Balance consumption.Balance
	Notes   []string
}

// ConsumptionInput asks for it. Zero moments stand for any.
type ConsumptionInput struct {
	By          consumption.By // empty for grade
	Mill        string
	From, Until time.Time
}

// ReportConsumption adds up the regrinds of a period and the tonnes of the
// campaigns that they ended. Impossible where the period ends before it begins.
func (a *Reporter) ReportConsumption(ctx context.Context, in ConsumptionInput) (ConsumptionReport, error) {
	if in.By == "" {
		in.By = consumption.ByGrade
	}
	if !in.From.IsZero() && !in.Until.IsZero() && !in.Until.After(in.From) {
		return ConsumptionReport{}, port.Refused(refusal.One("until", in.Until.Format(time.RFC3339), "must be after from, "+in.From.Format(time.RFC3339), ""))
	}
	report := ConsumptionReport{From: in.From, Until: in.Until, Notes: []string{
		"per tonne is per tonne of product: what the busiest stand of the mill rolled in the stays that ended in the period; the figures of the stands sum to that of the mill",
		"micrometres are on diameter and of both rolls of a pair, wear and grind together; ground off is that as mass, used up adds what was left on rolls that were lost, and whole rolls count core and necks as far as the middle of the bearings",
		"money is the price of a roll spread over the diameters from new to scrap; what was used up before its book began is not charged",
	}}
	err := a.store.Read(ctx, func(r port.Reader) error {
		grinds, err := learn.GrindsOf(r, port.GrindFilter{From: in.From, Until: in.Until})
		if err != nil {
			return err
		}
		rolls, err := allRolls(r, port.RollFilter{})
		if err != nil {
			return err
		}
		grades, err := gradesByName(r)
		if err != nil {
			return err
		}
		practices, err := gather.AllPractices(r)
		if err != nil {
			return err
		}
		claims, err := port.Drain(func(p port.Page) ([]port.ClaimRow, string, error) { return r.Claims(port.ClaimFilter{}, p) })
		if err != nil {
			return err
		}
		product, err := productOf(r, in)
		if err != nil {
			return err
		}
		c := cutting{r: r, in: in, rolls: rolls, grades: grades, practices: practices}
		cuts, err := c.of(grinds, claims)
		if err != nil {
			return err
		}
		report.Balance = consumption.Account(c.lives(claims))
		report.Report, err = consumption.Add(in.By, cuts, product)
		return port.Refused(err)
	})
	return report, err
}

func allRolls(r port.Reader, f port.RollFilter) (map[string]port.RollRow, error) {
	rows, err := port.Drain(func(p port.Page) ([]port.RollRow, string, error) { return r.Rolls(f, p) })
	byNumber := make(map[string]port.RollRow, len(rows))
	for _, row := range rows {
		byNumber[row.State.Roll.Number] = row
	}
	return byNumber, err
}

func gradesByName(r port.Reader) (map[string]port.Grade, error) {
	list, err := port.Drain(func(p port.Page) ([]port.Grade, string, error) { return r.Grades(p) })
	byName := map[string]port.Grade{}
	for _, g := range list {
		byName[g.Name] = g
	}
	return byName, err
}

// productOf is what each mill rolled, by month: of its stands, the one that rolled
// most in the period stands for all.
func productOf(r port.Reader, in ConsumptionInput) (consumption.Product, error) {
	rolled, err := r.Rolled(in.From, in.Until)
	if err != nil {
		return nil, err
	}
	basis, err := learn.NewBasis(r)
	if err != nil {
		return nil, err
	}
	byStand, months := map[string]float64{}, map[string]map[string]float64{}
	for _, m := range rolled {
		if months[m.Stand] == nil {
			months[m.Stand] = map[string]float64{}
		}
		byStand[m.Stand] += m.TonnageT
		months[m.Stand][m.Month] += m.TonnageT
	}
	most, product := map[string]string{}, consumption.Product{}
	for _, stand := range slices.Sorted(maps.Keys(byStand)) {
		name := basis.MillOf[stand]
		if in.Mill != "" && name != in.Mill {
			continue
		}
		if was, known := most[name]; !known || byStand[stand] > byStand[was] {
			most[name], product[name] = stand, months[stand]
		}
	}
	return product, nil
}

// cutting turns what the books tell into cuts.
type cutting struct {
	r         port.Reader
	in        ConsumptionInput
	rolls     map[string]port.RollRow
	grades    map[string]port.Grade
	practices []practice.Practice
}

func (c *cutting) wanted(s roll.State) bool { return c.in.Mill == "" || s.Mill == c.in.Mill }

func (c *cutting) within(at time.Time) bool {
	return (c.in.From.IsZero() || !at.Before(c.in.From)) && (c.in.Until.IsZero() || at.Before(c.in.Until))
}

func (c *cutting) cut(s roll.State, at time.Time) consumption.Cut {
	scrap, _ := s.ScrapLimit()
	density := c.grades[s.Roll.Grade].Density()
	return consumption.Cut{Roll: s.Roll.Number, Mill: s.Mill, Role: s.Roll.Role, Grade: s.Roll.Grade, Supplier: s.Roll.Supplier, At: at, New: s.Roll.NewDiameter, Scrap: scrap,
		BarrelLength: s.Roll.BarrelLength, DensityKGPerM3: density, WholeKG: wholeKG(s.Roll, density), Price: priceOf(s, c.practices)}
}

// wholeKG is the mass of a new roll: its barrel, and its necks as far as the middle
// of the bearings. 0 where the necks are not known.
func wholeKG(r roll.Roll, density float64) float64 {
	if r.NeckDiameter <= 0 || r.BearingSpan <= r.BarrelLength {
		return 0
	}
	cylinder := func(diameter, length quantity.Micrometre) float64 {
		d := diameter.MM() / 1000
		return math.Pi / 4 * d * d * length.MM() / 1000
	}
	return density * (cylinder(r.NewDiameter, r.BarrelLength) + cylinder(r.NeckDiameter, r.BearingSpan-r.BarrelLength))
}

// of gives a cut for each regrind, for what was left on each roll that was scrapped
// in the period for another reason than its diameter, and for what suppliers gave
// back in it.
func (c *cutting) of(grinds []port.GrindRow, claims []port.ClaimRow) ([]consumption.Cut, error) {
	var cuts []consumption.Cut
	for _, g := range grinds {
		s := c.rolls[g.Roll].State
		if !c.wanted(s) {
			continue
		}
		one := c.cut(s, g.At)
		one.For, one.From, one.To = g.For, max(g.LastGround, g.Ground), g.Ground
		for _, u := range g.Uses {
			one.Stays = append(one.Stays, consumption.Stay{Stand: u.Stand, TonnageT: u.TonnageT})
		}
		cuts = append(cuts, one)
	}
	for _, number := range slices.Sorted(maps.Keys(c.rolls)) {
		s := c.rolls[number].State
		if s.Stage != roll.StageScrapped || s.StockLeft() <= 0 || !c.wanted(s) || !c.within(s.LastAt) {
			continue
		}
		one, err := c.last(s, s.LastAt)
		if err != nil {
			return nil, err
		}
		one.Lost, one.From, one.To = true, s.Diameter, s.Diameter-s.StockLeft()
		cuts = append(cuts, one)
	}
	for _, claim := range claims {
		s, known := c.rolls[claim.Roll]
		if !known || claim.Credited == 0 || !c.wanted(s.State) || !c.within(claim.SettledAt) {
			continue
		}
		one, err := c.last(s.State, claim.SettledAt)
		if err != nil {
			return nil, err
		}
		one.Credited, one.From, one.To = claim.Credited, s.State.Diameter, s.State.Diameter
		cuts = append(cuts, one)
	}
	return cuts, nil
}

// last is a cut without tonnes that belongs to the stand the roll was in last.
func (c *cutting) last(s roll.State, at time.Time) (consumption.Cut, error) {
	one := c.cut(s, at)
	stays, _, err := c.r.Mountings(s.Roll.Number, port.Page{Limit: 1})
	if len(stays) > 0 {
		one.Stays = []consumption.Stay{{Stand: stays[0].Stand}}
	}
	return one, err
}

// lives are the rolls of the balance.
func (c *cutting) lives(claims []port.ClaimRow) []consumption.Life {
	credited := map[string]int64{}
	for _, claim := range claims {
		credited[claim.Roll] += claim.Credited
	}
	var lives []consumption.Life
	for _, number := range slices.Sorted(maps.Keys(c.rolls)) {
		s := c.rolls[number].State
		if !c.wanted(s) {
			continue
		}
		scrap, _ := s.ScrapLimit()
		lives = append(lives, consumption.Life{New: s.Roll.NewDiameter, Scrap: scrap, Received: s.Diameter + s.StockRemoved, Now: s.Diameter, Price: priceOf(s, c.practices),
			Scrapped: s.Stage == roll.StageScrapped, Credited: credited[number]})
	}
	return lives
}

// priceOf is the roll's own price, else the practice's for its case.
func priceOf(s roll.State, practices []practice.Practice) int64 {
	if s.Roll.Price > 0 {
		return s.Roll.Price
	}
	return int64(practice.Resolve(practices, gather.CaseOf(s)).Number(practice.RollPrice))
}
