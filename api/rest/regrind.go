package rest

import (
	"context"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/roll"
	"barrelbook/domain/stock"
)

// RecordRegrind answers the first question.
func (s *Server) RecordRegrind(ctx context.Context, r oapi.RecordRegrindRequestObject) (oapi.RecordRegrindResponseObject, error) {
	call, err := callOn(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Params.IfMatch)
	if err != nil {
		return nil, err
	}
	in, err := regrindFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	answer, err := s.app.RecordRegrind(ctx, call, r.Roll, in)
	if err != nil {
		return nil, err
	}
	return oapi.RecordRegrind201JSONResponse{Body: regrindAnswerToWire(answer), Headers: oapi.RecordRegrind201ResponseHeaders{ETag: etag(answer.Version)}}, nil
}

// AdviseRegrind says what to take off.
func (s *Server) AdviseRegrind(ctx context.Context, r oapi.AdviseRegrindRequestObject) (oapi.AdviseRegrindResponseObject, error) {
	in, err := adviceFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	advice, err := s.app.AdviseRegrind(ctx, r.Roll, in)
	if err != nil {
		return nil, err
	}
	return oapi.AdviseRegrind200JSONResponse(adviceToWire(advice)), nil
}

func adviceFromWire(w oapi.RegrindAdviceInput) (plan.AdviceInput, error) {
	var l lengths
	in := plan.AdviceInput{Found: l.mmOr("found_mm", w.FoundMm), CrackDepthUM: given(w.CrackDepthUm), CrownUM: w.CrownUm, GrooveWornUM: w.GrooveWornUm, FoundStations: stationsFromWire(&l, "", "found_stations", w.FoundStations)}
	return in, l.err()
}

func regrindFromWire(w oapi.RegrindInput) (record.RegrindInput, error) {
	var l lengths
	in := record.RegrindInput{At: given(w.At), Found: l.mm("found_mm", w.FoundMm), Ground: l.mm("ground_mm", w.GroundMm), For: roll.Purpose(w.Purpose),
		AboveShopK: given(w.TemperatureAboveShopK), Measures: roll.Measures{CrownUM: w.CrownUm, TaperUM: w.TaperUm, RunoutUM: w.RunoutUm, RoundnessUM: w.RoundnessUm, RoughnessUM: w.RoughnessUm,
			Stations: stationsFromWire(&l, "", "stations", w.Stations)}, FoundStations: stationsFromWire(&l, "", "found_stations", w.FoundStations),
		GrooveWornUM: w.GrooveWornUm, Grinder: given(w.Grinder), Tests: testsFromWire(w.Tests), Confirm: given(w.Confirm), Confirmed: confirmedFromWire(w.Confirmed), Note: given(w.Note)}
	return in, l.err()
}

// regrindChange puts what is given of a corrected regrind into one.
func regrindChange(w oapi.RegrindCorrection) (func(*record.RegrindInput), error) {
	const prefix = "regrind/"
	var l lengths
	found, ground := l.mmOr(prefix+"found_mm", w.FoundMm), l.mmOr(prefix+"ground_mm", w.GroundMm)
	stations, foundStations := stationsFromWire(&l, prefix, "stations", w.Stations), stationsFromWire(&l, prefix, "found_stations", w.FoundStations)
	return func(in *record.RegrindInput) {
		for _, field := range given(w.Clear) {
			if clear := clearOfRegrind[field]; clear != nil {
				clear(in)
			}
		}
		put(&in.At, w.At)
		put(&in.AboveShopK, w.TemperatureAboveShopK)
		put(&in.Grinder, w.Grinder)
		put(&in.Confirm, w.Confirm)
		if w.Confirmed != nil {
			in.Confirmed = confirmedFromWire(w.Confirmed)
		}
		put(&in.Note, w.Note)
		for _, figure := range []struct{ to, from **float64 }{
			{&in.CrownUM, &w.CrownUm}, {&in.TaperUM, &w.TaperUm}, {&in.RunoutUM, &w.RunoutUm}, {&in.RoundnessUM, &w.RoundnessUm}, {&in.RoughnessUM, &w.RoughnessUm},
			{&in.GrooveWornUM, &w.GrooveWornUm},
		} {
			if *figure.from != nil {
				*figure.to = *figure.from
			}
		}
		if w.FoundMm != nil {
			in.Found = found
		}
		if w.GroundMm != nil {
			in.Ground = ground
		}
		if w.Purpose != nil {
			in.For = roll.Purpose(*w.Purpose)
		}
		if w.Stations != nil {
			in.Stations = stations
		}
		if w.FoundStations != nil {
			in.FoundStations = foundStations
		}
		if w.Tests != nil {
			in.Tests = testsFromWire(w.Tests)
		}
	}, l.err()
}

