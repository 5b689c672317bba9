package rest

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/routers"
	"github.com/labstack/echo/v4"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
)

// jsonMedia and linesMedia are the media types of request bodies.
const (
	jsonMedia  = "application/json"
	linesMedia = "application/x-ndjson"
)

// contract is the OpenAPI document, looked up by Echo's route. To read it whole
// takes longer than most answers, and a command asks for one operation and
// ends; so each operation is read when it is first asked for, with the
// components that it names and no others.
type contract struct {
	parts      parts
	operations map[string]*operation // by method and Echo path: "GET /v1/rolls/:roll"
	byID       map[string]*operation
	// whole reads the document as one, for those who ask for all of it.
	whole func() (*openapi3.T, error)
	// piece is the schema of one line of an import.
	piece func() (*openapi3.Schema, error)
}

// operation is what the contract says of one operation. What is in its route,
// query, body and media is there after read.
type operation struct {
	id     string
	role   port.Role
	also   []port.Role // that may do it though they stand beside the others
	method string
	path   string // of the contract: "/v1/rolls/{roll}"
	heavy  bool   // takes one of the places for calculations and heavy answers
	waits  bool   // answers when something happens
	rows   string // the member of the answer that lists: items, where nothing else is said

	once  sync.Once
	err   error
	parts *parts
	route *routers.Route
	query map[string]bool  // names of its query parameters
	body  *openapi3.Schema // of a JSON body; nil when it takes none
	media string           // of the body; empty when it takes none
	csv   bool             // the answer is also given as a table
	// answer is the schema of a GET's answer, nil of others. It is read only for those
	// who ask for parts or a table.
	answer func() (*openapi3.Schema, error)
}

// readContract cuts the embedded document, once, into operations. It fails when one
// lacks its role: an operation that nobody is asked a role for must not be
// served.
var readContract = sync.OnceValues(loadContract)

func loadContract() (*contract, error) {
	text, err := oapi.GetSpecJSON()
	if err != nil {
		return nil, fmt.Errorf("read the contract: %w", err)
	}
	c := &contract{operations: map[string]*operation{}, byID: map[string]*operation{}}
	if err := json.Unmarshal(text, &c.parts); err != nil {
		return nil, fmt.Errorf("read the contract: %w", err)
	}
	for path, item := range c.parts.Paths {
		for method, text := range item {
			if method == "parameters" {
				continue
			}
			o := &operation{method: strings.ToUpper(method), path: path, parts: &c.parts}
			if err := o.readHead(text); err != nil {
				return nil, err
			}
			c.operations[o.method+" "+echoPath(path)], c.byID[o.id] = o, o
		}
	}
	c.whole = sync.OnceValues(readWhole)
	c.piece = sync.OnceValues(func() (*openapi3.Schema, error) {
		doc, err := c.parts.with(nil, "schemas/PieceInput")
		if err != nil {
			return nil, err
		}
		return doc.Components.Schemas["PieceInput"].Value, nil
	})
	return c, nil
}

// readHead takes the name and the role of an operation.
func (o *operation) readHead(text json.RawMessage) error {
	var head struct {
		ID    string      `json:"operationId"`
		Role  string      `json:"x-role"`
		Also  []port.Role `json:"x-also"`
		Heavy bool        `json:"x-heavy"`
		Waits bool        `json:"x-waits"`
		Rows  string      `json:"x-rows"`
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return fmt.Errorf("contract: %s %s: %w", o.method, o.path, err)
	}
	o.id, o.role, o.heavy, o.waits = plainID(head.ID), port.Role(head.Role), head.Heavy, head.Waits
	o.rows, o.also = cmp.Or(head.Rows, "items"), head.Also
	o.csv = o.method == http.MethodGet && bytes.Contains(text, []byte(`"`+csvMedia+`"`))
	o.answer = sync.OnceValues(o.readAnswer)
	if !o.role.May(port.Viewer) {
		return fmt.Errorf("contract: operation %s names no known role in x-role", o.id)
	}
	return nil
}

