package board

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"unicode"
	"unicode/utf8"

	"barrelbook/api/oapi"
)

// refused is a request that the service or the board did not carry out.
type refused struct {
	status int
	title  string
	detail string
	fields []oapi.FieldProblem
	asked  []oapi.AskedQuestion // taken as it is once these are answered
}

func (e *refused) Error() string { return e.title + ": " + e.detail }

// asker sends requests to the service in this process for one visitor.
type asker struct {
	service http.Handler
	token   string // empty where the service asks for none
	from    string // the visitor's address
	trace   string // the visitor's request id
	ctx     context.Context
}

// ask sends one request and decodes its answer. send is nil for a request
// without a body; the headers come in pairs of name and value.
func ask[T any](a asker, method, path string, send any, headers ...string) (answer T, tag string, err error) {
	var body io.Reader
	if send != nil {
		text, err := json.Marshal(send)
		if err != nil {
			return answer, "", err
		}
		body = bytes.NewReader(text)
	}
	r, err := http.NewRequestWithContext(a.ctx, method, path, body)
	if err != nil {
		return answer, "", err
	}
	r.RemoteAddr = a.from
	if send != nil {
		r.Header.Set("Content-Type", "application/json")
	}
	if a.token != "" {
		r.Header.Set("Authorization", "Bearer "+a.token)
	}
	if a.trace != "" {
		r.Header.Set("X-Request-Id", a.trace)
	}
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := &collected{header: http.Header{}, status: http.StatusOK}
	a.service.ServeHTTP(w, r)
	if w.status >= 300 {
		return answer, "", w.problem()
	}
	if err := json.Unmarshal(w.body.Bytes(), &answer); err != nil {
		return answer, "", fmt.Errorf("%s %s answered what cannot be read: %w", method, path, err)
	}
	return answer, w.header.Get("ETag"), nil
}

// read is ask for what is only looked at.
func read[T any](a asker, path string) (T, error) {
	answer, _, err := ask[T](a, http.MethodGet, path, nil)
	return answer, err
}

// collected takes an answer that does not go over the network.
type collected struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (c *collected) Header() http.Header         { return c.header }
func (c *collected) Write(p []byte) (int, error) { return c.body.Write(p) }
func (c *collected) WriteHeader(status int)      { c.status = status }

func (c *collected) problem() error {
	e := &refused{status: c.status, title: http.StatusText(c.status)}
	var p oapi.Problem
	if strings.Contains(c.header.Get("Content-Type"), "json") && json.Unmarshal(c.body.Bytes(), &p) == nil {
		e.title, e.detail = p.Title, sentence(opt(p.Detail))
		if p.Errors != nil {
			e.fields = *p.Errors
		}
		e.asked = opt(p.Questions)
	}
	return e
}

// sentence begins a message of the service as one on a page begins.
func sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// opt is what an optional field holds, the zero value where it was left out.
func opt[T any](p *T) (v T) {
	if p != nil {
		v = *p
	}
	return v
}
