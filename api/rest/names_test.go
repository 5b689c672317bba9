package rest

import (
	"fmt"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"barrelbook/api/oapi"
)

// namesNew are parameters and members that name something new, or something that
// a service and no person named.
var namesNew = map[string]bool{"name": true, "number": true, "practice": true, "token": true, "webhook": true, "change": true, "incident": true, "order": true, "claim": true, "replaces": true}

// TestEveryNameIsRead walks what requests hold by the contract: what names a thing
// is taken whatever its case, or is known to name something new.
func TestEveryNameIsRead(t *testing.T) {
	doc, err := oapi.GetSpec()
	if err != nil {
		t.Fatal(err)
	}
	const nameSchema = "#/components/schemas/Name"
	seen := map[*openapi3.Schema]bool{}
	var walk func(where, name string, ref *openapi3.SchemaRef)
	walk = func(where, name string, ref *openapi3.SchemaRef) {
		if ref == nil || ref.Value == nil {
			return
		}
		if ref.Ref == nameSchema {
			if _, read := nameFields[name]; !read && !namesNew[name] {
				t.Errorf("%s: %s is a name that is taken in one case only: add it to nameFields, or to namesNew where it names something new", where, name)
			}
			return
		}
		if ref.Value.Items != nil {
			walk(where, name, ref.Value.Items)
		}
		if seen[ref.Value] {
			return
		}
		seen[ref.Value] = true
		for member, schema := range ref.Value.Properties {
			walk(where, member, schema)
		}
	}
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			where := fmt.Sprint(method, " ", path)
			for _, list := range []openapi3.Parameters{item.Parameters, op.Parameters} {
				for _, p := range list {
					walk(where, p.Value.Name, p.Value.Schema)
				}
			}
			if op.RequestBody != nil {
				for _, content := range op.RequestBody.Value.Content {
					walk(where, "", content.Schema)
				}
			}
		}
	}
}
