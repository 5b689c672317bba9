package calc

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// campaignHeadings are the columns of the campaigns of wear-rate, in any order.
var campaignHeadings = []string{"roll", "grade", "stand", "rolled_km", "specific_force_kn_per_mm", "wear_um"}

// campaignNumbers is how many of them, from the end, are numbers.
const campaignNumbers = 3

// campaignsFromCSV reads the campaigns of wear-rate from a spreadsheet. The
// order of the rows is kept: it is the order of each roll's campaigns.
func campaignsFromCSV(text []byte) ([]byte, error) {
	text = bytes.TrimPrefix(text, []byte("\ufeff")) // some spreadsheets begin with it
	if !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0 {
		return nil, errors.New("the file is not UTF-8 text; save it as CSV in UTF-8")
	}
	in := csv.NewReader(bytes.NewReader(text))
	in.TrimLeadingSpace = true
	in.FieldsPerRecord = -1 // counted below, where the headings are known
	headings, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("the file is empty; its first line must be %s", strings.Join(campaignHeadings, ","))
	}
	if err != nil {
		return nil, err
	}
	place, err := places(headings)
	if err != nil {
		return nil, err
	}
	campaigns := []map[string]any{}
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if strings.TrimSpace(strings.Join(row, "")) == "" {
			continue // spreadsheets leave such rows at the end
		}
		line, _ := in.FieldPos(0)
		campaign, err := campaignOf(row, place)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		campaigns = append(campaigns, campaign)
	}
	return json.Marshal(map[string]any{"campaigns": campaigns})
}

// campaignOf reads one row.
func campaignOf(row []string, place []int) (map[string]any, error) {
	if len(row) != len(place) {
		return nil, fmt.Errorf("has %d cells where the headings are %d; a decimal comma is taken for the next cell, write a point", len(row), len(place))
	}
	campaign := map[string]any{}
	for k, heading := range campaignHeadings {
		cell := strings.TrimSpace(row[place[k]])
		if k < len(campaignHeadings)-campaignNumbers {
			campaign[heading] = cell
			continue
		}
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			hint := ""
			if strings.Contains(cell, ",") {
				hint = "; write a decimal point and nothing between thousands"
			}
			return nil, fmt.Errorf("%s %q is no number%s", heading, cell, hint)
		}
		campaign[heading] = v
	}
	return campaign, nil
}

// places finds each heading's column.
func places(headings []string) ([]int, error) {
	for i := range headings {
		headings[i] = strings.TrimSpace(headings[i])
	}
	if len(headings) == 1 && strings.ContainsAny(headings[0], ";\t") {
		return nil, errors.New("the columns are not separated by commas; save it with commas between them and decimal points")
	}
	place := make([]int, len(campaignHeadings))
	for k, want := range campaignHeadings {
		if place[k] = slices.Index(headings, want); place[k] < 0 {
			return nil, fmt.Errorf("the heading %s is missing; the first line must name %s", want, strings.Join(campaignHeadings, ","))
		}
	}
	for i, h := range headings {
		if slices.Contains(headings[:i], h) {
			return nil, fmt.Errorf("the heading %s is there twice", h)
		}
		if !slices.Contains(campaignHeadings, h) {
			return nil, fmt.Errorf("there is no heading %q here; the first line must name %s", h, strings.Join(campaignHeadings, ","))
		}
	}
	return place, nil
}
