package rest

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
)

// parts is the text of the contract cut where one part names another.
type parts struct {
	OpenAPI string `json:"openapi"`
	Info    struct {
		Title   string `json:"title"`
		Version string `json:"version"`
	} `json:"info"`
	Paths      map[string]map[string]json.RawMessage `json:"paths"`
	Components map[string]map[string]json.RawMessage `json:"components"`
}

// reference finds what a part of the document names: "schemas/PieceInput".
var reference = regexp.MustCompile(`"#/components/([A-Za-z]+/[A-Za-z0-9_.-]+)"`)

// with makes a document of the paths given and the component first, if any, and
// of all components that they name, or that those name.
func (p *parts) with(paths map[string]map[string]json.RawMessage, first string) (*openapi3.T, error) {
	needed := map[string]map[string]json.RawMessage{}
	var open []string
	if first != "" {
		open = append(open, first)
	}
	for _, item := range paths {
		for _, text := range item {
			open = append(open, named(text)...)
		}
	}
	for len(open) > 0 {
		kind, name, _ := strings.Cut(open[len(open)-1], "/")
		open = open[:len(open)-1]
		if _, there := needed[kind][name]; there {
			continue
		}
		text, known := p.Components[kind][name]
		if !known {
			return nil, fmt.Errorf("there is no component %s/%s", kind, name)
		}
		if needed[kind] == nil {
			needed[kind] = map[string]json.RawMessage{}
		}
		needed[kind][name] = text
		open = append(open, named(text)...)
	}
	if paths == nil {
		paths = map[string]map[string]json.RawMessage{}
	}
	text, err := json.Marshal(map[string]any{"openapi": p.OpenAPI, "info": p.Info, "paths": paths, "components": needed})
	if err != nil {
		return nil, err
	}
	// The loader reads any text as YAML, which takes ten times as long; what it
	// does beyond is to follow references.
	doc := &openapi3.T{}
	if err := json.Unmarshal(text, doc); err != nil {
		return nil, err
	}
	return doc, openapi3.NewLoader().ResolveRefsIn(doc, nil)
}

func named(text []byte) (names []string) {
	for _, m := range reference.FindAllSubmatch(text, -1) {
		names = append(names, string(m[1]))
	}
	return names
}