// put sets what is given.
func put[T any](to *T, from *T) {
	if from != nil {
		*to = *from
	}
}

func regrindAnswerToWire(a record.RegrindAnswer) oapi.RegrindAnswer {
	w := oapi.RegrindAnswer{
		Roll: a.Roll, Entry: a.Entry, At: a.At.UTC(), LastGroundMm: a.LastGround.MM(), FoundMm: a.Found.MM(), GroundMm: a.Ground.MM(),
		WearUm: float64(a.Wear), StockMm: a.Stock.MM(), Purpose: oapi.RegrindPurpose(a.For), ScrapMm: a.ScrapAt.MM(), ScrapLimit: a.ScrapLimit, StockLeftMm: a.StockLeft.MM(),
		RegrindsLeft: &a.RegrindsLeft, RemovedKg: &a.RemovedKG, Outlook: outlookToWire(a.Outlook), FireCracks: fireCracksToWire(a.FireCracks), Partner: optional(a.Partner), Fit: fitnessToWire(a.Fitness), Owed: some(each(a.Owed, owedToWire)),
		Cautions: list(a.Cautions), Notes: some(a.Notes), Steps: stepsOf(a.Next), DryRun: optional(a.DryRun), Version: a.Version,
	}
	if a.GrooveWorn != nil {
		worn := float64(*a.GrooveWorn)
		w.GrooveWornUm, w.GrooveMeasured = &worn, &a.GrooveMeasured
	}
	if a.Partner != "" {
		mismatch, tolerance := float64(a.Mismatch), float64(a.Tolerance)
		w.PairMismatchUm, w.PairToleranceUm = &mismatch, &tolerance
	}
	if a.AdvisedStock != nil {
		advised := a.AdvisedStock.MM()
		w.AdvisedStockMm = &advised
	}
	if a.Campaign != nil {
		m := mountingToWire(*a.Campaign, 0)
		w.Campaign = &m
	}
	return w
}

func adviceToWire(a plan.Advice) oapi.RegrindAdvice {
	crown := a.AimCrownUM
	return oapi.RegrindAdvice{
		Roll: a.Roll, FoundMm: mmOrNone(a.Found), StockMm: a.Stock.MM(), AimDiameterMm: a.Aim.MM(), AimCrownUm: &crown, Rules: oapi.RegrindAdviceRules(a.Rules), Rule: a.Rule, StockLeftMm: a.Left.MM(), RegrindsLeft: &a.RegrindsLeft,
		Parts: each(a.Parts, func(p stock.Part) oapi.StockPart {
			return oapi.StockPart{Part: oapi.StockPartPart(p.Kind), Um: p.UM, Source: p.Source}
		}),
		Redress: some(each(a.Redress, func(r stock.Redress) oapi.RedressLine {
			return oapi.RedressLine{GrooveWornUm: float64(r.GrooveWorn), StockMm: r.Stock.MM(), AimDiameterMm: r.Aim.MM(), StockLeftMm: r.Left.MM()}
		})),
		Partners: some(each(a.Partners, func(p plan.PartnerOffer) oapi.PartnerOffer {
			return oapi.PartnerOffer{Roll: p.Roll, DiameterMm: p.Diameter.MM(), MismatchUm: float64(p.Mismatch)}
		})),
		NormalStockMm: optional(a.NormalMM), NormalStockSource: optional(a.NormalSource), TakenStockMm: mmOrNone(a.Comparison.Taken), TakenCount: optional(int64(a.Comparison.Count)), Differs: optional(a.Comparison.Says),
		Outlook: outlookToWire(a.Outlook), Cautions: list(a.Cautions), Notes: list(a.Notes),
	}
}

func outlookToWire(o stock.Outlook) oapi.GrindOutlook {
	return oapi.GrindOutlook{Word: oapi.GrindOutlookWord(o.Word), More: optional(o.More), Says: o.Says}
}
