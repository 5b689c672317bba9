package rest_test

import (
	"bytes"
	"encoding/json"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

// TestContract holds the contract to the rules that the edge builds on.
func TestContract(t *testing.T) {
	doc, err := openapi3.NewLoader().LoadFromFile("../../openapi.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(t.Context()); err != nil {
		t.Errorf("not valid OpenAPI: %v", err)
	}
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			name := method + " " + path
			if role, _ := op.Extensions["x-role"].(string); !port.Role(role).May(port.Viewer) {
				t.Errorf("%s: x-role %q is no role", name, role)
			}
			if op.Responses.Default() == nil {
				t.Errorf("%s: no default response", name)
			}
			if len(op.Tags) != 1 {
				t.Errorf("%s: tags %v, want one", name, op.Tags)
			}
			if op.RequestBody != nil && len(op.RequestBody.Value.Content) != 1 {
				t.Errorf("%s: takes more than one media type", name)
			}
		}
	}
	for name, ref := range doc.Components.Schemas {
		everyNumberHasAFormat(t, name, ref)
	}
}

// everyNumberHasAFormat: without format double a number would be generated as
// a float32.
func everyNumberHasAFormat(t *testing.T, at string, ref *openapi3.SchemaRef) {
	s := ref.Value
	if (s.Type.Is("number") && s.Format != "double") || (s.Type.Is("integer") && s.Format != "int64") {
		t.Errorf("%s: %v without its format", at, s.Type)
	}
	for name, p := range s.Properties {
		if p.Ref == "" {
			everyNumberHasAFormat(t, at+"/"+name, p)
		}
	}
	if s.Items != nil && s.Items.Ref == "" {
		everyNumberHasAFormat(t, at+"/items", s.Items)
	}
}

// TestRequestBodiesAreClosed: a misspelt optional field must not be passed over,
// so every object of a request refuses what it does not know.
func TestRequestBodiesAreClosed(t *testing.T) {
	doc, err := oapi.GetSpec()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[*openapi3.Schema]bool{}
	var closed func(at string, s *openapi3.Schema)
	closed = func(at string, s *openapi3.Schema) {
		if s == nil || seen[s] {
			return
		}
		seen[s] = true
		if s.Type.Is("object") && (s.AdditionalProperties.Has == nil || *s.AdditionalProperties.Has) {
			t.Errorf("%s takes fields it does not know", at)
		}
		for name, p := range s.Properties {
			closed(at+"/"+name, p.Value)
		}
		if s.Items != nil {
			closed(at+"/items", s.Items.Value)
		}
	}
	closed("PieceInput", doc.Components.Schemas["PieceInput"].Value)
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			if op.RequestBody == nil {
				continue
			}
			if media := op.RequestBody.Value.Content.Get("application/json"); media != nil {
				closed(method+" "+path, media.Schema.Value)
			}
		}
	}
}

// TestGeneratedCodeHasNoFloat32: single precision would lose micrometres.
func TestGeneratedCodeHasNoFloat32(t *testing.T) {
	for _, file := range []string{"../oapi/server.gen.go", "../../client/oapi/client.gen.go"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(text, []byte("float32")) {
			t.Errorf("%s holds float32", file)
		}
	}
}

// TestServedContract: what /openapi.json gives is the contract, names and all.
func TestServedContract(t *testing.T) {
	s := openFile(t)
	w := s.send(httptest.NewRequest("GET", "/openapi.json", nil))
	served, err := openapi3.NewLoader().LoadFromData(w.Body.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	written, err := openapi3.NewLoader().LoadFromFile("../../openapi.yaml")
	if err != nil {
		t.Fatal(err)
	}
	a, _ := json.Marshal(served)
	b, _ := json.Marshal(written)
	if !bytes.Equal(a, b) {
		t.Error("/openapi.json differs from openapi.yaml; run go generate ./...")
	}
	for path, item := range written.Paths.Map() {
		for _, op := range item.Operations() {
			if !strings.Contains(w.Body.String(), `"`+op.OperationID+`"`) {
				t.Errorf("%s: %s is not served", path, op.OperationID)
			}
		}
	}
}
