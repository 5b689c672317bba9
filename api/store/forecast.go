package store

import (
	"strconv"
	"time"

	"gorm.io/gorm/clause"

	"barrelbook/api/app/port"
)

type forecastRow struct {
	ID           int64             `gorm:"column:id;primaryKey"`
	Kind         port.ForecastKind `gorm:"column:kind"`
	About        string            `gorm:"column:about"`
	Roll         string            `gorm:"column:roll"`
	Stand        string            `gorm:"column:stand"`
	Grade        string            `gorm:"column:grade"`
	AskedAt      int64             `gorm:"column:asked_at"`
	AskedBy      string            `gorm:"column:asked_by"`
	RatesVersion int64             `gorm:"column:rates_version"`
	Probability  *float64          `gorm:"column:probability"`
	Low          *float64          `gorm:"column:low"`
	Middle       *float64          `gorm:"column:middle"`
	High         *float64          `gorm:"column:high"`
	Input        string            `gorm:"column:input"`
	Outcome      *float64          `gorm:"column:outcome"`
	SettledAt    *int64            `gorm:"column:settled_at"`
	Void         string            `gorm:"column:void"`
}

func (forecastRow) TableName() string { return "forecasts" }

func (row forecastRow) forecast() (port.ForecastRow, error) {
	return port.ForecastRow{ID: row.ID, Kind: row.Kind, About: row.About, Roll: row.Roll, Stand: row.Stand, Grade: row.Grade, AskedAt: moment(row.AskedAt),
		AskedBy: row.AskedBy, RatesVersion: row.RatesVersion, Probability: row.Probability, Low: row.Low, Middle: row.Middle, High: row.High,
		Input: row.Input, Outcome: row.Outcome, SettledAt: momentOrZero(row.SettledAt), Void: row.Void}, nil
}

func (r *reader) Forecasts(f port.ForecastFilter, p port.Page) ([]port.ForecastRow, string, error) {
	q := r.db
	if f.Open {
		q = q.Where("settled_at IS NULL")
	} else {
		q = q.Where("settled_at IS NOT NULL")
	}
	for _, part := range []struct{ column, value string }{{"kind", string(f.Kind)}, {"grade", f.Grade}, {"stand", f.Stand}} {
		if part.value != "" {
			q = q.Where(part.column+" = ?", part.value)
		}
	}
	if !f.From.IsZero() {
		q = q.Where("settled_at >= ?", micros(f.From))
	}
	return list(q, order{list: "forecasts", columns: []string{"id"}, numbers: "n"}, p, func(row forecastRow) []any { return []any{row.ID} }, forecastRow.forecast)
}

func (r *reader) ForecastKept(kind port.ForecastKind, about string) (bool, error) {
	var n int64
	err := r.db.Model(&forecastRow{}).Where("kind = ? AND about = ?", kind, about).Count(&n).Error
	return n > 0, err
}

func (w *writer) KeepForecasts(rows []port.ForecastRow) error {
	kept := make([]forecastRow, len(rows))
	for i, f := range rows {
		kept[i] = forecastRow{Kind: f.Kind, About: f.About, Roll: f.Roll, Stand: f.Stand, Grade: f.Grade, AskedAt: micros(f.AskedAt), AskedBy: f.AskedBy,
			RatesVersion: f.RatesVersion, Probability: f.Probability, Low: f.Low, Middle: f.Middle, High: f.High, Input: f.Input,
			Outcome: f.Outcome, SettledAt: microsOrNull(f.SettledAt), Void: f.Void}
	}
	if len(kept) == 0 {
		return nil
	}
	done := w.db.Clauses(clause.OnConflict{Columns: []clause.Column{{Name: "kind"}, {Name: "about"}}, DoNothing: true}).CreateInBatches(&kept, 1000)
	if done.Error == nil && done.RowsAffected > 0 {
		for _, row := range kept {
			w.tellForecast(port.EventForecastKept, row)
		}
	}
	return done.Error
}

// tellForecast: those of a kind in a mill become one event, there may be thousands.
func (w *writer) tellForecast(kind port.EventKind, row forecastRow) {
	data := port.EventData{What: string(row.Kind), Count: 1}
	if row.Roll != "" {
		data.Rolls = []string{row.Roll}
	} else {
		data.Stand = row.Stand
	}
	_ = w.tell(nil, kind, forecastsSubject, "", data)
}

func (w *writer) SettleForecast(id int64, outcome *float64, at time.Time, void string) error {
	done := w.db.Model(&forecastRow{}).Where("id = ? AND settled_at IS NULL", id).
		Updates(map[string]any{"outcome": outcome, "settled_at": micros(at), "void": void})
	if done.Error == nil && done.RowsAffected == 0 {
		return refuse(port.Conflicting, "forecast %s is settled already, or is not there", strconv.FormatInt(id, 10))
	}
	if done.Error != nil {
		return done.Error
	}
	var row forecastRow
	if err := w.db.Select("kind", "roll", "stand").Where("id = ?", id).Take(&row).Error; err != nil {
		return err
	}
	w.tellForecast(port.EventForecastSettled, row)
	return nil
}
