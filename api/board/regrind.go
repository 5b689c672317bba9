package board

import (
	"crypto/rand"
	"encoding/hex"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"barrelbook/api/oapi"
)

// regrindData is the form of a regrind: what is known, what was entered and what
// is wrong with it.
type regrindData struct {
	Roll     oapi.Roll
	Advice   *oapi.RegrindAdvice
	Entered  map[string]string
	Wrong    map[string]string    // by field of the form
	Other    []string             // what is wrong with no field of the form
	Confirm  bool                 // an implausible measure must be confirmed
	Asked    []oapi.AskedQuestion // to be ticked before it is recorded
	Answered []string             // the names of those ticked, for the figures shown
	Key      string               // sent again, it records once
	Version  string               // of the book that was looked at
	Recorded *oapi.RegrindAnswer
	Tests    []oapi.TestKind
	Outcomes []oapi.TestResultOutcome
	Purposes []oapi.RegrindPurpose
}

// measures are the fields of the form that are numbers, by their names in the
// contract.
var measures = []string{"found_mm", "ground_mm", "crown_um", "roughness_um", "taper_um", "runout_um", "temperature_above_shop_k"}

func (b *Board) regrindPage(v *visit) (answer, error) {
	d, err := regrindForm(v)
	if err != nil {
		return answer{}, err
	}
	key := make([]byte, 16)
	if _, err := rand.Read(key); err != nil {
		return answer{}, err
	}
	d.Key = hex.EncodeToString(key)
	return d.answer(0), nil
}

// regrindForm reads what the form shows beside its fields.
func regrindForm(v *visit) (*regrindData, error) {
	path := "/v1/rolls/" + url.PathEscape(v.PathValue("roll"))
	r, tag, err := ask[oapi.Roll](v.asker, http.MethodGet, path, nil)
	if err != nil {
		return nil, err
	}
	d := &regrindData{Roll: r, Version: tag, Entered: map[string]string{"purpose": string(oapi.RegrindPurposeWear)}, Wrong: map[string]string{},
		Tests:    []oapi.TestKind{oapi.TestKindVisual, oapi.TestKindEddyCurrent, oapi.TestKindUltrasonic, oapi.TestKindHardness},
		Outcomes: []oapi.TestResultOutcome{oapi.TestResultOutcomePassed, oapi.TestResultOutcomeFailed, oapi.TestResultOutcomeUnknown},
		Purposes: []oapi.RegrindPurpose{oapi.RegrindPurposeWear, oapi.RegrindPurposeIncident, oapi.RegrindPurposeCrack, oapi.RegrindPurposeProfile, oapi.RegrindPurposeRedress, oapi.RegrindPurposeRetexture, oapi.RegrindPurposeIncoming}}
	if advice, _, err := ask[oapi.RegrindAdvice](v.asker, http.MethodPost, path+"/regrind-advice", oapi.RegrindAdviceInput{}); err == nil {
		d.Advice = &advice
	}
	return d, nil
}

func (d *regrindData) answer(status int) answer {
	return answer{template: "regrind.html", title: "Regrind of " + d.Roll.Number, mill: d.Roll.Mill, data: d, status: status}
}

// regrind records what the form says, with the same checks, questions and rights
// as any other way.
func (b *Board) regrind(v *visit, _ http.ResponseWriter) (answer, error) {
	d, err := regrindForm(v)
	if err != nil {
		return answer{}, err
	}
	d.Key, d.Version = v.PostForm.Get("key"), v.PostForm.Get("version")
	for name := range v.PostForm {
		d.Entered[name] = strings.TrimSpace(v.PostForm.Get(name))
	}
	if d.sameFigures() {
		d.Answered = v.PostForm["confirmed"]
	}
	body := d.input()
	if len(d.Wrong) > 0 {
		return d.answer(http.StatusUnprocessableEntity), nil
	}
	path := "/v1/rolls/" + url.PathEscape(d.Roll.Number) + "/regrinds"
	recorded, _, err := ask[oapi.RegrindAnswer](v.asker, http.MethodPost, path, body, "Idempotency-Key", d.Key, "If-Match", d.Version)
	no, is := err.(*refused)
	switch {
	case err == nil:
		d.Recorded = &recorded
		return d.answer(http.StatusCreated), nil
	case !is || no.status == http.StatusUnauthorized:
		return answer{}, err
	case no.status == http.StatusPreconditionFailed:
		d.Other = append(d.Other, "The book of "+d.Roll.Number+" has a newer entry than the one this form was opened with: somebody else recorded in between. Look at the roll before you enter it again; nothing was recorded now.")
	default:
		d.refuse(no)
	}
	return d.answer(no.status), nil
}

// sameFigures says whether the figures are those that the questions were put for:
// a box ticked for one figure does not answer for another.
func (d *regrindData) sameFigures() bool {
	return d.Entered["found_mm"] == d.Entered["asked_found_mm"] && d.Entered["ground_mm"] == d.Entered["asked_ground_mm"]
}

// input makes the body of the request; what is no number is noted at its field.
func (d *regrindData) input() map[string]any {
	body := map[string]any{"purpose": d.Entered["purpose"]}
	for _, name := range measures {
		text := strings.ReplaceAll(d.Entered[name], ",", ".")
		if text == "" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			d.Wrong[name] = "is not a number; enter it in " + map[bool]string{true: "millimetres, as 642.480", false: "the unit beside it"}[strings.HasSuffix(name, "_mm")]
			continue
		}
		body[name] = v
	}
	for _, name := range []string{"found_mm", "ground_mm"} {
		if d.Entered[name] == "" {
			d.Wrong[name] = "is needed"
		}
	}
	for _, name := range []string{"grinder", "note", "confirm"} {
		if d.Entered[name] != "" {
			body[name] = d.Entered[name]
		}
	}
	if len(d.Answered) > 0 {
		body["confirmed"] = d.Answered
	}
	var tests []map[string]any
	for _, kind := range d.Tests {
		if outcome := d.Entered["test_"+string(kind)]; outcome != "" {
			test := map[string]any{"test": kind, "outcome": outcome}
			if v, err := strconv.ParseFloat(strings.ReplaceAll(d.Entered["hardness"], ",", "."), 64); err == nil && kind == oapi.TestKindHardness {
				test["hardness_shore_c"] = v
			}
			tests = append(tests, test)
		}
	}
	if tests != nil {
		body["tests"] = tests
	}
	return body
}

// refuse puts what the service refused beside the fields it names.
func (d *regrindData) refuse(no *refused) {
	if d.Asked = no.asked; len(d.Asked) > 0 {
		return
	}
	for _, f := range no.fields {
		name := strings.TrimPrefix(f.Pointer, "#/")
		_, entered := d.Entered[name]
		d.Confirm = d.Confirm || name == "confirm" || strings.Contains(f.Detail, "confirm")
		if entered || name == "confirm" {
			d.Wrong[name] = f.Detail
		} else {
			d.Other = append(d.Other, name+": "+f.Detail)
		}
	}
	if len(no.fields) == 0 {
		d.Other = append(d.Other, no.detail)
	}
}
