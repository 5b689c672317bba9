package rest

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"barrelbook/api/app/port"
	"barrelbook/api/oapi"
	"barrelbook/domain/doubt"
	"barrelbook/domain/next"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// The kinds of refusal that arise at the edge itself, beside those of app.
const (
	noSuchPath      port.Kind = "no-such-path"
	methodNotKnown  port.Kind = "method-not-allowed"
	tooLarge        port.Kind = "too-large"
	wrongMedia      port.Kind = "media-type"
	tooManyRequests port.Kind = "too-many-requests"
	tookTooLong     port.Kind = "took-too-long"
	busy            port.Kind = "busy"
	draining        port.Kind = "draining"
	notReady        port.Kind = "not-ready"
	internal        port.Kind = "internal"
)

// kinds is the one table from what the caller can do to a status. The slug of
// a problem's type is the kind itself; programs switch on it.
var kinds = map[port.Kind]struct {
	status int
	title  string
}{
	port.Malformed:     {http.StatusBadRequest, "The request is not as the contract asks"},
	port.Unauthorised:  {http.StatusUnauthorized, "A valid token is needed"},
	port.Forbidden:     {http.StatusForbidden, "Another role is needed"},
	port.NotFound:      {http.StatusNotFound, "Not found"},
	port.Gone:          {http.StatusGone, "It is not kept any more"},
	port.Conflicting:   {http.StatusConflict, "The book or the shop is in another state"},
	port.Stale:         {http.StatusPreconditionFailed, "It has changed since it was read"},
	port.Impossible:    {http.StatusUnprocessableEntity, "Not physically possible"},
	port.Doubtful:      {http.StatusUnprocessableEntity, "It looks like a slip: say that it is right"},
	port.KeyReused:     {http.StatusUnprocessableEntity, "The idempotency key belongs to another request"},
	port.Unconditional: {http.StatusPreconditionRequired, "Say which version is to be changed"},
	port.Unavailable:   {http.StatusServiceUnavailable, "The database cannot be used now"},
	noSuchPath:         {http.StatusNotFound, "There is no such path"},
	methodNotKnown:     {http.StatusMethodNotAllowed, "The path does not take this method"},
	tooLarge:           {http.StatusRequestEntityTooLarge, "The body is too large"},
	wrongMedia:         {http.StatusUnsupportedMediaType, "The body is of the wrong media type"},
	tooManyRequests:    {http.StatusTooManyRequests, "Too many requests"},
	tookTooLong:        {http.StatusServiceUnavailable, "It took too long"},
	busy:               {http.StatusServiceUnavailable, "The service is busy"},
	draining:           {http.StatusServiceUnavailable, "The service is stopping"},
	notReady:           {http.StatusServiceUnavailable, "The service is not ready"},
	internal:           {http.StatusInternalServerError, "Something went wrong in the service"},
}

// requestError is a refusal of the edge: the request itself is at fault.
type requestError struct {
	kind   port.Kind
	detail string
	fields []oapi.FieldProblem
}

func (e *requestError) Error() string { return e.detail }

func refuse(kind port.Kind, format string, args ...any) error {
	return &requestError{kind: kind, detail: fmt.Sprintf(format, args...)}
}

func malformed(format string, args ...any) error { return refuse(port.Malformed, format, args...) }

// badFields is a 400 that names fields.
func badFields(fields []oapi.FieldProblem) error {
	return &requestError{kind: port.Malformed, detail: summary(fields), fields: fields}
}

func badField(pointer, detail string) error {
	return badFields([]oapi.FieldProblem{{Pointer: pointer, Detail: detail}})
}

// summary says the first few fields in one sentence.
func summary(fields []oapi.FieldProblem) string {
	var lines []string
	for i, f := range fields {
		if i == 3 && len(fields) > 4 {
			lines = append(lines, fmt.Sprintf("and %d more", len(fields)-3))
			break
		}
		lines = append(lines, strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(f.Pointer, "#"), "/")+" "+f.Detail))
	}
	return strings.Join(lines, "; ")
}

