package store

import (
	"encoding/json"

	"barrelbook/domain/duty"
)

// usageDoc is what a roll has borne, in a mounting or in its life.
type usageDoc struct {
	Pieces             int64     `json:"pieces,omitempty"`
	TonnageT           float64   `json:"tonnage_t,omitempty"`
	RolledKM           float64   `json:"rolled_km,omitempty"`
	Revolutions        float64   `json:"revolutions,omitempty"`
	ExposureKM         float64   `json:"exposure_km,omitempty"`
	MaxForceKN         float64   `json:"max_force_kn,omitempty"`
	MaxPeakPressureMPa float64   `json:"max_peak_pressure_mpa,omitempty"`
	WearUM             []float64 `json:"wear_um,omitempty"`
	Stated             bool      `json:"stated,omitempty"`
}

func encodeUsage(u duty.Usage) (string, error) {
	text, err := json.Marshal(usageDoc(u))
	return string(text), err
}

func decodeUsage(text string) (duty.Usage, error) {
	var d usageDoc
	err := json.Unmarshal([]byte(text), &d)
	return duty.Usage(d), err
}
