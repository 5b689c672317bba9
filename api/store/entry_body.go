package store

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// The bodies of entries as they are kept for good. A field may be added with
// omitempty; none may be renamed, dropped or change its meaning, because the
// books of all years must be read. Conversions from the domain's types do not
// compile when the two have different fields.
type (
	rollDoc struct {
		Number       string              `json:"number"`
		Role         mill.Role           `json:"role"`
		Grade        string              `json:"grade"`
		Supplier     string              `json:"supplier,omitempty"`
		Certificate  string              `json:"certificate,omitempty"`
		NewDiameter  quantity.Micrometre `json:"new_diameter_um"`
		BarrelLength quantity.Micrometre `json:"barrel_length_um"`
		BearingSpan  quantity.Micrometre `json:"bearing_span_um,omitempty"`
		NeckDiameter quantity.Micrometre `json:"neck_diameter_um,omitempty"`
		NeckRadius   quantity.Micrometre `json:"neck_fillet_radius_um,omitempty"`
		Scrap        scrapDoc            `json:"scrap"`
		Price        int64               `json:"price_minor,omitempty"`
		Grooves      []grooveDoc         `json:"grooves,omitempty"`
	}
	grooveDoc struct {
		Number int                 `json:"number"`
		Depth  quantity.Micrometre `json:"depth_um"`
		Title  string              `json:"title,omitempty"`
	}
	scrapDoc struct {
		Nominal       quantity.Micrometre `json:"nominal_um,omitempty"`
		ShellDepth    quantity.Micrometre `json:"shell_depth_um,omitempty"`
		HardenedDepth quantity.Micrometre `json:"hardened_depth_um,omitempty"`
		StackHeight   quantity.Micrometre `json:"stack_height_um,omitempty"`
		NeckFillet    quantity.Micrometre `json:"neck_fillet_um,omitempty"`
		DriveAngle    quantity.Micrometre `json:"drive_angle_um,omitempty"`
		SpeedRange    quantity.Micrometre `json:"speed_range_um,omitempty"`
	}
	receivedDoc struct {
		Roll     rollDoc             `json:"roll"`
		Mill     string              `json:"mill"`
		Stands   []string            `json:"stands,omitempty"`
		Diameter quantity.Micrometre `json:"diameter_um"`
		CrownUM  float64             `json:"crown_um,omitempty"`
		Hardness float64             `json:"hardness_shore_c,omitempty"`
		Ground   bool                `json:"ground,omitempty"`
		Measures measuresDoc         `json:"measures,omitzero"`
		Tests    []testDoc           `json:"tests,omitempty"`
		Note     string              `json:"note,omitempty"`

		Confirmed []string `json:"confirmed,omitempty"`
	}
	testDoc struct {
		Kind         roll.TestKind `json:"kind"`
		Outcome      roll.Outcome  `json:"outcome"`
		CrackDepthUM float64       `json:"crack_depth_um,omitempty"`
		AllowedUM    float64       `json:"allowed_um,omitempty"`
		Hardness     float64       `json:"hardness_shore_c,omitempty"`
		Readings     []readingDoc  `json:"readings,omitempty"`

		Instrument       string    `json:"instrument,omitempty"`
		CalibrationPiece string    `json:"calibration_piece,omitempty"`
		CalibratedAt     time.Time `json:"calibrated_at,omitzero"`
		Operator         string    `json:"operator,omitempty"`
		Note             string    `json:"note,omitempty"`
	}
	readingDoc struct {
		AtMM      float64  `json:"at_mm"`
		AroundDeg *float64 `json:"around_deg,omitempty"`
		Value     float64  `json:"value,omitempty"`
		Threshold float64  `json:"threshold,omitempty"`
		DepthUM   float64  `json:"depth_um,omitempty"`

		Indication roll.Indication `json:"indication,omitempty"`
		File       string          `json:"file,omitempty"`
	}
	measuresDoc struct {
		CrownUM     *float64     `json:"crown_um,omitempty"`
		TaperUM     *float64     `json:"taper_um,omitempty"`
		RunoutUM    *float64     `json:"runout_um,omitempty"`
		RoundnessUM *float64     `json:"roundness_um,omitempty"`
		RoughnessUM *float64     `json:"roughness_um,omitempty"`
		Stations    []stationDoc `json:"stations,omitempty"`
	}
	stationDoc struct {
		AtMM     float64             `json:"at_mm"`
		Diameter quantity.Micrometre `json:"diameter_um"`
	}
	inspectedDoc struct {
		Tests     []testDoc `json:"tests,omitempty"`
		Note      string    `json:"note,omitempty"`
		Confirmed []string  `json:"confirmed,omitempty"`
	}
	regroundDoc struct {
		Found            quantity.Micrometre `json:"found_um"`
		FoundAsRead      quantity.Micrometre `json:"found_as_read_um"`
		AboveShopK       float64             `json:"above_shop_k,omitempty"`
		Ground           quantity.Micrometre `json:"ground_um"`
		GaugeUncertainty quantity.Micrometre `json:"gauge_uncertainty_um,omitempty"`
		MaxPlausible     quantity.Micrometre `json:"max_plausible_um,omitempty"`
		For              roll.Purpose        `json:"for"`
		CrownUM          *float64            `json:"crown_um,omitempty"`
		TaperUM          *float64            `json:"taper_um,omitempty"`
		RunoutUM         *float64            `json:"runout_um,omitempty"`
		RoundnessUM      *float64            `json:"roundness_um,omitempty"`
		RoughnessUM      *float64            `json:"roughness_um,omitempty"`
		Stations         []stationDoc        `json:"stations,omitempty"`
		FoundStations    []stationDoc        `json:"found_stations,omitempty"`
		GrooveWorn       quantity.Micrometre `json:"groove_worn_um,omitempty"`
		FireCrackUM      float64             `json:"fire_crack_um,omitempty"`
		Grinder          string              `json:"grinder,omitempty"`
		Tests            []testDoc           `json:"tests,omitempty"`
		Confirm          string              `json:"confirm,omitempty"`
		Confirmed        []string            `json:"confirmed,omitempty"`
		Note             string              `json:"note,omitempty"`
	}
	pairedDoc struct {
		Set     string `json:"set"`
		Partner string `json:"partner"`
		Top     bool   `json:"top,omitempty"`
	}
	unpairedDoc struct {
		Set string `json:"set"`
	}
	mountedDoc struct {
		Stand                  string        `json:"stand"`
		Position               mill.Position `json:"position"`
		Set                    string        `json:"set"`
		Change                 string        `json:"change,omitempty"`
		Cooling                time.Duration `json:"cooling_ns,omitempty"`
		CampaignsBetweenGrinds int           `json:"campaigns_between_grinds,omitempty"`
	}
	withdrawnDoc struct {
		Stand    string        `json:"stand"`
		Position mill.Position `json:"position"`
		Set      string        `json:"set"`
		Change   string        `json:"change,omitempty"`
		Why      roll.Why      `json:"why"`
	}
	pastStayDoc struct {
		Stand                string        `json:"stand"`
		Position             mill.Position `json:"position"`
		From                 time.Time     `json:"from"`
		Why                  roll.Why      `json:"why"`
		Pieces               int64         `json:"piece_count,omitempty"`
		TonnageT             float64       `json:"tonnage_t,omitempty"`
		RolledKM             float64       `json:"rolled_km,omitempty"`
		SpecificForceKNPerMM float64       `json:"specific_force_kn_per_mm,omitempty"`
	}
	incidentDoc struct {
		Name  string    `json:"name"`
		What  roll.What `json:"what"`
		Stand string    `json:"stand,omitempty"`
		// Asks is null for common practice and empty where nothing was asked.
		Asks *[]askedTestDoc `json:"asks,omitempty"`
		Note string          `json:"note,omitempty"`
	}
	askedTestDoc struct {
		Kind      roll.TestKind `json:"kind"`
		Campaigns int           `json:"campaigns,omitempty"`
	}
	concededDoc struct {
		Missing []string `json:"missing"`
	}
	heldDoc     struct{}
	releasedDoc struct{}
	regradedDoc struct {
		Mill   string   `json:"mill,omitempty"`
		Stands []string `json:"stands,omitempty"`
	}
	scrappedDoc struct {
		Why roll.ScrapWhy `json:"why"`
	}
	// correctedDoc holds the replacing body with its kind; both are left out
	// where the entry was withdrawn.
	correctedDoc struct {
		Entry int64           `json:"entry"`
		Kind  roll.Kind       `json:"kind,omitempty"`
		With  json.RawMessage `json:"with,omitempty"`
		At    *time.Time      `json:"at,omitempty"`
	}
)

