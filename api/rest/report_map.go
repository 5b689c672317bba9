package rest

import (
	"barrelbook/api/app/learn"
	"barrelbook/api/app/port"
	"barrelbook/api/app/report"
	"barrelbook/api/oapi"
	"barrelbook/domain/consumption"
	"barrelbook/domain/roll"
	"barrelbook/domain/score"
	"barrelbook/domain/stockplan"
)

func stockGroupToWire(g report.StockGroup) oapi.StockGroup {
	count := func(stage roll.Stage) int64 { return int64(g.ByStage[stage]) }
	w := oapi.StockGroup{Mill: g.Mill, Role: oapi.Role(g.Role), Stands: list(g.Stands), RollCount: int64(g.Rolls), NewCount: count(roll.StageNew), WornCount: count(roll.StageWorn),
		GroundCount: count(roll.StageGround), PairedCount: count(roll.StagePaired), MountedCount: count(roll.StageMounted), HeldCount: int64(g.Held), StockLeftMm: g.StockLeftMM}
	w.CoverMonths, w.MoreThanFiveYears = coverToWire(g.Cover)
	return w
}

func consumptionRowToWire(r consumption.Row) oapi.ConsumptionRow {
	known := func(v float64, ok bool) *float64 {
		if !ok {
			return nil
		}
		return &v
	}
	return oapi.ConsumptionRow{Key: r.Key, Role: oapi.Role(r.Role), RegrindCount: int64(r.Grinds), RemovedUm: int64(r.Removed), IncidentUm: int64(r.Incident), LostUm: int64(r.Lost),
		RemovedKg: r.RemovedKG, UsedUpKg: r.UsedUpKG, WholeKg: optional(r.WholeKG), TonnageT: r.TonnageT, ProductT: r.ProductT, CostMinor: r.Cost(), UsedMinor: r.UsedMinor, LostMinor: r.LostMinor, CreditedMinor: r.CreditedMinor,
		UsedUpKgPerT: known(r.UsedUpKGPerT()), WholeKgPerT: known(r.WholeKGPerT()), UnpricedCount: int64(r.Unpriced), UmPerKt: known(r.UMPerKT()), KgPerT: known(r.KGPerT()),
		CostPerTMinor: known(r.CostPerT()), IncidentShare: r.IncidentShare()}
}

func balanceToWire(b consumption.Balance) oapi.PriceBalance {
	return oapi.PriceBalance{RollCount: int64(b.Rolls), UnpricedCount: int64(b.Unpriced), PriceMinor: b.Price, BeforeMinor: b.Before, UsedMinor: b.Used, LostMinor: b.Lost, CreditedMinor: b.Credited, LeftMinor: b.Left}
}

func buyingGroupToWire(c stockplan.Cover) oapi.BuyingGroup {
	w := oapi.BuyingGroup{Group: c.Name, Role: oapi.Role(c.Role), Stands: list(c.Stands), RollCount: int64(c.Rolls), NeededCount: int64(c.Needed), ShortCount: int64(c.Short),
		DueCount: int64(c.Due), UndatedCount: int64(c.Undated), ShortChance: c.ShortChance, ChanceUntilDelivery: c.ChanceUntilDelivery,
		DeliveryDays: c.Delivery.Hours() / 24, OrderCount: int64(len(c.Orders)), LaterCount: int64(c.Later)}
	w.CoverMonths, w.MoreThanFiveYears = coverToWire(c)
	return w
}

// coverToWire is the months of stock, or that they are more than anybody can tell.
func coverToWire(c stockplan.Cover) (months *float64, beyond *bool) {
	switch {
	case c.Beyond():
		return nil, optional(true)
	case c.HasCover:
		return &c.CoverMonths, nil
	}
	return nil, nil
}

func buyingOrderToWire(o stockplan.Order) oapi.BuyingOrder {
	return oapi.BuyingOrder{Group: o.Group, Replaces: optional(o.Replaces), Grade: optional(o.Grade), NeededFrom: o.NeededFrom.UTC(), OrderBy: o.OrderBy.UTC(), Expected: o.Expected.UTC(),
		Late: o.Late, PriceMinor: optional(o.Price)}
}

var unitOfForecast = map[port.ForecastKind]string{port.ForecastWear: "um", port.ForecastChange: "t", port.ForecastScrap: "months"}

func scoreReportToWire(s learn.ScoreReport) oapi.ScoreReport {
	return oapi.ScoreReport{
		AskedAt: s.AskedAt.UTC(), NominalCoverage: s.Nominal, OpenCount: int64(s.Open), VoidCount: int64(s.Void), Notes: list(s.Notes),
		Intervals: each(s.Intervals, func(i learn.IntervalScore) oapi.IntervalScore {
			return oapi.IntervalScore{Kind: string(i.Kind), Unit: unitOfForecast[i.Kind], Count: int64(i.Count), WithinCount: int64(i.Within), Coverage: i.Coverage,
				CoverageLow: i.CoverageLow, CoverageHigh: i.CoverageHigh, Bias: i.Bias, BiasSe: i.BiasSE, AbsoluteError: i.AbsoluteError, Sharpness: i.Sharpness,
				Pinball: &i.Pinball, Pit: pitToWire(i.PIT), Rule: ruleToWire(i.Rule)}
		}),
		Parts: some(each(s.Parts, scorePartToWire)),
		Finish: oapi.FinishScore{Count: int64(s.Finish.Count), Brier: s.Finish.Brier, BaseRate: s.Finish.BaseRate, BrierOfBaseRate: s.Finish.BrierOfBaseRate,
			CalibrationError: &s.Finish.ECE, Slope: &s.Finish.Slope, Rule: ruleToWire(s.Finish.Rule),
			Tenths: each(s.Finish.Tenths[:], func(t score.Tenth) oapi.ReliabilityTenth {
				return oapi.ReliabilityTenth{From: t.From, To: t.To, Count: int64(t.Count), HappenedCount: int64(t.Happened), MeanProbability: t.MeanProbability, Low: t.Low, High: t.High}
			})},
	}
}

func pitToWire(counts [10]int) *[]int64 {
	list := make([]int64, len(counts))
	for i, n := range counts {
		list[i] = int64(n)
	}
	return &list
}

func ruleToWire(s score.Skill) *oapi.RuleScore {
	if s.Count == 0 {
		return nil
	}
	return &oapi.RuleScore{Count: int64(s.Count), Error: s.Error, RuleError: s.RuleError, Skill: s.Share(), Loses: s.Loses()}
}

func scorePartToWire(p learn.ScorePart) oapi.ScorePart {
	return oapi.ScorePart{Kind: string(p.Kind), Stand: optional(p.Stand), Grade: optional(p.Grade), Horizon: optional(p.Horizon), Count: int64(p.Count),
		Coverage: p.Coverage, Bias: p.Bias, AbsoluteError: p.AbsoluteError, Brier: p.Brier, CalibrationError: p.CalibrationError, Rule: ruleToWire(p.Rule)}
}
