package rest

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/roll"
)

// CorrectEntry corrects what an entry said, or withdraws it.
func (s *Server) CorrectEntry(ctx context.Context, r oapi.CorrectEntryRequestObject) (oapi.CorrectEntryResponseObject, error) {
	call, err := callOn(ctx, r.Params.IdempotencyKey, r.Params.DryRun, r.Params.IfMatch)
	if err != nil {
		return nil, err
	}
	if err := clearsWhatItGives(*r.Body); err != nil {
		return nil, err
	}
	c, err := correctionFromWire(*r.Body)
	if err != nil {
		return nil, err
	}
	c.Number = r.Roll
	v, err := s.app.CorrectEntry(ctx, call, c)
	if err != nil {
		return nil, err
	}
	answer, err := correctionToWire(v)
	return oapi.CorrectEntry201JSONResponse{Body: answer, Headers: oapi.CorrectEntry201ResponseHeaders{ETag: etag(answer.Version)}}, err
}

func correctionFromWire(w oapi.CorrectionInput) (record.Correction, error) {
	c := record.Correction{Entry: w.Entry, Reason: w.Reason}
	if w.Receipt != nil {
		var err error
		if c.Receipt, err = receiptChange(*w.Receipt); err != nil {
			return c, err
		}
		c.ReceivedAt = given(w.Receipt.ReceivedAt)
	}
	if w.Regrind != nil {
		var err error
		if c.Regrind, err = regrindChange(*w.Regrind); err != nil {
			return c, err
		}
	}
	return c, nil
}

func correctionToWire(v record.CorrectionView) (oapi.CorrectionAnswer, error) {
	changed, err := changedFields(v)
	return oapi.CorrectionAnswer{Roll: rollToWire(v.Roll), Entry: v.Entry, Corrects: v.Corrects, Kind: oapi.EntryKind(v.Kind), Summary: v.Said, Withdrawn: v.Withdrawn, Changed: some(changed),
		Before: each(v.Before, rollStandingToWire), After: each(v.After, rollStandingToWire), DryRun: optional(v.DryRun), Version: v.Roll.Version()}, err
}

// changedFields are those of the entry's input that say something else now.
func changedFields(v record.CorrectionView) ([]oapi.ChangedField, error) {
	var said, says roll.Body
	switch {
	case v.SaidRegrind != nil && v.SaysRegrind != nil:
		said, says = *v.SaidRegrind, *v.SaysRegrind
	case v.SaidReceipt != nil && v.SaysReceipt != nil:
		said, says = *v.SaidReceipt, *v.SaysReceipt
	default:
		return nil, nil
	}
	was, err := fieldsOf(said, v.SaidAt)
	if err != nil {
		return nil, err
	}
	is, err := fieldsOf(says, v.SaysAt)
	if err != nil {
		return nil, err
	}
	names := maps.Clone(was)
	maps.Copy(names, is)
	var changed []oapi.ChangedField
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if was[name] != is[name] {
			changed = append(changed, oapi.ChangedField{Field: name, Was: optional(was[name]), Is: optional(is[name])})
		}
	}
	return changed, nil
}

// fieldsOf are the fields of an entry as text, levels parted by a slash; what is
// not said is left out, and lists are one field.
func fieldsOf(body roll.Body, at time.Time) (map[string]string, error) {
	raw, err := json.Marshal(bodyToWire(body))
	if err != nil {
		return nil, err
	}
	var tree map[string]any
	if err := json.Unmarshal(raw, &tree); err != nil {
		return nil, err
	}
	if read, ok := tree["found_as_read_mm"]; ok { // the other is at shop temperature, and follows from it
		tree["found_mm"] = read
	}
	for _, derived := range []string{"found_as_read_mm", "gauge_uncertainty_um", "fire_crack_grown_um", "number", "confirmed"} {
		delete(tree, derived)
	}
	fields := map[string]string{"at": at.UTC().Format(time.RFC3339)}
	flatten(fields, "", tree)
	return fields, nil
}

func flatten(into map[string]string, prefix string, tree map[string]any) {
	for name, v := range tree {
		switch v := v.(type) {
		case map[string]any:
			flatten(into, prefix+name+"/", v)
		case nil:
		case string:
			if v != "" {
				into[prefix+name] = v
			}
		case []any:
			if len(v) > 0 {
				into[prefix+name] = listed(v)
			}
		default:
			if text := fmt.Sprint(v); text != "0" && text != "false" {
				into[prefix+name] = text
			}
		}
	}
}

// listed is a list of a body as text: names as they are, things with their
// members.
func listed(items []any) string {
	texts := make([]string, len(items))
	for i, item := range items {
		members, is := item.(map[string]any)
		if !is {
			texts[i] = fmt.Sprint(item)
			continue
		}
		flat := map[string]string{}
		flatten(flat, "", members)
		var words []string
		for _, name := range slices.Sorted(maps.Keys(flat)) {
			words = append(words, name+" "+flat[name])
		}
		texts[i] = strings.Join(words, ", ")
	}
	return strings.Join(texts, "; ")
}

func rollStandingToWire(s record.RollStanding) oapi.RollStanding {
	w := oapi.RollStanding{Roll: s.Roll, Stage: oapi.Stage(s.Stage), DiameterMm: s.Diameter.MM(), ScrapMm: s.ScrapAt.MM(), ScrapLimit: s.ScrapLimit, StockLeftMm: s.StockLeft.MM(),
		RegrindsLeft: s.RegrindsLeft, Fit: fitnessToWire(s.Fitness), Owed: some(each(s.Owed, owedToWire)), Partner: optional(s.Partner), CampaignsLeft: optional(s.CampaignsLeft)}
	if s.Partner != "" {
		mismatch, tolerance := float64(s.Mismatch), float64(s.Tolerance)
		w.PairMismatchUm, w.PairToleranceUm = &mismatch, &tolerance
	}
	if !s.Scrap.IsZero() {
		at := s.Scrap.UTC()
		w.ScrapAt = &at
	}
	return w
}
