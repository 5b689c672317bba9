package store

import (
	"encoding/json"
	"fmt"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/next"
)

type campaignRow struct {
	Name            string  `gorm:"column:name;primaryKey"`
	Mill            string  `gorm:"column:mill"`
	StartsAt        int64   `gorm:"column:starts_at"`
	MinutesPerPiece float64 `gorm:"column:minutes_per_piece"`
	PieceCount      int64   `gorm:"column:piece_count"`
	TonnageT        float64 `gorm:"column:tonnage_t"`
	Stops           string  `gorm:"column:stops"`
	LoadedBy        string  `gorm:"column:loaded_by"`
	Doc             string  `gorm:"column:doc"` // the pieces
}

func (campaignRow) TableName() string { return "campaigns" }

type stopDoc struct {
	BeforePiece int     `json:"before_piece"`
	Name        string  `json:"name"`
	Minutes     float64 `json:"minutes"`
}

func (r *reader) Campaign(name string) (port.ProgrammeRow, error) {
	var row campaignRow
	if err := r.db.Where("name = ?", name).Take(&row).Error; err != nil {
		return port.ProgrammeRow{}, missing(err, "campaign", name, next.ListCampaigns())
	}
	summary, err := row.summary()
	if err != nil {
		return port.ProgrammeRow{}, err
	}
	c := port.ProgrammeRow{LoadedBy: row.LoadedBy, Programme: mill.Programme{Name: row.Name, Mill: row.Mill, StartsAt: summary.StartsAt,
		MinutesPerPiece: row.MinutesPerPiece, Stops: summary.Stops}}
	var docs []pieceDoc
	if err := json.Unmarshal([]byte(row.Doc), &docs); err != nil {
		return c, fmt.Errorf("reading campaign %s: %w", row.Name, err)
	}
	for _, d := range docs {
		c.Pieces = append(c.Pieces, d.piece())
	}
	return c, nil
}

func (r *reader) Campaigns(millName string, p port.Page) ([]port.ProgrammeSummary, string, error) {
	q := r.db.Model(&campaignRow{}).Omit("doc")
	if millName != "" {
		q = q.Where("mill = ?", millName)
	}
	newest := order{list: "campaigns", columns: []string{"starts_at", "name"}, numbers: "nt", newest: p.Sort != port.OldestFirst}
	return list(q, newest, p, func(row campaignRow) []any { return []any{row.StartsAt, row.Name} }, campaignRow.summary)
}

func (row campaignRow) summary() (port.ProgrammeSummary, error) {
	s := port.ProgrammeSummary{Name: row.Name, Mill: row.Mill, StartsAt: moment(row.StartsAt), MinutesPerPiece: row.MinutesPerPiece,
		Pieces: row.PieceCount, TonnageT: row.TonnageT, LoadedBy: row.LoadedBy}
	var stops []stopDoc
	if err := json.Unmarshal([]byte(row.Stops), &stops); err != nil {
		return s, fmt.Errorf("reading the stops of campaign %s: %w", row.Name, err)
	}
	for _, stop := range stops {
		s.Stops = append(s.Stops, mill.PlannedStop(stop))
	}
	return s, nil
}

func (w *writer) CreateCampaign(c port.ProgrammeRow) error {
	stops := make([]stopDoc, len(c.Stops))
	for i, stop := range c.Stops {
		stops[i] = stopDoc(stop)
	}
	stopsText, err := json.Marshal(stops)
	if err != nil {
		return fmt.Errorf("campaign %s: %w", c.Name, err)
	}
	docs := make([]pieceDoc, len(c.Pieces))
	for i, p := range c.Pieces {
		docs[i] = newPieceDoc(p)
	}
	doc, err := json.Marshal(docs)
	if err != nil {
		return fmt.Errorf("campaign %s: %w", c.Name, err)
	}
	row := campaignRow{Name: c.Name, Mill: c.Mill, StartsAt: micros(c.StartsAt), MinutesPerPiece: c.MinutesPerPiece, PieceCount: int64(len(c.Pieces)),
		TonnageT: c.TonnageT(), Stops: string(stopsText), LoadedBy: c.LoadedBy, Doc: string(doc)}
	return w.tell(w.create(&row, taken("campaign", c.Name, next.ListCampaigns())), port.EventCampaignLoaded, named("campaigns", c.Name), c.Mill,
		port.EventData{Name: c.Name, When: c.StartsAt, Count: int64(len(c.Pieces))})
}
