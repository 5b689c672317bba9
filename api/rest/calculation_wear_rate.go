package rest

import (
	"context"
	"fmt"

	"barrelbook/api/oapi"
	"barrelbook/domain/wearrate"
)

const wearRateModel = "wear-rate 1: rates of rolls within cells within grades, incidents told apart"

// CalculateWearRate learns wear rates from campaigns and predicts the next.
func (s *Server) CalculateWearRate(ctx context.Context, r oapi.CalculateWearRateRequestObject) (oapi.CalculateWearRateResponseObject, error) {
	campaigns := make([]wearrate.Run, len(r.Body.Campaigns))
	last := map[string]wearrate.Cell{}
	cells := map[wearrate.Cell]bool{}
	for i, c := range r.Body.Campaigns {
		cell := wearrate.Cell{Grade: c.Grade, Stand: c.Stand}
		campaigns[i] = wearrate.Run{Roll: c.Roll, Cell: cell, RolledKM: c.RolledKm, SpecificForceKNPerMM: c.SpecificForceKnPerMm, WearUM: c.WearUm}
		last[c.Roll], cells[cell] = cell, true
	}
	rates, err := wearrate.Learn(campaigns, wearrate.StandardDefaults(), ctx.Err)
	if err != nil {
		return nil, err
	}
	w := ratesToWire(rates)
	for i, p := range given(r.Body.Predict) {
		next := wearrate.Next{Roll: p.Roll, Cell: last[p.Roll], RolledKM: p.RolledKm, SpecificForceKNPerMM: p.SpecificForceKnPerMm}
		if _, known := last[p.Roll]; !known && len(cells) == 1 {
			// A new roll of the one grade and stand there is.
			next.Cell = campaigns[0].Cell
		}
		prediction, err := rates.Predict(next)
		if err != nil {
			at := fmt.Sprintf("predict/%d/", i)
			return nil, renamed(err, "rolled_km", at+"rolled_km", "specific_force_kn_per_mm", at+"specific_force_kn_per_mm")
		}
		w.Predictions = append(w.Predictions, oapi.CalcWearPrediction{Roll: p.Roll, WearUm: prediction.WearUM, Low90Um: prediction.Low90UM, High90Um: prediction.High90UM,
			Source: word[string](prediction.Source)})
	}
	return oapi.CalculateWearRate200JSONResponse(w), nil
}

func ratesToWire(rates wearrate.Rates) oapi.WearRateCalculation {
	w := oapi.WearRateCalculation{Model: wearRateModel, Predictions: []oapi.CalcWearPrediction{},
		Cells: each(rates.Cells, func(c wearrate.CellRate) oapi.CalcWearCell {
			return oapi.CalcWearCell{Grade: c.Grade, Stand: c.Stand, RateUmPerKm: c.RateUMPerKM, BetweenRollSd: c.BetweenRollSD, NoiseUm: c.NoiseUM, Source: word[string](c.Source)}
		}),
		Rolls: each(rates.Rolls, func(r wearrate.RollRate) oapi.CalcWearRoll {
			return oapi.CalcWearRoll{Roll: r.Roll, Grade: optional(r.Grade), Stand: optional(r.Stand), RateUmPerKm: r.RateUMPerKM, RateSd: r.RateSD}
		})}
	notes := []string{
		fmt.Sprintf("rates are µm on diameter per km at 10 kN/mm, with exposure km·(specific force/10)^%g", rates.Defaults.LoadExponent),
		"a roll is predicted at the stand of its last campaign; a roll without campaigns by its cell where there is only one, else by the defaults",
		"intervals hold nine in ten of the campaigns without an incident",
	}
	if rates.SetAside > 0 {
		notes = append(notes, fmt.Sprintf("%d campaigns without length or force say nothing of a rate and were set aside", rates.SetAside))
	}
	w.Notes = &notes
	return w
}
