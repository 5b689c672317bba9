package rest

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"barrelbook/api/oapi"
	"barrelbook/domain/next"
)

// nextToWire shows a way on with the link of its operation.
func nextToWire(s next.Step) oapi.NextStep {
	w := oapi.NextStep{Do: optional(s.Do), Operation: optional(s.Operation)}
	if len(s.Arguments) > 0 {
		w.Arguments = &s.Arguments
	}
	c, err := readContract()
	if err != nil || s.Operation == "" { // a service whose contract cannot be read does not start
		return w
	}
	if op := c.byID[s.Operation]; op != nil {
		w.Method, w.Href = &op.method, optional(href(op, s.Arguments))
	}
	return w
}

// href is the path of an operation with its parameters filled in, and for a
// reading operation the query; empty where the path needs what is not given.
func href(op *operation, arguments map[string]string) string {
	path, query := op.path, url.Values{}
	for _, name := range slices.Sorted(maps.Keys(arguments)) {
		place := "{" + name + "}"
		switch {
		case strings.Contains(path, place):
			path = strings.ReplaceAll(path, place, url.PathEscape(arguments[name]))
		case op.method == http.MethodGet && op.read() == nil && op.query[name]:
			query.Set(name, arguments[name])
		}
	}
	if strings.Contains(path, "{") {
		return ""
	}
	if len(query) > 0 {
		path += "?" + query.Encode()
	}
	return path
}

// stepsOf gathers the ways on of a refusal's fields, each once.
func stepsOf(lists ...[]next.Step) *[]oapi.NextStep {
	var out []oapi.NextStep
	seen := map[string]bool{}
	for _, list := range lists {
		for _, s := range list {
			if !seen[s.String()] {
				seen[s.String()] = true
				out = append(out, nextToWire(s))
			}
		}
	}
	return some(out)
}
