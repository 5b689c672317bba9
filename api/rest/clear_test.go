package rest

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"barrelbook/api/app/record"
	"barrelbook/api/oapi"
	"barrelbook/domain/roll"
)

// TestClearing: each field that the contract lets a correction clear is as if it
// had not been said, and no other is.
func TestClearing(t *testing.T) {
	doc, err := oapi.GetSpec()
	if err != nil {
		t.Fatal(err)
	}
	may := func(schema string) (fields []string) {
		for _, v := range doc.Components.Schemas[schema].Value.Properties["clear"].Value.Items.Value.Enum {
			fields = append(fields, fmt.Sprint(v))
		}
		return fields
	}
	for _, field := range may("RegrindCorrection") {
		change, err := regrindChange(oapi.RegrindCorrection{Clear: &[]oapi.RegrindCorrectionClear{oapi.RegrindCorrectionClear(field)}})
		if err != nil {
			t.Fatal(err)
		}
		in := filled[record.RegrindInput]()
		before := saidIn(t, in)
		change(&in)
		clearedAlone(t, "regrind", field, before, saidIn(t, in))
	}
	for _, field := range may("ReceiptCorrection") {
		change, err := receiptChange(oapi.ReceiptCorrection{Clear: &[]oapi.ReceiptCorrectionClear{oapi.ReceiptCorrectionClear(field)}})
		if err != nil {
			t.Fatal(err)
		}
		b := filled[roll.Received]()
		before := saidIn(t, b)
		change(&b)
		clearedAlone(t, "receipt", field, before, saidIn(t, b))
	}
}

// saidIn are the members of a value that say something, by their paths.
func saidIn(t *testing.T, v any) (said []string) {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var tree map[string]any
	if err := json.Unmarshal(raw, &tree); err != nil {
		t.Fatal(err)
	}
	flat := map[string]string{}
	flatten(flat, "", tree)
	for path := range flat {
		said = append(said, path)
	}
	slices.Sort(said)
	return said
}

// clearedAlone wants one member to say nothing any more, of a name that is the
// field's; a crown is kept twice.
func clearedAlone(t *testing.T, of, field string, before, after []string) {
	t.Helper()
	gone := slices.DeleteFunc(slices.Clone(before), func(path string) bool { return slices.Contains(after, path) })
	alike := func(path string) bool {
		name := strings.ToLower(path[strings.LastIndex(path, "/")+1:])
		want := strings.NewReplacer("temperature_above_shop_k", "aboveshopk", "neck_fillet_radius_mm", "neckradius", "hardness_shore_c", "hardness", "_mm", "", "_", "").Replace(field)
		return name == want
	}
	if len(gone) == 0 || len(gone) > 2 || !slices.ContainsFunc(gone, alike) || len(gone) == 2 && !(alike(gone[0]) && alike(gone[1])) {
		t.Errorf("%s: clearing %s took away %q", of, field, gone)
	}
}
