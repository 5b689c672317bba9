package store

import (
	"encoding/json"
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/next"
)

type gradeRow struct {
	Name       string `gorm:"column:name;primaryKey"`
	Family     string `gorm:"column:family"`
	Title      string `gorm:"column:title"`
	Properties string `gorm:"column:properties"`
}

func (gradeRow) TableName() string { return "grades" }

// gradeDoc is the properties; one that is 0 stands for its default and is left
// out.
type gradeDoc struct {
	ElasticModulusMPa   float64 `json:"elastic_modulus_mpa,omitempty"`
	PoissonRatio        float64 `json:"poisson_ratio,omitempty"`
	DensityKGPerM3      float64 `json:"density_kg_per_m3,omitempty"`
	ExpansionPerK       float64 `json:"expansion_per_k,omitempty"`
	ConductivityWPerMK  float64 `json:"conductivity_w_per_mk,omitempty"`
	SpecificHeatJPerKGK float64 `json:"specific_heat_j_per_kgk,omitempty"`
	AllowableStressMPa  float64 `json:"allowable_stress_mpa,omitempty"`
}

func (r *reader) Grade(name string) (port.Grade, error) {
	var row gradeRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.Grade{}, missing(err, "grade", name, next.ListGrades())
	}
	return row.grade()
}

func (r *reader) Grades(p port.Page) ([]port.Grade, string, error) {
	return list(r.db, byName("grades"), p, func(row gradeRow) []any { return []any{row.Name} }, gradeRow.grade)
}

func (w *writer) CreateGrade(g port.Grade) error {
	w.ownSettings = true
	properties, err := json.Marshal(gradeDoc{ElasticModulusMPa: g.ElasticModulusMPa, PoissonRatio: g.PoissonRatio, DensityKGPerM3: g.DensityKGPerM3, ExpansionPerK: g.ExpansionPerK,
		ConductivityWPerMK: g.ConductivityWPerMK, SpecificHeatJPerKGK: g.SpecificHeatJPerKGK, AllowableStressMPa: g.AllowableStressMPa})
	if err != nil {
		return fmt.Errorf("grade %s: %w", g.Name, err)
	}
	row := gradeRow{Name: g.Name, Family: g.Family, Title: g.Title, Properties: string(properties)}
	return w.tell(w.create(&row, taken("grade", g.Name, next.ListGrades())), port.EventGradeAdded, named("grades", g.Name), "", port.EventData{Name: g.Name})
}

func (row gradeRow) grade() (port.Grade, error) {
	var d gradeDoc
	if err := json.Unmarshal([]byte(row.Properties), &d); err != nil {
		return port.Grade{}, fmt.Errorf("reading grade %s: %w", row.Name, err)
	}
	return port.Grade{Name: row.Name, Family: row.Family, Title: row.Title,
		ElasticModulusMPa: d.ElasticModulusMPa, PoissonRatio: d.PoissonRatio, DensityKGPerM3: d.DensityKGPerM3, ExpansionPerK: d.ExpansionPerK,
		ConductivityWPerMK: d.ConductivityWPerMK, SpecificHeatJPerKGK: d.SpecificHeatJPerKGK, AllowableStressMPa: d.AllowableStressMPa}, nil
}
