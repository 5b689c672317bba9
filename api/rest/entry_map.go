package rest

import (
	"encoding/json"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/roll"
)

func entryToWire(e record.BookEntry) (oapi.Entry, error) {
	summary := roll.Sentence(e.Body)
	w := oapi.Entry{Roll: e.Roll, Number: e.Number, Kind: oapi.EntryKind(e.Body.Kind()), At: e.At.UTC(), RecordedAt: e.RecordedAt.UTC(), By: e.By,
		Reason: optional(e.Reason), Summary: &summary, ReplacedBy: optional(e.ReplacedBy), Hash: e.Hash}
	body, err := json.Marshal(bodyToWire(e.Body))
	if err != nil {
		return w, err
	}
	return w, json.Unmarshal(body, &w.Body)
}

// bodyToWire shows the body of an entry in the names of the contract; where an
// input of the contract says the same, it is that input.
func bodyToWire(body roll.Body) any {
	switch b := body.(type) {
	case roll.Received:
		return receiptToWire(b)
	case roll.Inspected:
		return oapi.InspectionInput{Tests: testsToWire(b.Tests), Confirmed: confirmedToWire(b.Confirmed), Note: optional(b.Note)}
	case roll.Reground:
		return regroundToWire(b)
	case roll.Paired:
		return map[string]any{"set": b.Set, "partner": b.Partner, "top": b.Top}
	case roll.Unpaired:
		return map[string]any{"set": b.Set}
	case roll.Mounted:
		return map[string]any{"stand": b.Stand, "position": b.Position, "set": b.Set, "change": b.Change, "cooling_h": b.Cooling.Hours(), "campaigns_between_grinds": b.CampaignsBetweenGrinds}
	case roll.Withdrawn:
		return map[string]any{"stand": b.Stand, "position": b.Position, "set": b.Set, "change": b.Change, "why": b.Why}
	case roll.PastStay:
		return map[string]any{"stand": b.Stand, "position": b.Position, "mounted_at": b.From.UTC(), "why": b.Why, "piece_count": b.Pieces, "tonnage_t": b.TonnageT, "rolled_km": b.RolledKM, "specific_force_kn_per_mm": b.SpecificForceKNPerMM}
	case roll.Incident:
		w := map[string]any{"name": b.Name, "what": b.What, "stand": b.Stand, "note": b.Note}
		if b.Asks != nil {
			w["asks"] = each(b.Asks, func(a roll.AskedTest) map[string]any {
				return map[string]any{"test": a.Kind, "campaigns_to_come": a.Campaigns}
			})
		}
		return w
	case roll.Conceded:
		return map[string]any{"missing": b.Missing}
	case roll.Regraded:
		return map[string]any{"mill": b.Mill, "stands": list(b.Stands)}
	case roll.Scrapped:
		return map[string]any{"why": b.Why}
	case roll.Corrected:
		w := map[string]any{"entry": b.Entry}
		if b.With != nil {
			w["kind"], w["with"] = b.With.Kind(), bodyToWire(b.With)
		}
		if !b.At.IsZero() {
			w["at"] = b.At.UTC()
		}
		return w
	default: // held and released say all in their reason
		return map[string]any{}
	}
}

// receiptToWire leaves out received_at, which is the entry's own moment.
func receiptToWire(b roll.Received) map[string]any {
	r := b.Roll
	w := map[string]any{"number": r.Number, "role": r.Role, "grade": r.Grade, "mill": b.Mill, "stands": list(b.Stands), "supplier": r.Supplier, "certificate": r.Certificate,
		"diameter_mm": b.Diameter.MM(), "new_diameter_mm": r.NewDiameter.MM(), "barrel_length_mm": r.BarrelLength.MM(), "bearing_span_mm": r.BearingSpan.MM(), "neck_diameter_mm": r.NeckDiameter.MM(), "neck_fillet_radius_mm": r.NeckRadius.MM(),
		"scrap": scrapToWire(r.Scrap), "crown_um": b.CrownUM, "hardness_shore_c": b.Hardness, "ground": b.Ground, "price": r.Price, "note": b.Note, "grooves": list(given(groovesToWire(r.Grooves)))}
	for name, figure := range map[string]*float64{"taper_um": b.Measures.TaperUM, "runout_um": b.Measures.RunoutUM, "roundness_um": b.Measures.RoundnessUM, "roughness_um": b.Measures.RoughnessUM} {
		if figure != nil {
			w[name] = *figure
		}
	}
	if len(b.Measures.Stations) > 0 {
		w["stations"] = stationsToWire(b.Measures.Stations)
	}
	if len(b.Tests) > 0 {
		w["tests"] = testsToWire(b.Tests)
	}
	if len(b.Confirmed) > 0 {
		w["confirmed"] = b.Confirmed
	}
	return w
}

// regroundToWire is the input of the regrind, with the found diameter at shop
// temperature and as it was read.
func regroundToWire(b roll.Reground) any {
	w := struct {
		oapi.RegrindInput
		FoundAsReadMm      float64 `json:"found_as_read_mm"`
		GaugeUncertaintyUm float64 `json:"gauge_uncertainty_um"`
		FireCrackGrownUm   float64 `json:"fire_crack_grown_um,omitempty"`
	}{FoundAsReadMm: b.FoundAsRead.MM(), GaugeUncertaintyUm: float64(b.GaugeUncertainty), FireCrackGrownUm: b.FireCrackUM}
	w.RegrindInput = oapi.RegrindInput{FoundMm: b.Found.MM(), GroundMm: b.Ground.MM(), Purpose: oapi.RegrindPurpose(b.For), TemperatureAboveShopK: optional(b.AboveShopK),
		CrownUm: b.CrownUM, TaperUm: b.TaperUM, RunoutUm: b.RunoutUM, RoundnessUm: b.RoundnessUM, RoughnessUm: b.RoughnessUM, Stations: stationsToWire(b.Stations), FoundStations: stationsToWire(b.FoundStations), GrooveWornUm: optional(float64(b.GrooveWorn)), Grinder: optional(b.Grinder),
		Tests: some(testsToWire(b.Tests)), Confirm: optional(b.Confirm), Confirmed: confirmedToWire(b.Confirmed), Note: optional(b.Note)}
	return w
}

func confirmedFromWire(w *[]oapi.Question) []string {
	return each(given(w), func(q oapi.Question) string { return string(q) })
}

func confirmedToWire(names []string) *[]oapi.Question {
	return some(each(names, func(n string) oapi.Question { return oapi.Question(n) }))
}

func inspectionFromWire(w oapi.InspectionInput) record.Happening {
	return record.Happening{At: given(w.At), Body: roll.Inspected{Tests: testsFromWire(&w.Tests), Confirmed: confirmedFromWire(w.Confirmed), Note: given(w.Note)}}
}

// reasonedFromWire reads an entry that says all in its reason.
func reasonedFromWire(w oapi.ReasonInput, body roll.Body) record.Happening {
	return record.Happening{At: given(w.At), Reason: w.Reason, Body: body}
}

func regradingFromWire(w oapi.RegradingInput) record.Happening {
	return record.Happening{At: given(w.At), Reason: w.Reason, Body: roll.Regraded{Mill: given(w.Mill), Stands: w.Stands}}
}

func scrappingFromWire(w oapi.ScrappingInput) record.Happening {
	return record.Happening{At: given(w.At), Reason: w.Reason, Body: roll.Scrapped{Why: roll.ScrapWhy(w.Why)}}
}
