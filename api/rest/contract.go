package rest

import (
	"fmt"
	"strings"
	"sync"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/routers"

	"barrelbook/api/app"
	"barrelbook/api/oapi"
)

// jsonMedia and linesMedia are the media types of request bodies.
const (
	jsonMedia  = "application/json"
	linesMedia = "application/x-ndjson"
)

// operation is what the contract says of one operation.
type operation struct {
	id    string
	role  app.Role
	route *routers.Route
	query map[string]bool  // names of its query parameters
	body  *openapi3.Schema // of a JSON body; nil when it takes none
	media string           // of the body; empty when it takes none
}

// contract is the OpenAPI document read once, looked up by Echo's route.
type contract struct {
	doc        *openapi3.T
	json       func() ([]byte, error) // the document as it was read
	operations map[string]*operation  // by method and Echo path: "GET /v1/rolls/:roll"
	byID       map[string]*operation
	piece      *openapi3.Schema // of one line of an import
}

// readContract gives the embedded document, loaded once. It fails when an
// operation lacks its role: an operation that nobody is asked a role for must
// not be served.
var readContract = sync.OnceValues(loadContract)

func loadContract() (*contract, error) {
	doc, err := oapi.GetSpec()
	if err != nil {
		return nil, fmt.Errorf("read the contract: %w", err)
	}
	for _, item := range doc.Paths.Map() {
		for _, op := range item.Operations() {
			// The generator writes the names of its methods over the contract's.
			op.OperationID = strings.ToLower(op.OperationID[:1]) + op.OperationID[1:]
		}
	}
	// Written when first asked for: a command that answers one question and ends
	// would pay for it.
	whole := *doc
	text := sync.OnceValues(whole.MarshalJSON)
	// Server URLs would make host matching part of validation. Who may do what is
	// asked in auth.go: the validator would read a whole body to hand it to its
	// own check of security, and with it a stream of pieces.
	doc.Servers, doc.Security = nil, nil
	c := &contract{doc: doc, json: text, operations: map[string]*operation{}, byID: map[string]*operation{}, piece: doc.Components.Schemas["PieceInput"].Value}
	for path, item := range doc.Paths.Map() {
		for method, op := range item.Operations() {
			o, err := readOperation(doc, path, item, method, op)
			if err != nil {
				return nil, err
			}
			c.operations[method+" "+echoPath(path)], c.byID[o.id] = o, o
		}
	}
	return c, nil
}

func readOperation(doc *openapi3.T, path string, item *openapi3.PathItem, method string, op *openapi3.Operation) (*operation, error) {
	role, _ := op.Extensions["x-role"].(string)
	if !app.Role(role).May(app.Viewer) {
		return nil, fmt.Errorf("contract: operation %s names no known role in x-role", op.OperationID)
	}
	o := &operation{id: op.OperationID, role: app.Role(role), query: map[string]bool{},
		route: &routers.Route{Spec: doc, Path: path, PathItem: item, Method: method, Operation: op}}
	for _, list := range []openapi3.Parameters{item.Parameters, op.Parameters} {
		for _, p := range list {
			if p.Value.In == openapi3.ParameterInQuery {
				o.query[p.Value.Name] = true
			}
		}
	}
	if op.RequestBody == nil {
		return o, nil
	}
	for media, content := range op.RequestBody.Value.Content {
		o.media = media
		if media == jsonMedia {
			o.body = content.Schema.Value
		}
	}
	return o, nil
}

// echoPath turns {name} into :name.
func echoPath(path string) string {
	return strings.NewReplacer("{", ":", "}", "").Replace(path)
}
