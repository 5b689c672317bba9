package rest_test

import (
	"strings"
	"testing"

	"barrelbook/api/oapi"
	"barrelbook/domain/practice"
)

// TestSettingsSayTheSameEverywhere holds the contract's settings against the
// domain's: the same names, and the same meaning with the same default, as
// people read the one and the models use the other.
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
	}
}
