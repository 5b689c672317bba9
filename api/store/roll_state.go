package store

import (
	"encoding/json"
	"fmt"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// stateDoc is a roll's state. It can be made again from the book, but until it
// is, it is what everybody reads: the same care as with bodies.
type stateDoc struct {
	Roll                rollDoc               `json:"roll"`
	Mill                string                `json:"mill"`
	Stands              []string              `json:"stands,omitempty"`
	Stage               roll.Stage            `json:"stage"`
	HeldFor             string                `json:"held_for,omitempty"`
	Diameter            quantity.Micrometre   `json:"diameter_um"`
	CrownUM             float64               `json:"crown_um,omitempty"`
	TaperUM             *float64              `json:"taper_um,omitempty"`
	RunoutUM            *float64              `json:"runout_um,omitempty"`
	RoughnessUM         float64               `json:"roughness_um,omitempty"`
	Hardness            float64               `json:"hardness_shore_c,omitempty"`
	Measured            measuresDoc           `json:"measured,omitzero"`
	NewHardness         []readingDoc          `json:"new_hardness,omitempty"`
	HardnessAlong       []readingDoc          `json:"hardness_along,omitempty"`
	ReceivedAt          time.Time             `json:"received_at,omitzero"`
	GroundAt            time.Time             `json:"ground_at,omitzero"`
	MountedAt           time.Time             `json:"mounted_at,omitzero"`
	WithdrawnAt         time.Time             `json:"withdrawn_at,omitzero"`
	ScrappedAt          time.Time             `json:"scrapped_at,omitzero"`
	LastAt              time.Time             `json:"last_at,omitzero"`
	Entries             int64                 `json:"entries"`
	Set                 string                `json:"set,omitempty"`
	Partner             string                `json:"partner,omitempty"`
	Top                 bool                  `json:"top,omitempty"`
	Stand               string                `json:"stand,omitempty"`
	Position            mill.Position         `json:"position,omitempty"`
	Owed                []owedDoc             `json:"owed,omitempty"`
	Failed              []failureDoc          `json:"failed,omitempty"`
	Tested              []testedDoc           `json:"tested,omitempty"`
	Defects             []defectDoc           `json:"defects,omitempty"`
	FireCracks          fireCracksDoc         `json:"fire_cracks,omitzero"`
	Concession          *concessionDoc        `json:"concession,omitempty"`
	Regrinds            int                   `json:"regrinds,omitempty"`
	Campaigns           int                   `json:"campaigns,omitempty"`
	CampaignsSinceGrind int                   `json:"campaigns_since_grind,omitempty"`
	StockRemoved        quantity.Micrometre   `json:"stock_removed_um,omitempty"`
	IncidentStock       quantity.Micrometre   `json:"incident_stock_um,omitempty"`
	LastRegrind         *regroundDoc          `json:"last_regrind,omitempty"`
	Taken               []quantity.Micrometre `json:"taken_um,omitempty"`
	ScrapWhy            roll.ScrapWhy         `json:"scrap_why,omitempty"`
	Marks               marksDoc              `json:"marks,omitzero"`
}

type marksDoc struct {
	Received  int64 `json:"received,omitempty"`
	Ground    int64 `json:"ground,omitempty"`
	Held      int64 `json:"held,omitempty"`
	Paired    int64 `json:"paired,omitempty"`
	Mounted   int64 `json:"mounted,omitempty"`
	Withdrawn int64 `json:"withdrawn,omitempty"`
	Scrapped  int64 `json:"scrapped,omitempty"`
}

type owedDoc struct {
	Kind            roll.TestKind `json:"kind"`
	Due             bool          `json:"due,omitempty"`
	CampaignsToCome int           `json:"campaigns_to_come,omitempty"`
	Why             string        `json:"why,omitempty"`
	Entry           int64         `json:"entry"`
	Unknown         bool          `json:"unknown,omitempty"`
}

type failureDoc struct {
	Kind  roll.TestKind `json:"kind"`
	Entry int64         `json:"entry"`
	At    time.Time     `json:"at"`
}

type testedDoc struct {
	Kind      roll.TestKind `json:"kind"`
	Outcome   roll.Outcome  `json:"outcome"`
	Entry     int64         `json:"entry"`
	At        time.Time     `json:"at"`
	Regrinds  int           `json:"regrinds,omitempty"`
	Campaigns int           `json:"campaigns,omitempty"`
}

type defectDoc struct {
	Kind    roll.TestKind `json:"kind"`
	DepthUM float64       `json:"depth_um"`
	Entry   int64         `json:"entry"`
	At      time.Time     `json:"at"`
}

type fireCracksDoc struct {
	BeforeUM   float64   `json:"before_um,omitempty"`
	GrownUM    float64   `json:"grown_um,omitempty"`
	RemovedUM  float64   `json:"removed_um,omitempty"`
	LeftUM     float64   `json:"left_um,omitempty"`
	MeasuredAt time.Time `json:"measured_at,omitzero"`
}

type concessionDoc struct {
	Entry   int64     `json:"entry"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
	Reason  string    `json:"reason"`
	Missing []string  `json:"missing"`
}

func encodeState(s roll.State) (string, error) {
	d := stateDoc{
		Roll: newRollDoc(s.Roll), Mill: s.Mill, Stands: s.Stands, Stage: s.Stage, HeldFor: s.HeldFor,
		Diameter: s.Diameter, CrownUM: s.CrownUM, TaperUM: s.TaperUM, RunoutUM: s.RunoutUM, RoughnessUM: s.RoughnessUM, Hardness: s.Hardness,
		ReceivedAt: stored(s.ReceivedAt), GroundAt: stored(s.GroundAt), MountedAt: stored(s.MountedAt), WithdrawnAt: stored(s.WithdrawnAt),
		ScrappedAt: stored(s.ScrappedAt), LastAt: stored(s.LastAt),
		Entries: s.Entries, Set: s.Set, Partner: s.Partner, Top: s.Top, Stand: s.Stand, Position: s.Position,
		Regrinds: s.Regrinds, Campaigns: s.Campaigns, CampaignsSinceGrind: s.CampaignsSinceGrind,
		StockRemoved: s.StockRemoved, IncidentStock: s.IncidentStock, Taken: s.Taken, ScrapWhy: s.ScrapWhy, Marks: marksDoc(s.Marks),
	}
	for _, o := range s.Owed {
		d.Owed = append(d.Owed, owedDoc(o))
	}
	for _, f := range s.Failed {
		f.At = stored(f.At)
		d.Failed = append(d.Failed, failureDoc(f))
	}
	d.Measured, d.NewHardness, d.HardnessAlong = newMeasuresDoc(s.Measured), newReadingDocs(s.NewHardness), newReadingDocs(s.HardnessAlong)
	for _, t := range s.Tested {
		t.At = stored(t.At)
		d.Tested = append(d.Tested, testedDoc(t))
	}
	for _, f := range s.Defects {
		f.At = stored(f.At)
		d.Defects = append(d.Defects, defectDoc(f))
	}
	d.FireCracks = fireCracksDoc(s.FireCracks)
	d.FireCracks.MeasuredAt = stored(s.FireCracks.MeasuredAt)
	if s.Concession != nil {
		c := concessionDoc(*s.Concession)
		c.At = stored(c.At)
		d.Concession = &c
	}
	if s.LastRegrind != nil {
		last := newRegroundDoc(*s.LastRegrind)
		d.LastRegrind = &last
	}
	text, err := json.Marshal(d)
	if err != nil {
		return "", fmt.Errorf("the state of roll %s: %w", s.Roll.Number, err)
	}
	return string(text), nil
}

func decodeState(text string) (roll.State, error) {
	var d stateDoc
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		return roll.State{}, err
	}
	s := roll.State{
		Roll: d.Roll.roll(), Mill: d.Mill, Stands: d.Stands, Stage: d.Stage, HeldFor: d.HeldFor,
		Diameter: d.Diameter, CrownUM: d.CrownUM, TaperUM: d.TaperUM, RunoutUM: d.RunoutUM, RoughnessUM: d.RoughnessUM, Hardness: d.Hardness,
		ReceivedAt: d.ReceivedAt, GroundAt: d.GroundAt, MountedAt: d.MountedAt, WithdrawnAt: d.WithdrawnAt,
		ScrappedAt: d.ScrappedAt, LastAt: d.LastAt,
		Entries: d.Entries, Set: d.Set, Partner: d.Partner, Top: d.Top, Stand: d.Stand, Position: d.Position,
		Regrinds: d.Regrinds, Campaigns: d.Campaigns, CampaignsSinceGrind: d.CampaignsSinceGrind,
		StockRemoved: d.StockRemoved, IncidentStock: d.IncidentStock, Taken: d.Taken, ScrapWhy: d.ScrapWhy, Marks: roll.Marks(d.Marks),
	}
	for _, o := range d.Owed {
		s.Owed = append(s.Owed, roll.Owed(o))
	}
	for _, f := range d.Failed {
		s.Failed = append(s.Failed, roll.Failure(f))
	}
	s.Measured, s.NewHardness, s.HardnessAlong = d.Measured.measures(), readings(d.NewHardness), readings(d.HardnessAlong)
	for _, t := range d.Tested {
		s.Tested = append(s.Tested, roll.Tested(t))
	}
	for _, f := range d.Defects {
		s.Defects = append(s.Defects, roll.Defect(f))
	}
	s.FireCracks = roll.FireCracks(d.FireCracks)
	if d.Concession != nil {
		c := roll.Concession(*d.Concession)
		s.Concession = &c
	}
	if d.LastRegrind != nil {
		last := d.LastRegrind.reground()
		s.LastRegrind = &last
	}
	return s, nil
}
