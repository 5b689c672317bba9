package rest

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"
)

const csvMedia = "text/csv"

// shaped gives an answer as rows of a table where that is asked for, or only the
// parts of it that are named.
func (s *Server) shaped(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		op, err := s.operationOf(c)
		if err != nil {
			return err
		}
		if op == nil {
			return next(c)
		}
		query, header := c.QueryParams(), c.Response().Header()
		asCSV := op.csv && preferred(c.Request().Header.Get(echo.HeaderAccept), jsonMedia, csvMedia) == csvMedia
		fields := query.Get("fields")
		if !asCSV && fields == "" {
			return next(c)
		}
		of, err := op.answer()
		if err != nil {
			return err
		}
		if of == nil {
			return next(c)
		}
		rows := of.Properties[op.rows]
		if rows != nil {
			of = rows.Value.Items.Value
		}
		parts, err := partsOf(of, fields)
		if err != nil {
			return err
		}
		w := c.Response().Writer
		held := &heldAnswer{ResponseWriter: w}
		c.Response().Writer = held
		err = next(c)
		c.Response().Writer = w
		if err != nil || held.status != http.StatusOK {
			return errorsOrAnswer(err, held, w)
		}
		var text []byte
		if asCSV {
			text, err = asTable(held.body.Bytes(), op.rows, of, parts)
			header.Set(echo.HeaderContentType, csvMedia+"; charset=utf-8; header=present")
		} else {
			text, err = asParts(held.body.Bytes(), op.rows, rows != nil, parts)
		}
		if err != nil {
			return err
		}
		header.Del(echo.HeaderContentLength)
		if to := nextPage(c.Request().URL, held.body.Bytes()); to != "" {
			header.Set("Link", "<"+to+`>; rel="next"`)
		}
		w.WriteHeader(http.StatusOK)
		_, err = w.Write(text)
		return err
	}
}

// heldAnswer keeps an answer back.
type heldAnswer struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

func (h *heldAnswer) Unwrap() http.ResponseWriter { return h.ResponseWriter }
func (h *heldAnswer) WriteHeader(status int)      { h.status = status }

func (h *heldAnswer) Write(p []byte) (int, error) {
	if h.status == 0 {
		h.status = http.StatusOK
	}
	return h.body.Write(p)
}

// errorsOrAnswer lets what is no answer of 200 pass as it is.
func errorsOrAnswer(err error, held *heldAnswer, w http.ResponseWriter) error {
	if err != nil || held.status == 0 {
		return err
	}
	w.WriteHeader(held.status)
	_, err = w.Write(held.body.Bytes())
	return err
}

// nextPage is the address of the page after one, empty at the end.
func nextPage(u *url.URL, text []byte) string {
	var page struct{ Next string }
	if json.Unmarshal(text, &page) != nil || page.Next == "" {
		return ""
	}
	query := u.Query()
	query.Set("cursor", page.Next)
	return u.Path + "?" + query.Encode()
}

// part is a tree of members that were named; one without any is wanted whole.
type part map[string]part

// partsOf reads names parted by commas, levels by dots, and refuses those that the
// schema does not know. Nil where none is named.
func partsOf(schema *openapi3.Schema, fields string) (part, error) {
	if fields == "" {
		return nil, nil
	}
	root := part{}
	for _, path := range strings.Split(fields, ",") {
		at, in := root, schema
		names := strings.Split(path, ".")
		for i, name := range names {
			if in.Type.Is("array") {
				in = in.Items.Value
			}
			p := in.Properties[name]
			if p == nil {
				return nil, badField("fields", show(shortenPart(path))+" is not a part of the answer; there "+known(in))
			}
			in = p.Value
			if at[name] == nil {
				at[name] = part{}
			}
			if at = at[name]; i == len(names)-1 {
				clear(at) // the whole of it
			}
		}
	}
	return root, nil
}

func shortenPart(text string) string { return text[:min(len(text), 80)] }

func known(schema *openapi3.Schema) string {
	if len(schema.Properties) == 0 {
		return "are none"
	}
	return "are " + strings.Join(sortedNames(schema.Properties), ", ")
}

// asParts leaves of an answer, or of each of its items, what is named.
func asParts(text []byte, rows string, isList bool, parts part) ([]byte, error) {
	var answer map[string]json.RawMessage
	if err := json.Unmarshal(text, &answer); err != nil {
		return nil, err
	}
	if !isList {
		return only(text, parts)
	}
	var items []json.RawMessage
	if err := json.Unmarshal(answer[rows], &items); err != nil {
		return nil, err
	}
	for i := range items {
		var err error
		if items[i], err = only(items[i], parts); err != nil {
			return nil, err
		}
	}
	var err error
	if answer[rows], err = json.Marshal(items); err != nil {
		return nil, err
	}
	return json.Marshal(answer)
}

func only(text json.RawMessage, parts part) (json.RawMessage, error) {
	if len(parts) == 0 {
		return text, nil
	}
	if trimmed := bytes.TrimSpace(text); len(trimmed) > 0 && trimmed[0] == '[' {
		var items []json.RawMessage
		if err := json.Unmarshal(text, &items); err != nil {
			return nil, err
		}
		for i := range items {
			var err error
			if items[i], err = only(items[i], parts); err != nil {
				return nil, err
			}
		}
		return json.Marshal(items)
	}
	var members map[string]json.RawMessage
	if err := json.Unmarshal(text, &members); err != nil {
		return nil, err
	}
	out := map[string]json.RawMessage{}
	for name, below := range parts {
		member, there := members[name]
		if !there {
			continue
		}
		var err error
		if out[name], err = only(member, below); err != nil {
			return nil, err
		}
	}
	return json.Marshal(out)
}

// namesPart says whether fields name a part, or something that it is a part of.
func namesPart(fields, path string) bool {
	for _, one := range strings.Split(fields, ",") {
		if one == path || one != "" && strings.HasPrefix(path, one+".") {
			return true
		}
	}
	return false
}
