package rest

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"mime"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/labstack/echo/v4"

	"barrelbook/api/oapi"
)

// bodyKey is where the validated body waits for the binder.
const bodyKey = "validated body"

// earliestYear is before anything in the books of a mill that rolls today. What
// is dated earlier was meant to be empty: programs send the year 1 for that, and
// others 1601.
const earliestYear = 1900

// strictTime makes date-time mean what RFC 3339 says; kin-openapi's own
// pattern lets 25:61 pass.
var strictTime = openapi3.WithStringFormatValidator("date-time", openapi3.NewCallbackValidator(func(text string) error {
	t, err := time.Parse(time.RFC3339Nano, text)
	if err == nil && (t.UTC().Year() < earliestYear || t.UTC().Year() > 9999) {
		err = errors.New("not a year that can be meant")
	}
	return err
}))

// validate holds every request of the contract against it before a handler
// sees it. The generated code checks nothing by itself. It runs after routing
// (by e.Use), so that a known path with another method stays 405.
func (s *Server) validate(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		op, err := s.operationOf(c)
		if err != nil {
			return err
		}
		if op == nil {
			return next(c)
		}
		bad := s.badParameters(c, op)
		switch {
		case op.media == linesMedia:
			if err := takesMedia(c.Request(), op); err != nil {
				return err
			}
			openLines(c)
		case op.body != nil:
			if err := takesMedia(c.Request(), op); err != nil {
				return err
			}
			value, err := s.readBody(c, op, &bad)
			if err != nil {
				return err
			}
			c.Set(bodyKey, value)
		}
		if len(bad) > 0 {
			return badFields(bad)
		}
		return next(c)
	}
}

// badParameters checks path, query and headers.
func (s *Server) badParameters(c echo.Context, op *operation) []oapi.FieldProblem {
	var bad []oapi.FieldProblem
	query, err := url.ParseQuery(c.Request().URL.RawQuery)
	if err != nil {
		bad = append(bad, oapi.FieldProblem{Pointer: "query", Detail: "cannot be read; escape it as a URL asks"})
	}
	for _, name := range sortedNames(query) {
		switch {
		case !op.query[name]:
			bad = append(bad, oapi.FieldProblem{Pointer: shorten(name), Detail: "is not a parameter of this request; " + takes(op)})
		case len(query[name]) > 1:
			bad = append(bad, oapi.FieldProblem{Pointer: name, Detail: "is given twice; give it once"})
		}
	}
	path := map[string]string{}
	for i, name := range c.ParamNames() {
		value := c.ParamValues()[i]
		if c.Request().URL.RawPath != "" {
			if plain, err := url.PathUnescape(value); err == nil {
				value = plain
			}
		}
		path[name] = value
	}
	input := &openapi3filter.RequestValidationInput{Request: c.Request(), PathParams: path, QueryParams: query, Route: op.route,
		Options: &openapi3filter.Options{ExcludeRequestBody: true, MultiError: true, AuthenticationFunc: openapi3filter.NoopAuthenticationFunc,
			SchemaValidationOptions: []openapi3.SchemaValidationOption{strictTime}}}
	bad = append(bad, fieldProblems(openapi3filter.ValidateRequest(c.Request().Context(), input), "")...)
	query.Del("limit")
	query.Del("cursor")
	askedOf(c.Request().Context()).filters = query.Encode()
	return bad
}

func takes(op *operation) string {
	if len(op.query) == 0 {
		return "it takes none"
	}
	return "it takes " + strings.Join(sortedNames(op.query), ", ")
}

// takesMedia refuses a body of another media type than the contract's.
func takesMedia(r *http.Request, op *operation) error {
	media, _, err := mime.ParseMediaType(r.Header.Get(echo.HeaderContentType))
	if err != nil || media != op.media {
		return refuse(wrongMedia, "send the body as %s, and say so in Content-Type", op.media)
	}
	return unpacked(r)
}

// readBody decodes, validates and fingerprints a JSON body.
func (s *Server) readBody(c echo.Context, op *operation, bad *[]oapi.FieldProblem) (strictBody, error) {
	r := c.Request()
	body, err := decodeStrict(http.MaxBytesReader(c.Response(), r.Body, s.bodyLimit(op)), op.body)
	var edge *requestError
	if errors.As(err, &edge) && len(edge.fields) > 0 {
		*bad = append(*bad, edge.fields...)
		return body, nil
	}
	if err != nil {
		return body, err
	}
	askedOf(r.Context()).fingerprint, err = fingerprint(r, body)
	return body, err
}

// schemaProblems holds a decoded value against a schema. Defaults are left to
// the use cases: filling them in here would take a null for a field left out.
func schemaProblems(schema *openapi3.Schema, value any, prefix string) []oapi.FieldProblem {
	return fieldProblems(schema.VisitJSON(value, openapi3.MultiErrors(), openapi3.VisitAsRequest(), strictTime), prefix)
}

// fingerprint digests what a request asks for, so that a second request under
// the same idempotency key can be known for the same or another. The value is
// written with sorted names and plain numbers: the order of fields and the
// white space do not make another request.
func fingerprint(r *http.Request, body strictBody) (string, error) {
	canonical, err := body.canonical()
	if err != nil {
		return "", err
	}
	h := sha256.New()
	h.Write([]byte(r.Method + "\n" + r.URL.EscapedPath() + "\n"))
	h.Write(canonical)
	return hex.EncodeToString(h.Sum(nil)), nil
}

// binder hands the generated code the value that was validated, not a second
// decoding of the bytes, which would match field names without regard to case.
type binder struct{}

// Bind implements echo.Binder.
func (binder) Bind(into any, c echo.Context) error {
	body, _ := c.Get(bodyKey).(strictBody)
	if err := body.bind(into); err != nil {
		return malformed("a number in the body is too large for its field")
	}
	return nil
}