// encodeBody gives the bytes that are stored and that the hash is taken over.
func encodeBody(b roll.Body) ([]byte, error) {
	doc, err := bodyDoc(b)
	if err != nil {
		return nil, err
	}
	return json.Marshal(doc)
}

func bodyDoc(b roll.Body) (any, error) {
	switch b := b.(type) {
	case roll.Received:
		return receivedDoc{Roll: newRollDoc(b.Roll), Mill: b.Mill, Stands: b.Stands, Diameter: b.Diameter, CrownUM: b.CrownUM, Hardness: b.Hardness, Ground: b.Ground, Measures: newMeasuresDoc(b.Measures), Tests: newTestDocs(b.Tests), Note: b.Note, Confirmed: b.Confirmed}, nil
	case roll.Inspected:
		return inspectedDoc{newTestDocs(b.Tests), b.Note, b.Confirmed}, nil
	case roll.Reground:
		return newRegroundDoc(b), nil
	case roll.Paired:
		return pairedDoc(b), nil
	case roll.Unpaired:
		return unpairedDoc(b), nil
	case roll.Mounted:
		return mountedDoc(b), nil
	case roll.Withdrawn:
		return withdrawnDoc(b), nil
	case roll.PastStay:
		b.From = stored(b.From)
		return pastStayDoc(b), nil
	case roll.Incident:
		return newIncidentDoc(b), nil
	case roll.Conceded:
		return concededDoc(b), nil
	case roll.Held:
		return heldDoc(b), nil
	case roll.Released:
		return releasedDoc(b), nil
	case roll.Regraded:
		return regradedDoc(b), nil
	case roll.Scrapped:
		return scrappedDoc(b), nil
	case roll.Corrected:
		return newCorrectedDoc(b)
	}
	return nil, fmt.Errorf("an entry of kind %T cannot be stored", b)
}

