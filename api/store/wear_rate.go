package store

import (
	"encoding/json"
	"fmt"
	"strconv"

	"barrelbook/api/app"
	"barrelbook/domain/mill"
)

type wearRateRow struct {
	Version   int64  `gorm:"column:version;primaryKey;autoIncrement:false"`
	LearnedAt int64  `gorm:"column:learned_at"`
	CutID     int64  `gorm:"column:cut_id"`
	CutCount  int64  `gorm:"column:cut_count"`
	Campaigns int64  `gorm:"column:campaigns"`
	Doc       string `gorm:"column:doc"`
}

func (wearRateRow) TableName() string { return "wear_rates" }

type (
	wearRateDoc struct {
		Cells []rateCellDoc `json:"cells"`
		Rolls []rateRollDoc `json:"rolls"`
	}
	rateCellDoc struct {
		Grade         string    `json:"grade"`
		Stand         string    `json:"stand"`
		Role          mill.Role `json:"role"`
		RateUMPerKM   float64   `json:"rate_um_per_km"`
		BetweenRollSD float64   `json:"between_roll_sd"`
		NoiseUM       float64   `json:"noise_um"`
		Campaigns     int       `json:"campaigns"`
		Rolls         int       `json:"rolls"`
	}
	rateRollDoc struct {
		Roll        string  `json:"roll"`
		Stand       string  `json:"stand"`
		RateUMPerKM float64 `json:"rate_um_per_km"`
		SD          float64 `json:"rate_sd"`
		Campaigns   int     `json:"campaigns"`
	}
)

func (r *reader) WearRatesVersion() (int64, error) {
	var version int64
	err := r.db.Raw("SELECT coalesce(max(version), 0) FROM wear_rates").Scan(&version).Error
	return version, err
}

func (r *reader) WearRates() (app.WearRates, error) {
	var row wearRateRow
	if err := r.db.Order("version DESC").Take(&row).Error; err != nil {
		return app.WearRates{}, missing(err, "version of the", "wear rates", "wear-rate list")
	}
	var doc wearRateDoc
	if err := json.Unmarshal([]byte(row.Doc), &doc); err != nil {
		return app.WearRates{}, fmt.Errorf("reading version %d of the wear rates: %w", row.Version, err)
	}
	rates := app.WearRates{Version: row.Version, LearnedAt: moment(row.LearnedAt), Cut: app.GrindCut{Newest: row.CutID, Count: row.CutCount}, Campaigns: row.Campaigns}
	for _, c := range doc.Cells {
		rates.Cells = append(rates.Cells, app.RateCell(c))
	}
	for _, c := range doc.Rolls {
		rates.Rolls = append(rates.Rolls, app.RateRoll(c))
	}
	return rates, nil
}

func (w *writer) CreateWearRates(rates app.WearRates) error {
	doc := wearRateDoc{Cells: []rateCellDoc{}, Rolls: []rateRollDoc{}}
	for _, c := range rates.Cells {
		doc.Cells = append(doc.Cells, rateCellDoc(c))
	}
	for _, c := range rates.Rolls {
		doc.Rolls = append(doc.Rolls, rateRollDoc(c))
	}
	text, err := json.Marshal(doc)
	if err != nil {
		return fmt.Errorf("version %d of the wear rates: %w", rates.Version, err)
	}
	row := wearRateRow{rates.Version, micros(rates.LearnedAt), rates.Cut.Newest, rates.Cut.Count, rates.Campaigns, string(text)}
	return w.create(&row, taken("version of the wear rates", strconv.FormatInt(rates.Version, 10), "wear-rate list"))
}