// lets says whether a role may do the operation.
func (o *operation) lets(role port.Role) bool {
	return role.May(o.role) || slices.Contains(o.also, role)
}

// plainID is the operationId as the contract has it: the generator writes the
// names of its methods over it.
func plainID(id string) string { return strings.ToLower(id[:1]) + id[1:] }

// read completes the operation. It may be called at the same time by many.
func (o *operation) read() error {
	o.once.Do(func() { o.err = o.readAll() })
	return o.err
}

// asks is what is at the path without the other operations and the answers: those
// are most of the contract, and a request is not held against them.
func (o *operation) asks() (map[string]json.RawMessage, error) {
	item, method := o.parts.Paths[o.path], strings.ToLower(o.method)
	var whole map[string]json.RawMessage
	if err := json.Unmarshal(item[method], &whole); err != nil {
		return nil, err
	}
	whole["responses"] = json.RawMessage(`{"default":{"description":"not read"}}`)
	text, err := json.Marshal(whole)
	asked := map[string]json.RawMessage{method: text}
	if shared, ok := item["parameters"]; ok {
		asked["parameters"] = shared
	}
	return asked, err
}

func (o *operation) readAll() error {
	asked, err := o.asks()
	if err != nil {
		return fmt.Errorf("contract: operation %s: %w", o.id, err)
	}
	doc, err := o.parts.with(map[string]map[string]json.RawMessage{o.path: asked}, "")
	if err != nil {
		return fmt.Errorf("contract: operation %s: %w", o.id, err)
	}
	item := doc.Paths.Value(o.path)
	op := item.GetOperation(o.method)
	op.OperationID = o.id
	// Who may do what is asked in auth.go: the validator would read a whole body
	// to hand it to its own check of security, and with it a stream of pieces.
	op.Security = &openapi3.SecurityRequirements{}
	o.route, o.query = &routers.Route{Spec: doc, Path: o.path, PathItem: item, Method: o.method, Operation: op}, map[string]bool{}
	for _, list := range []openapi3.Parameters{item.Parameters, op.Parameters} {
		for _, p := range list {
			if p.Value.In == openapi3.ParameterInQuery {
				o.query[p.Value.Name] = true
			}
		}
	}
	if op.RequestBody == nil {
		return nil
	}
	for media, content := range op.RequestBody.Value.Content {
		o.media = media
		if media == jsonMedia {
			o.body = content.Schema.Value
		}
	}
	return nil
}

func (o *operation) readAnswer() (*openapi3.Schema, error) {
	if o.method != http.MethodGet {
		return nil, nil
	}
	doc, err := o.parts.with(map[string]map[string]json.RawMessage{o.path: {"get": o.parts.Paths[o.path]["get"]}}, "")
	if err != nil {
		return nil, fmt.Errorf("contract: answer of %s: %w", o.id, err)
	}
	answer := doc.Paths.Value(o.path).Get.Responses.Status(http.StatusOK)
	if answer == nil || answer.Value.Content[jsonMedia] == nil {
		return nil, nil
	}
	return answer.Value.Content[jsonMedia].Schema.Value, nil
}

// operationOf is what the contract says of a request; nil for one that is not
// of the contract, as a probe.
func (s *Server) operationOf(c echo.Context) (*operation, error) {
	method := c.Request().Method
	if method == http.MethodHead {
		method = http.MethodGet
	}
	op := s.contract.operations[method+" "+c.Path()]
	if op == nil {
		return nil, nil
	}
	return op, op.read()
}

// readWhole reads the document as one.
func readWhole() (*openapi3.T, error) {
	doc, err := oapi.GetSpec()
	if err != nil {
		return nil, fmt.Errorf("read the contract: %w", err)
	}
	for _, item := range doc.Paths.Map() {
		for _, op := range item.Operations() {
			op.OperationID = plainID(op.OperationID)
		}
	}
	return doc, nil
}

// echoPath turns {name} into :name.
func echoPath(path string) string {
	return strings.NewReplacer("{", ":", "}", "").Replace(path)
}
