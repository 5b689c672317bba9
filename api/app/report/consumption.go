package report

import (
	"context"
	"maps"
	"slices"
	"time"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/domain/consumption"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
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
func (a *Reporter) ReportConsumption(ctx context.Context, in ConsumptionInput) (ConsumptionReport, error) {
	if in.By == "" {
		in.By = consumption.ByGrade
	}
	if !in.From.IsZero() && !in.Until.IsZero() && !in.Until.After(in.From) {
		return ConsumptionReport{}, port.Refused(refusal.One("until", in.Until.Format(time.RFC3339), "must be after from, "+in.From.Format(time.RFC3339), ""))
	}
	report := ConsumptionReport{From: in.From, Until: in.Until, Notes: []string{
		"tonnes are those of the campaigns that the regrinds of the period ended; a pair counts a tonne once, and each stand counts it again",
		"micrometres are on diameter and of both rolls of a pair, wear and grind together; money is the price of a roll shared over its usable diameter",
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
		cuts := cutsOf(grinds, rolls, grades, practices, in)
		report.Report, err = consumption.Add(in.By, cuts)
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

// cutsOf turns regrinds into cuts, and adds what was left on rolls that were
// scrapped in the period for another reason than their diameter.
func cutsOf(grinds []port.GrindRow, rolls map[string]port.RollRow, grades map[string]port.Grade, practices []practice.Practice, in ConsumptionInput) []consumption.Cut {
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
	for _, number := range slices.Sorted(maps.Keys(rolls)) {
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
	return int64(practice.Resolve(practices, gather.CaseOf(s)).Number(practice.RollPrice))
}
