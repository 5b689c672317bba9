package rest_test

import (
	"strconv"
	"strings"
	"testing"

	"barrelbook/api/oapi"
	"barrelbook/domain/practice"
)

// TestSettingsSayTheSameEverywhere holds the contract's settings against the
// domain's: the same names, the same range, and the same meaning with the same
// default, as people read the one and the models use the other. A range that
// stands in one of them alone would be refused late, or not at all.
func TestSettingsSayTheSameEverywhere(t *testing.T) {
	spec, err := oapi.GetSpec()
	if err != nil {
		t.Fatal(err)
	}
	wire := spec.Components.Schemas["PracticeValues"].Value.Properties
	settings := practice.Settings()
	if len(wire) != len(settings) {
		t.Errorf("the contract has %d settings, the domain %d", len(wire), len(settings))
	}
	for _, s := range settings {
		property := wire[string(s.Key)]
		if property == nil {
			t.Errorf("%s is not in the contract", s.Key)
			continue
		}
		if got := property.Value.Description; !strings.EqualFold(got, s.Meaning) {
			t.Errorf("%s: the contract says %q, the domain %q", s.Key, got, s.Meaning)
		}
		if low, high := property.Value.Min, property.Value.Max; low == nil || *low != s.Low || high == nil || *high != s.High {
			t.Errorf("%s: the contract must have minimum: %s, maximum: %s, as the domain", s.Key, plain(s.Low), plain(s.High))
		}
	}
}

// plain is a number as the contract writes it: some readers of YAML take 1e15
// for a text.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