// decodeBody reads what encodeBody wrote.
func decodeBody(kind roll.Kind, text []byte) (roll.Body, error) {
	switch kind {
	case roll.KindReceived:
		return decoded(text, func(d receivedDoc) roll.Body {
			return roll.Received{Roll: d.Roll.roll(), Mill: d.Mill, Stands: d.Stands, Diameter: d.Diameter, CrownUM: d.CrownUM, Hardness: d.Hardness, Ground: d.Ground,
				Measures: d.Measures.measures(), Tests: tests(d.Tests), Confirmed: d.Confirmed, Note: d.Note}
		})
	case roll.KindInspected:
		return decoded(text, func(d inspectedDoc) roll.Body {
			return roll.Inspected{Tests: tests(d.Tests), Confirmed: d.Confirmed, Note: d.Note}
		})
	case roll.KindReground:
		return decoded(text, func(d regroundDoc) roll.Body { return d.reground() })
	case roll.KindPaired:
		return decoded(text, func(d pairedDoc) roll.Body { return roll.Paired(d) })
	case roll.KindUnpaired:
		return decoded(text, func(d unpairedDoc) roll.Body { return roll.Unpaired(d) })
	case roll.KindMounted:
		return decoded(text, func(d mountedDoc) roll.Body { return roll.Mounted(d) })
	case roll.KindWithdrawn:
		return decoded(text, func(d withdrawnDoc) roll.Body { return roll.Withdrawn(d) })
	case roll.KindPastStay:
		return decoded(text, func(d pastStayDoc) roll.Body { return roll.PastStay(d) })
	case roll.KindIncident:
		return decoded(text, func(d incidentDoc) roll.Body { return d.incident() })
	case roll.KindConceded:
		return decoded(text, func(d concededDoc) roll.Body { return roll.Conceded(d) })
	case roll.KindHeld:
		return decoded(text, func(d heldDoc) roll.Body { return roll.Held(d) })
	case roll.KindReleased:
		return decoded(text, func(d releasedDoc) roll.Body { return roll.Released(d) })
	case roll.KindRegraded:
		return decoded(text, func(d regradedDoc) roll.Body { return roll.Regraded(d) })
	case roll.KindScrapped:
		return decoded(text, func(d scrappedDoc) roll.Body { return roll.Scrapped(d) })
	case roll.KindCorrected:
		return decodeCorrected(text)
	}
	return nil, fmt.Errorf("%q is not a kind of entry that this version knows", kind)
}

