package app

import (
	"fmt"
	"math"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
	"barrelbook/domain/wearrate"
)

func (w *WearRates) count() {
	w.Campaigns = 0
	for _, m := range w.Mills {
		for _, c := range m.Cells {
			w.Campaigns += int64(c.Campaigns)
		}
	}
}

// of finds the rates of a role in a mill, nil where there are none.
func (w *WearRates) of(millName string, role mill.Role) *MillRates {
	for i := range w.Mills {
		if w.Mills[i].Mill == millName && w.Mills[i].Role == role {
			return &w.Mills[i]
		}
	}
	return nil
}

// Of is what is believed of a roll's wear rate at a stand: learned, or the
// practice's while nothing of its grade was.
func (w WearRates) Of(s roll.State, stand mill.Stand, p practice.InForce) WearRate {
	m := w.of(stand.Mill, s.Roll.Role)
	if m == nil {
		return practiceRate(s, stand, p)
	}
	cell := wearrate.Cell{Grade: s.Roll.Grade, Stand: stand.Name}
	got, err := m.Predict(wearrate.Next{Roll: s.Roll.Number, Cell: cell})
	if err != nil || got.Source == wearrate.FromDefaults || got.RateUMPerKM <= 0 {
		return practiceRate(s, stand, p)
	}
	// One campaign also wears unlike the last, which is in no rate: the spread of a
	// campaign has it, SD does not.
	rate := WearRate{UMPerKM: got.RateUMPerKM, SD: got.RateSD, NoiseUM: got.NoiseUM, Version: w.Version,
		SharedCV: got.SharedSD / got.RateUMPerKM, OwnCV: math.Hypot(got.OwnSD/got.RateUMPerKM, got.ScatterCV), Source: fmt.Sprintf("learned v%d from ", w.Version)}
	switch got.Source {
	case wearrate.FromRoll, wearrate.FromCell:
		rate.Source += m.cellWords(cell, s.Roll.Number)
	default:
		for _, g := range m.Grades {
			if g.Grade == cell.Grade {
				rate.Source += fmt.Sprintf("%d campaigns of %s in other stands, as there are none in %s", g.Campaigns, g.Grade, stand.Name)
			}
		}
	}
	return rate
}

// overBooked is the rate over the one of the practice, at which the wear along
// the barrel is booked when a piece is rolled: what is learned later holds for it
// as well.
func (w WearRate) overBooked(p practice.InForce) float64 {
	if booked := p.Number(practice.WearRateUMPerKM); booked > 0 {
		return w.UMPerKM / booked
	}
	return 1
}

func (m *MillRates) cell(at wearrate.Cell) *wearrate.CellRate {
	for i := range m.Cells {
		if m.Cells[i].Cell == at {
			return &m.Cells[i]
		}
	}
	return nil
}

func (m *MillRates) cellWords(at wearrate.Cell, number string) string {
	words := ""
	if c := m.cell(at); c != nil {
		words = fmt.Sprintf("%d campaigns of %s in %s", c.Campaigns, at.Grade, at.Stand)
	}
	for _, r := range m.Rolls {
		if r.Cell == at && r.Roll == number {
			return fmt.Sprintf("%s, %d of them this roll's", words, r.Campaigns)
		}
	}
	return words + ", none of them this roll's"
}
