package store

import (
	"encoding/json"

	"barrelbook/domain/duty"
)

// usageDoc is what a roll has borne, in a mounting or in its life.
type usageDoc struct {
	Pieces             int64          `json:"pieces,omitempty"`
	TonnageT           float64        `json:"tonnage_t,omitempty"`
	RolledKM           float64        `json:"rolled_km,omitempty"`
	Revolutions        float64        `json:"revolutions,omitempty"`
	ExposureKM         float64        `json:"exposure_km,omitempty"`
	MaxForceKN         float64        `json:"max_force_kn,omitempty"`
	MaxPeakPressureMPa float64        `json:"max_peak_pressure_mpa,omitempty"`
	WearUM             []float64      `json:"wear_um,omitempty"`
	Grooves            []grooveUseDoc `json:"grooves,omitempty"`
	Widths             []widthUseDoc  `json:"widths,omitempty"`
	Stated             bool           `json:"stated,omitempty"`
}

type grooveUseDoc struct {
	Number   int     `json:"number"`
	TonnageT float64 `json:"tonnage_t"`
	WornUM   float64 `json:"worn_um,omitempty"`
}

type widthUseDoc struct {
	WidthMM  int     `json:"width_mm"`
	RolledKM float64 `json:"rolled_km"`
}

func encodeUsage(u duty.Usage) (string, error) {
	d := usageDoc{Pieces: u.Pieces, TonnageT: u.TonnageT, RolledKM: u.RolledKM, Revolutions: u.Revolutions, ExposureKM: u.ExposureKM,
		MaxForceKN: u.MaxForceKN, MaxPeakPressureMPa: u.MaxPeakPressureMPa, WearUM: u.WearUM, Stated: u.Stated}
	for _, g := range u.Grooves {
		d.Grooves = append(d.Grooves, grooveUseDoc(g))
	}
	for _, w := range u.Widths {
		d.Widths = append(d.Widths, widthUseDoc(w))
	}
	text, err := json.Marshal(d)
	return string(text), err
}

func decodeUsage(text string) (duty.Usage, error) {
	var d usageDoc
	err := json.Unmarshal([]byte(text), &d)
	u := duty.Usage{Pieces: d.Pieces, TonnageT: d.TonnageT, RolledKM: d.RolledKM, Revolutions: d.Revolutions, ExposureKM: d.ExposureKM,
		MaxForceKN: d.MaxForceKN, MaxPeakPressureMPa: d.MaxPeakPressureMPa, WearUM: d.WearUM, Stated: d.Stated}
	for _, g := range d.Grooves {
		u.Grooves = append(u.Grooves, duty.GrooveUse(g))
	}
	for _, w := range d.Widths {
		u.Widths = append(u.Widths, duty.WidthUse(w))
	}
	return u, err
}
