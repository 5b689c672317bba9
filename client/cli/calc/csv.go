package calc

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// campaignHeadings are the columns of the campaigns of wear-rate, in any order.
var campaignHeadings = []string{"roll", "grade", "stand", "rolled_km", "specific_force_kn_per_mm", "wear_um"}

// campaignNumbers is how many of them, from the end, are numbers.
const campaignNumbers = 3

// campaignsFromCSV reads the campaigns of wear-rate from a spreadsheet. The
// order of the rows is kept: it is the order of each roll's campaigns.
func campaignsFromCSV(text []byte) ([]byte, error) {
	text = bytes.TrimPrefix(text, []byte("\ufeff")) // some spreadsheets begin with it
	in := csv.NewReader(bytes.NewReader(text))
	in.TrimLeadingSpace = true
	rows, err := in.ReadAll()
	if err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		return nil, fmt.Errorf("the file is empty; its first line must be %s", strings.Join(campaignHeadings, ","))
	}
	place, err := places(rows[0])
	if err != nil {
		return nil, err
	}
	campaigns := make([]map[string]any, 0, len(rows)-1)
	for i, row := range rows[1:] {
		campaign := map[string]any{}
		for k, heading := range campaignHeadings {
			cell := strings.TrimSpace(row[place[k]])
			if k < len(campaignHeadings)-campaignNumbers {
				campaign[heading] = cell
				continue
			}
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("line %d: %s %q is no number", i+2, heading, cell)
			}
			campaign[heading] = v
		}
		campaigns = append(campaigns, campaign)
	}
	return json.Marshal(map[string]any{"campaigns": campaigns})
}

// places finds each heading's column.
func places(headings []string) ([]int, error) {
	for i := range headings {
		headings[i] = strings.TrimSpace(headings[i])
	}
	place := make([]int, len(campaignHeadings))
	for k, want := range campaignHeadings {
		if place[k] = slices.Index(headings, want); place[k] < 0 {
			return nil, fmt.Errorf("the heading %s is missing; the first line must name %s", want, strings.Join(campaignHeadings, ","))
		}
	}
	for _, h := range headings {
		if !slices.Contains(campaignHeadings, h) {
			return nil, fmt.Errorf("there is no heading %q here; the first line must name %s", h, strings.Join(campaignHeadings, ","))
		}
	}
	return place, nil
}