func decoded[Doc any](text []byte, body func(Doc) roll.Body) (roll.Body, error) {
	d, err := strictly[Doc](text)
	if err != nil {
		return nil, err
	}
	return body(d), nil
}

// strictly reads a document and refuses what it does not know: a field from a
// later version may change what an entry means, and leaving it out would replay
// the book wrongly without a word.
func strictly[Doc any](text []byte) (Doc, error) {
	var d Doc
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&d); err != nil {
		return d, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return d, fmt.Errorf("there is more after the end of the document")
	}
	return d, nil
}

func newCorrectedDoc(b roll.Corrected) (correctedDoc, error) {
	d := correctedDoc{Entry: b.Entry}
	if !b.At.IsZero() {
		at := stored(b.At)
		d.At = &at
	}
	if b.With == nil {
		return d, nil
	}
	var err error
	d.Kind = b.With.Kind()
	d.With, err = encodeBody(b.With)
	return d, err
}

func decodeCorrected(text []byte) (roll.Body, error) {
	d, err := strictly[correctedDoc](text)
	if err != nil {
		return nil, err
	}
	b := roll.Corrected{Entry: d.Entry}
	if d.At != nil {
		b.At = *d.At
	}
	if d.Kind != "" {
		b.With, err = decodeBody(d.Kind, d.With)
	}
	return b, err
}

func newRollDoc(r roll.Roll) rollDoc {
	d := rollDoc{Number: r.Number, Role: r.Role, Grade: r.Grade, Supplier: r.Supplier, Certificate: r.Certificate, NewDiameter: r.NewDiameter, BarrelLength: r.BarrelLength, BearingSpan: r.BearingSpan, NeckDiameter: r.NeckDiameter, NeckRadius: r.NeckRadius, Scrap: scrapDoc(r.Scrap), Price: r.Price, Grooves: nil}
	for _, g := range r.Grooves {
		d.Grooves = append(d.Grooves, grooveDoc(g))
	}
	return d
}

func (d rollDoc) roll() roll.Roll {
	r := roll.Roll{Number: d.Number, Role: d.Role, Grade: d.Grade, Supplier: d.Supplier, Certificate: d.Certificate, NewDiameter: d.NewDiameter,
		BarrelLength: d.BarrelLength, BearingSpan: d.BearingSpan, NeckDiameter: d.NeckDiameter, NeckRadius: d.NeckRadius, Scrap: roll.ScrapLimits(d.Scrap), Price: d.Price}
	for _, g := range d.Grooves {
		r.Grooves = append(r.Grooves, roll.Groove(g))
	}
	return r
}
