package rest

import (
	"encoding/json"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
)

// TestPartsSayWhatTheWholeSays: each operation read by itself is the one of the
// whole document, down to the schemas that it names, and none is left out.
func TestPartsSayWhatTheWholeSays(t *testing.T) {
	c, err := readContract()
	if err != nil {
		t.Fatal(err)
	}
	whole, err := c.whole()
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	for path, item := range whole.Paths.Map() {
		for method, op := range item.Operations() {
			count++
			o := c.operations[method+" "+echoPath(path)]
			if o == nil {
				t.Errorf("%s %s is not there", method, path)
				continue
			}
			if err := o.read(); err != nil {
				t.Error(err)
				continue
			}
			got := *o.route.Operation
			got.Security = op.Security   // taken off on purpose, see readAll
			got.Responses = op.Responses // read apart, see readAnswer
			if a, b := asJSON(t, &got), asJSON(t, op); a != b {
				t.Errorf("%s reads\n%s\nthe whole has\n%s", o.id, a, b)
			}
			if answer, err := o.answer(); err != nil {
				t.Error(err)
			} else if answer != nil {
				alike(t, o.id+" answers", answer, op.Responses.Status(200).Value.Content[jsonMedia].Schema.Value)
			} else if method == "GET" && op.Responses.Status(200).Value.Content[jsonMedia] != nil {
				t.Errorf("the answer of %s is not read", o.id)
			}
			if op.RequestBody != nil && o.media == jsonMedia {
				alike(t, o.id, o.body, op.RequestBody.Value.Content[jsonMedia].Schema.Value)
			}
		}
	}
	if count != len(c.operations) || count < 60 {
		t.Errorf("%d operations cut out, %d in the whole", len(c.operations), count)
	}
	piece, err := c.piece()
	if err != nil {
		t.Fatal(err)
	}
	alike(t, "piece", piece, whole.Components.Schemas["PieceInput"].Value)
}

// alike compares two schemas through the references in them.
func alike(t *testing.T, name string, a, b *openapi3.Schema) {
	if x, y := asJSON(t, a), asJSON(t, b); x != y {
		t.Errorf("%s: %s, the whole has %s", name, x, y)
	}
	for field, ref := range b.Properties {
		if other := a.Properties[field]; other == nil || other.Value == nil {
			t.Errorf("%s: %s leads nowhere", name, field)
		} else if ref.Ref != "" {
			alike(t, name+"."+field, other.Value, ref.Value)
		}
	}
}

func asJSON(t *testing.T, v any) string {
	out, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}
