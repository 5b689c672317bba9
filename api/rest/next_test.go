package rest

import (
	"net/http"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"barrelbook/domain/next"
)

// TestStepsNameTheContract wants every step of a refusal to be an operation of
// the contract, with arguments that it takes, and a link that is filled in.
func TestStepsNameTheContract(t *testing.T) {
	c, err := readContract()
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range next.Every() {
		if step.Operation == "" {
			// The same request once more: every body that takes it calls it so.
			for name := range step.Arguments {
				if !asks(c.byID["recordRegrind"], name) && !asks(c.byID["recordChange"], name) {
					t.Errorf("no request takes %q", name)
				}
			}
			continue
		}
		op := c.byID[step.Operation]
		if op == nil {
			t.Errorf("%s is no operation of the contract", step)
			continue
		}
		for name := range step.Arguments {
			if !asks(op, name) {
				t.Errorf("%s: %s takes no %q", step, step.Operation, name)
			}
		}
		w := nextToWire(step)
		if w.Href == nil || strings.ContainsAny(*w.Href, "{}") || *w.Method != op.method {
			t.Errorf("%s has the link %v %v", step, w.Method, w.Href)
		}
	}
}

// asks says whether an operation has a parameter or a member of its body of
// the name, levels parted by dots.
func asks(op *operation, name string) bool {
	if op.read() != nil {
		return false
	}
	for _, list := range []openapi3.Parameters{op.route.PathItem.Parameters, op.route.Operation.Parameters} {
		if list.GetByInAndName("path", name) != nil || list.GetByInAndName("query", name) != nil {
			return true
		}
	}
	schema := op.body
	for _, part := range strings.Split(name, ".") {
		if schema == nil || schema.Properties[part] == nil {
			return false
		}
		if schema = schema.Properties[part].Value; schema.Items != nil {
			schema = schema.Items.Value
		}
	}
	return true
}

func TestLinksAreFilledIn(t *testing.T) {
	for _, c := range []struct {
		step         next.Step
		method, href string
	}{
		{next.ReleaseRoll("CW-1"), http.MethodPost, "/v1/rolls/CW-1/releases"},
		{next.ListReadySets(), http.MethodGet, "/v1/sets?ready=true"},
		{next.RecordChange("F5"), http.MethodPost, "/v1/changes"},
		{next.ShowRoll("a b/c"), http.MethodGet, "/v1/rolls/a%20b%2Fc"},
	} {
		w := nextToWire(c.step)
		if *w.Method != c.method || *w.Href != c.href {
			t.Errorf("%s leads to %s %s, want %s %s", c.step, *w.Method, *w.Href, c.method, c.href)
		}
	}
	if w := nextToWire(next.Step{Operation: "getRoll"}); w.Href != nil {
		t.Errorf("a roll without its number has the link %s", *w.Href)
	}
}