// problemOf sorts any error of a request into a problem document, without its
// instance and request id. ok is false where the error is our own fault and
// must be logged.
func problemOf(err error) (p oapi.Problem, ok bool) {
	var (
		edge     *requestError
		use      *port.Error
		conflict *roll.Conflict
		web      *echo.HTTPError
		size     *http.MaxBytesError
	)
	defer func() { p.Next, p.Questions = stepsOf(next.Of(err)), questionsOf(err) }()
	switch fields := refusal.FieldsOf(err); {
	case errors.As(err, &edge):
		return document(edge.kind, edge.detail, edge.fields), true
	case errors.As(err, &use):
		if use.Kind == port.Unavailable {
			return document(use.Kind, use.Error(), nil), false
		}
		if _, known := kinds[use.Kind]; !known {
			break
		}
		return document(use.Kind, use.Error(), refused(fields)), true
	case len(fields) > 0:
		return document(port.Impossible, err.Error(), refused(fields)), true
	case errors.As(err, &conflict):
		return document(port.Conflicting, conflict.Error(), nil), true
	case errors.As(err, &size):
		return document(tooLarge, fmt.Sprintf("the body is larger than the %d bytes taken here", size.Limit), nil), true
	case errors.As(err, &web):
		return webProblem(web)
	}
	return document(internal, "The service failed; give the request id to whoever runs it.", nil), false
}

// webProblem sorts what Echo itself refuses.
func webProblem(e *echo.HTTPError) (oapi.Problem, bool) {
	switch e.Code {
	case http.StatusNotFound:
		return document(noSuchPath, "the paths are listed at /docs", nil), true
	case http.StatusMethodNotAllowed:
		return document(methodNotKnown, "the methods it takes are in the Allow header", nil), true
	case http.StatusRequestEntityTooLarge:
		return document(tooLarge, "", nil), true
	case http.StatusUnsupportedMediaType:
		return document(wrongMedia, "", nil), true
	case http.StatusBadRequest:
		return document(port.Malformed, "a parameter cannot be read", nil), true
	}
	return document(internal, "", nil), false
}

func document(kind port.Kind, detail string, fields []oapi.FieldProblem) oapi.Problem {
	k := kinds[kind]
	p := oapi.Problem{Type: typeOf(kind), Title: k.title, Status: int64(k.status)}
	if detail != "" {
		p.Detail = &detail
	}
	if len(fields) > 0 {
		p.Errors = &fields
	}
	return p
}

// refused turns the domain's refusals into pointers. Path already has the
// contract's names, parted by slashes.
func refused(fields []refusal.Field) []oapi.FieldProblem {
	var list []oapi.FieldProblem
	for _, f := range fields {
		pointer := "#"
		if f.Path != "" {
			pointer = "#/" + f.Path
		}
		f.Path = ""
		list = append(list, oapi.FieldProblem{Pointer: pointer, Detail: f.String()})
	}
	return list
}

// questionsOf are those that a refusal asks.
func questionsOf(err error) *[]oapi.AskedQuestion {
	var open *doubt.Open
	if !errors.As(err, &open) {
		return nil
	}
	fields := refused(refusal.FieldsOf(err)) // a correction has them deeper than the record
	list := make([]oapi.AskedQuestion, len(open.Questions))
	for i, q := range open.Questions {
		list[i] = oapi.AskedQuestion{Question: oapi.Question(q.Name), Pointer: fields[i].Pointer, Says: q.Says}
	}
	return &list
}

// typeOf is the type of a problem; programs switch on it.
func typeOf(kind port.Kind) string { return "/problems/" + string(kind) }

// closed ends a detail so that another sentence can follow.
func closed(detail string) string {
	if detail == "" {
		return ""
	}
	return strings.ToUpper(detail[:1]) + strings.TrimSuffix(detail[1:], ".") + ". "
}

// causeOf is an error with what lies under its plain words, for the log.
func causeOf(err error) string {
	var use *port.Error
	if errors.As(err, &use) && use.Detail != "" && use.Err != nil {
		return use.Detail + ": " + use.Err.Error()
	}
	return err.Error()
}
