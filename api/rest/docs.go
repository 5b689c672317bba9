package rest

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"net/http"
	"sort"
	"strings"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"
)

//go:embed docs.html
var docsPage string

// docsOperation, docsSchema and docsField are the contract as the page shows
// it.
type docsOperation struct {
	Method, Path, ID, Role, Summary, Body, Answer string
	Parameters                                    []docsField
}

type docsSchema struct {
	Name, Note string
	Fields     []docsField
}

type docsField struct {
	Name, Kind, Note string
	Required         bool
}

// registerDocs serves the contract for programs and, as one page without any
// script, for people.
func (s *Server) registerDocs() error {
	page, err := template.New("docs").Parse(docsPage)
	if err != nil {
		return err
	}
	text := sync.OnceValues(func() ([]byte, error) {
		var text bytes.Buffer
		shown, err := s.docs()
		if err != nil {
			return nil, err
		}
		err = page.Execute(&text, shown)
		return text.Bytes(), err
	})
	document := sync.OnceValues(func() ([]byte, error) {
		doc, err := s.contract.whole()
		if err != nil {
			return nil, err
		}
		return doc.MarshalJSON()
	})
	s.echo.GET("/openapi.json", func(c echo.Context) error {
		document, err := document()
		if err != nil {
			return err
		}
		return c.JSONBlob(http.StatusOK, document)
	})
	s.echo.GET("/docs", func(c echo.Context) error {
		html, err := text()
		if err != nil {
			return err
		}
		c.Response().Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'")
		return c.HTMLBlob(http.StatusOK, html)
	})
	return nil
}

func (s *Server) docs() (map[string]any, error) {
	doc, err := s.contract.whole()
	if err != nil {
		return nil, err
	}
	type group struct {
		Name       string
		Operations []docsOperation
	}
	byTag := map[string][]docsOperation{}
	for _, op := range s.contract.operations {
		if err := op.read(); err != nil {
			return nil, err
		}
		tag := op.route.Operation.Tags[0]
		byTag[tag] = append(byTag[tag], describe(op, doc.Paths.Value(op.path).GetOperation(op.method).Responses))
	}
	var groups []group
	for _, tag := range doc.Tags {
		list := byTag[tag.Name]
		sort.Slice(list, func(i, j int) bool { return list[i].Path+list[i].Method < list[j].Path+list[j].Method })
		groups = append(groups, group{tag.Name, list})
	}
	var schemas []docsSchema
	for _, name := range sortedNames(doc.Components.Schemas) {
		schemas = append(schemas, describeSchema(name, doc.Components.Schemas[name].Value))
	}
	return map[string]any{"Title": doc.Info.Title, "Version": doc.Info.Version, "About": doc.Info.Description, "Groups": groups, "Schemas": schemas}, nil
}

func describe(op *operation, answers *openapi3.Responses) docsOperation {
	d := docsOperation{Method: op.route.Method, Path: op.route.Path, ID: op.id, Role: string(op.role), Summary: op.route.Operation.Summary}
	for _, list := range []openapi3.Parameters{op.route.PathItem.Parameters, op.route.Operation.Parameters} {
		for _, p := range list {
			d.Parameters = append(d.Parameters, docsField{Name: p.Value.Name, Kind: p.Value.In, Note: p.Value.Description, Required: p.Value.Required})
		}
	}
	if op.route.Operation.RequestBody != nil {
		for media, content := range op.route.Operation.RequestBody.Value.Content {
			d.Body = schemaName(content.Schema, media)
		}
	}
	for status, response := range answers.Map() {
		if !strings.HasPrefix(status, "2") {
			continue
		}
		d.Answer = status
		for media, content := range response.Value.Content {
			d.Answer = status + " " + schemaName(content.Schema, media)
		}
	}
	return d
}

func schemaName(ref *openapi3.SchemaRef, media string) string {
	if ref.Ref == "" {
		return media
	}
	return ref.Ref[strings.LastIndex(ref.Ref, "/")+1:]
}

func describeSchema(name string, s *openapi3.Schema) docsSchema {
	d := docsSchema{Name: name, Note: s.Description}
	if len(s.Properties) == 0 {
		d.Note = strings.TrimSpace(limits(s) + " " + s.Description)
	}
	required := map[string]bool{}
	for _, field := range s.Required {
		required[field] = true
	}
	for _, field := range sortedNames(s.Properties) {
		ref := s.Properties[field]
		kind := limits(ref.Value)
		if ref.Ref != "" {
			kind = schemaName(ref, "")
		} else if ref.Value.Items != nil && ref.Value.Items.Ref != "" {
			kind = "list of " + schemaName(ref.Value.Items, "")
		}
		d.Fields = append(d.Fields, docsField{Name: field, Kind: kind, Note: ref.Value.Description, Required: required[field]})
	}
	return d
}

// limits says what a simple value may be.
func limits(s *openapi3.Schema) string {
	text := kindOf(s)
	switch {
	case len(s.Enum) > 0:
		return "one of: " + choices(s)
	case s.Type == nil:
		return ""
	case s.Format == "date-time":
		return "time, UTC"
	}
	if s.Min != nil {
		text += fmt.Sprintf(", %s %s", map[bool]string{true: "more than", false: "at least"}[s.ExclusiveMin.IsTrue()], plain(*s.Min))
	}
	if s.Max != nil {
		text += ", at most " + plain(*s.Max)
	}
	if s.MaxLength != nil {
		text += fmt.Sprintf(", at most %d characters", *s.MaxLength)
	}
	return text
}
