package rest

import (
	"context"
	"math"
	"strconv"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
	"barrelbook/domain/wearrate"
)

// ListWearRates lists what the regrinds teach by now.
func (s *Server) ListWearRates(ctx context.Context, r oapi.ListWearRatesRequestObject) (oapi.ListWearRatesResponseObject, error) {
	page, err := pageOf(ctx, r.Params.Limit, r.Params.Cursor)
	if err != nil {
		return nil, err
	}
	rates, err := s.app.CurrentWearRates(ctx)
	if err != nil {
		return nil, err
	}
	var items []oapi.LearnedRate
	for _, m := range rates.Mills {
		if wrong(r.Params.Mill, m.Mill) || (r.Params.Role != nil && string(*r.Params.Role) != string(m.Role)) {
			continue
		}
		for _, c := range m.Cells {
			if !wrong(r.Params.Grade, c.Grade) && !wrong(r.Params.Stand, c.Stand) {
				items = append(items, learnedRateToWire(m, c, given(r.Params.Rolls)))
			}
		}
	}
	items, next, err := slice(items, page)
	if err != nil {
		return nil, err
	}
	return oapi.ListWearRates200JSONResponse{Version: rates.Version, LearnedAt: when(rates.LearnedAt), CampaignCount: optional(rates.Campaigns), Items: list(items), Next: nextOf(ctx, next)}, nil
}

// wrong says whether a filter was given and v is another.
func wrong(filter *string, v string) bool { return filter != nil && *filter != v }

// slice is a page of a list that is in memory, whose places are counts.
func slice[T any](items []T, p port.Page) (page []T, next string, err error) {
	from := 0
	if p.After != "" {
		if from, err = strconv.Atoi(p.After); err != nil || from < 0 {
			return nil, "", badField("cursor", "is not one of this list; start again without it")
		}
	}
	from = min(from, len(items))
	to := min(from+p.Limit, len(items))
	if to < len(items) {
		next = strconv.Itoa(to)
	}
	return items[from:to], next, nil
}

func learnedRateToWire(m port.MillRates, c wearrate.CellRate, rolls bool) oapi.LearnedRate {
	w := oapi.LearnedRate{Mill: m.Mill, Role: oapi.Role(m.Role), Grade: c.Grade, Stand: c.Stand, RateUmPerKm: c.RateUMPerKM, RateSd: c.RateSD, BetweenRollSd: c.BetweenRollSD,
		NoiseUm: c.NoiseUM, RollCount: int64(c.Rolls), CampaignCount: int64(c.Campaigns), Source: string(c.Source), Trouble: troubleToWire(c.Trouble, c.Stand), Parts: ratePartsToWire(m, c.Grade), ScoredCount: optional(int64(m.Spread.Answers)), SpreadFactor: new(m.Spread.Factor())}
	if !rolls {
		return w
	}
	var of []oapi.LearnedRollRate
	for _, r := range m.Rolls {
		if r.Cell == c.Cell {
			of = append(of, oapi.LearnedRollRate{Roll: r.Roll, RateUmPerKm: r.RateUMPerKM, RateSd: r.RateSD, CampaignCount: int64(r.Campaigns), Factor: new(math.Exp(r.Log)), FactorCv: optional(r.LogSD)})
		}
	}
	w.Rolls = &of
	return w
}

func troubleToWire(t *wearrate.Trouble, stand string) *oapi.StandTrouble {
	if t == nil {
		return nil
	}
	return &oapi.StandTrouble{Since: t.Since.UTC(), CampaignCount: int64(t.Campaigns), Factor: t.Factor, FactorLow: t.Low, FactorHigh: t.High, Says: t.Says(stand)}
}

// ratePartsToWire is what the rates of a grade are made of.
func ratePartsToWire(m port.MillRates, grade string) *oapi.RateParts {
	for _, g := range m.Grades {
		if g.Grade == grade {
			return &oapi.RateParts{StandCv: g.StandCV, RollCv: g.RollCV, ScatterCv: g.ScatterCV, SharedScatterCv: g.SharedCV, PerTenMm: g.PerTenMM, PerTenMmSd: g.PerTenMMSD,
				ForceExponentMore: g.ForceMore, ForceExponentMoreSd: g.ForceMoreSD, FreshMore: g.FreshMore, FreshMoreSd: g.FreshMoreSD}
		}
	}
	return nil
}
