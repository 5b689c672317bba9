package learn

import (
	"fmt"
	"math"

	"barrelbook/api/app/gather"
	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/standing"
	"barrelbook/domain/wearrate"
)

func countCampaigns(w *port.WearRates) {
	w.Campaigns = 0
	for _, m := range w.Mills {
		for _, c := range m.Cells {
			w.Campaigns += int64(c.Campaigns)
		}
	}
}

// ratesIn finds the rates of a role in a mill, nil where there are none.
func ratesIn(w *port.WearRates, millName string, role mill.Role) *port.MillRates {
	for i := range w.Mills {
		if w.Mills[i].Mill == millName && w.Mills[i].Role == role {
			return &w.Mills[i]
		}
	}
	return nil
}

// RatesIn looks rates up among those learned.
func RatesIn(w port.WearRates) gather.Rates {
	return func(s roll.State, stand mill.Stand, p practice.InForce) standing.Rate { return RateOf(w, s, stand, p) }
}

// RateOf is what is believed of a roll's wear rate at a stand: learned, or the
// practice's while nothing of its grade was.
func RateOf(w port.WearRates, s roll.State, stand mill.Stand, p practice.InForce) WearRate {
	m := ratesIn(&w, stand.Mill, s.Roll.Role)
	if m == nil {
		return practiceRate(s, stand, p)
	}
	cell := wearrate.Cell{Grade: s.Roll.Grade, Stand: stand.Name}
	got, err := m.Predict(wearrate.Next{Roll: s.Roll.Number, Cell: cell, DiameterMM: s.Diameter.MM()})
	if err != nil || got.Source == wearrate.FromDefaults || got.RateUMPerKM <= 0 {
		return practiceRate(s, stand, p)
	}
	// One campaign also wears unlike the last, both rolls of a set alike in part: that
	// is in no rate. The spread of a campaign has it, SD does not.
	alone := math.Sqrt(max(0, got.ScatterCV*got.ScatterCV-got.SharedCV*got.SharedCV))
	rate := WearRate{UMPerKM: got.RateUMPerKM, SD: got.RateSD, NoiseUM: got.NoiseUM, Version: w.Version, Effect: got.Effect,
		SharedCV: math.Hypot(got.SharedSD/got.RateUMPerKM, got.SharedCV), OwnCV: math.Hypot(got.OwnSD/got.RateUMPerKM, alone), Source: fmt.Sprintf("learned v%d from ", w.Version)}
	switch got.Source {
	case wearrate.FromRoll, wearrate.FromCell:
		rate.Source += cellWords(m, cell, s.Roll.Number)
	default:
		for _, g := range m.Grades {
			if g.Grade == cell.Grade {
				rate.Source += fmt.Sprintf("%d campaigns of %s in other stands, as there are none in %s", g.Campaigns, g.Grade, stand.Name)
			}
		}
	}
	return rate
}

func cellAt(m *port.MillRates, at wearrate.Cell) *wearrate.CellRate {
	for i := range m.Cells {
		if m.Cells[i].Cell == at {
			return &m.Cells[i]
		}
	}
	return nil
}

func cellWords(m *port.MillRates, at wearrate.Cell, number string) string {
	words := ""
	if c := cellAt(m, at); c != nil {
		words = fmt.Sprintf("%d campaigns of %s in %s", c.Campaigns, at.Grade, at.Stand)
	}
	for _, r := range m.Rolls {
		if r.Cell == at && r.Roll == number {
			return fmt.Sprintf("%s, %d of them this roll's", words, r.Campaigns)
		}
	}
	return words + ", none of them this roll's"
}

// WearRate is what is believed of a roll's wear rate at a stand.
type WearRate = standing.Rate

// practiceRate is the rate the practice gives, for as long as no regrind has
// taught a better one.
func practiceRate(_ roll.State, _ mill.Stand, p practice.InForce) WearRate {
	rate, cv, shared := p.Value(practice.WearRateUMPerKM), p.Number(practice.WearRateCV), p.Number(practice.WearRateShared)
	return WearRate{UMPerKM: rate.Number, SharedCV: cv * math.Sqrt(shared), OwnCV: cv * math.Sqrt(1-shared), SD: cv * rate.Number, Source: rate.Source}
}

// TroubleAt is what is the matter with a stand's work rolls, nil where nothing is.
func TroubleAt(w port.WearRates, stand mill.Stand) *wearrate.Trouble {
	if m := ratesIn(&w, stand.Mill, mill.Work); m != nil {
		return m.TroubleAt(stand.Name)
	}
	return nil
}
