package rest_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/http/httptest"
	"net/url"
	"sort"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"
	"pgregory.net/rapid"

	"barrelbook/api/app/port"
	"barrelbook/api/rest"
	"barrelbook/api/store/filetest"
)

// TestContractFuzz walks the contract and sends requests made from it, good
// ones and broken ones, to a works with rolls in its stands. Whatever comes,
// nothing fails inside, every answer is by the contract, a good request is never
// called malformed and a broken one never taken. After it every book replays.
func TestContractFuzz(t *testing.T) {
	s := open(t, filetest.Path(t), rest.Options{LongestWait: time.Millisecond})
	s.rolling()
	s.take(step{name: "campaign", as: port.Shift, do: "POST /v1/campaigns", body: programme("C1", 12), status: 201})
	s.now = s.now.Add(24 * time.Hour)
	operations := s.operations()
	answered, taken := map[string]bool{}, map[string]bool{}
	rapid.Check(t, func(rt *rapid.T) {
		for range 20 {
			asked, status := s.ask(rt, operations)
			answered[asked] = true
			if status < 300 {
				taken[asked] = true
			}
		}
	})
	if err := s.service.Verify(t.Context()); err != nil {
		t.Errorf("the books after it all: %v", err)
	}
	// A fuzz that is refused everywhere would find nothing.
	t.Logf("%d of %d operations asked, %d gave what was asked for", len(answered), len(operations), len(taken))
	if len(taken) < len(operations)/3 {
		t.Errorf("only %d of %d operations ever gave what was asked for", len(taken), len(operations))
	}
}

// ask sends one request and looks at the answer. It gives the operation asked
// and the status.
func (s *shop) ask(rt *rapid.T, operations []contractOperation) (asked string, status int) {
	op := rapid.SampledFrom(operations).Draw(rt, "operation")
	g := generator{rt}
	r := g.request(s, op)
	broken := rapid.Bool().Draw(rt, "broken") && r.breakIt(g, op)
	w := httptest.NewRecorder()
	request := s.request(port.Admin, op.method, r.target(), r.text)
	for name, value := range r.headers {
		request.Header.Set(name, value)
	}
	if op.media != "" {
		request.Header.Set("Content-Type", op.media)
	}
	original := request.Clone(request.Context())
	s.service.Handler().ServeHTTP(w, request)
	told := fmt.Sprintf("%s %s %v\n%s\n%d %s", op.method, r.target(), r.headers, shortened(r.text), w.Code, shortened(w.Body.String()))
	switch {
	case w.Code >= 500:
		rt.Fatalf("it failed inside: %s\n%s", told, shortened(s.log.String()))
	case broken && w.Code < 400:
		rt.Fatalf("a broken request (%s) was taken: %s", r.broken, told)
	case !broken && (w.Code == 400 || w.Code == 404 && strings.Contains(w.Body.String(), "no-such-path") || w.Code == 415 || w.Code == 405):
		rt.Fatalf("a good request was called malformed: %s", told)
	}
	if err := s.heldAgainstContract(original, w); err != nil {
		rt.Fatalf("the answer is not by the contract: %v\n%s", err, told)
	}
	for _, text := range internals {
		if w.Code >= 400 && strings.Contains(w.Body.String(), text) {
			rt.Fatalf("the refusal holds %q: %s", text, told)
		}
	}
	return op.method + " " + op.path, w.Code
}

// contractOperation is an operation as the fuzz sees it.
type contractOperation struct {
	method, path, media string
	parameters          []*openapi3.Parameter
	body                *openapi3.Schema
}

func (s *shop) operations() []contractOperation {
	var list []contractOperation
	for path, item := range s.doc.Paths.Map() {
		for method, op := range item.Operations() {
			one := contractOperation{method: method, path: path}
			for _, p := range append(append(openapi3.Parameters{}, item.Parameters...), op.Parameters...) {
				one.parameters = append(one.parameters, p.Value)
			}
			if op.RequestBody != nil {
				for media, content := range op.RequestBody.Value.Content {
					one.media, one.body = media, content.Schema.Value
				}
			}
			if one.media == "application/x-ndjson" {
				one.body = s.doc.Components.Schemas["PieceInput"].Value
			}
			list = append(list, one)
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].path+list[i].method < list[j].path+list[j].method })
	return list
}

// fuzzed is a request under way.
type fuzzed struct {
	path    string
	query   url.Values
	headers map[string]string
	value   any
	text    string
	broken  string // what was broken
}

func (r *fuzzed) target() string {
	if len(r.query) == 0 {
		return r.path
	}
	return r.path + "?" + r.query.Encode()
}

type generator struct{ rt *rapid.T }

func (g generator) chance(label string, percent int) bool {
	return rapid.IntRange(0, 99).Draw(g.rt, label) < percent
}

// request makes a good request.
func (g generator) request(s *shop, op contractOperation) *fuzzed {
	r := &fuzzed{path: op.path, query: url.Values{}, headers: map[string]string{}}
	for _, p := range op.parameters {
		if p.Name == "cursor" || p.Name == "after" || p.Name == "Last-Event-ID" || p.Name == "fields" || !p.Required && g.chance("without "+p.Name, 50) {
			continue
		}
		value := fmt.Sprint(g.value(p.Schema.Value, p.Name))
		switch {
		case p.Name == "If-Match":
			r.headers[p.Name] = fmt.Sprintf(`"%d"`, rapid.IntRange(1, 9).Draw(g.rt, "version"))
		case p.In == "header":
			r.headers[p.Name] = value
		case p.In == "query":
			r.query.Set(p.Name, value)
		default:
			r.path = strings.ReplaceAll(r.path, "{"+p.Name+"}", value)
		}
	}
	if op.body != nil {
		r.value = g.value(op.body, "body")
		r.write()
	}
	return r
}

func (r *fuzzed) write() {
	text, err := json.Marshal(r.value)
	if err != nil {
		panic(err)
	}
	r.text = string(text)
}

// known are names that the works has, so that requests reach beyond "there is
// no such thing".
var known = map[string][]string{
	"mill": {"hot"}, "grade": {"HSS"}, "stand": {"F1", "F2"}, "stands": {"F1", "F2"}, "roll": {"WF1T", "BF2B"}, "top": {"WF1T", "WF2T"}, "bottom": {"WF1B"},
	"set": {"WF1", "BF2"}, "set_in": {"WF1"}, "with_set": {"WF1"}, "campaign": {"C1"},
}

// value makes a value that the schema takes.
func (g generator) value(s *openapi3.Schema, name string) any {
	if len(s.Enum) > 0 {
		return rapid.SampledFrom(s.Enum).Draw(g.rt, name)
	}
	switch {
	case s.Type.Is("object"):
		members := map[string]any{}
		required := map[string]bool{}
		for _, field := range s.Required {
			required[field] = true
		}
		fields := make([]string, 0, len(s.Properties))
		for field := range s.Properties {
			fields = append(fields, field)
		}
		sort.Strings(fields)
		for _, field := range fields {
			p := s.Properties[field].Value
			if !p.ReadOnly && (required[field] || g.chance("with "+field, 30)) {
				members[field] = g.value(p, field)
			}
		}
		return members
	case s.Type.Is("array"):
		most := int(s.MinItems) + 3
		if s.MaxItems != nil {
			most = min(most, int(*s.MaxItems))
		}
		items := []any{}
		for range rapid.IntRange(int(s.MinItems), most).Draw(g.rt, "items of "+name) {
			items = append(items, g.value(s.Items.Value, name))
		}
		return items
	case s.Type.Is("boolean"):
		return rapid.Bool().Draw(g.rt, name)
	case s.Type.Is("integer"):
		low, high := bounds(s, 12)
		return int64(math.Floor(rapid.Float64Range(math.Ceil(low), high).Draw(g.rt, name)))
	case s.Type.Is("number"):
		low, high := bounds(s, 1000)
		v := rapid.Float64Range(low, high).Draw(g.rt, name)
		if strings.HasSuffix(name, "_mm") || g.chance("rounded", 50) {
			v = math.Round(v*1000) / 1000
		}
		if v <= low && s.ExclusiveMin.IsTrue() {
			v = high
		}
		return math.Min(math.Max(v, low), high)
	default:
		return g.text(s, name)
	}
}

// bounds are those of the schema, or a few around 0 where it has none.
func bounds(s *openapi3.Schema, most float64) (low, high float64) {
	low, high = -most, most
	if s.Min != nil {
		low, high = *s.Min, *s.Min+most
	}
	if s.Max != nil {
		high = math.Min(*s.Max, high)
	}
	if s.Max != nil && s.Min == nil {
		low = *s.Max - most
	}
	return low, high
}

func (g generator) text(s *openapi3.Schema, name string) string {
	switch {
	case s.Format == "date-time":
		return start.Add(time.Duration(rapid.IntRange(-50, 50).Draw(g.rt, name)) * time.Hour).Format(time.RFC3339)
	case (name == "type" || name == "types") && s.Pattern != "":
		return string(rapid.SampledFrom(port.EventKinds()).Draw(g.rt, name))
	case name == "Idempotency-Key":
		return rapid.StringMatching(`[!-~]{1,20}`).Draw(g.rt, name)
	case s.Pattern != "":
		if names := known[name]; names != nil && g.chance("known "+name, 80) {
			return rapid.SampledFrom(names).Draw(g.rt, name)
		}
		return rapid.StringMatching(`[A-Za-z0-9][A-Za-z0-9._-]{0,12}`).Draw(g.rt, name)
	default:
		least := int(s.MinLength)
		return rapid.StringMatching(fmt.Sprintf(`[ -~äµ½]{%d,%d}`, least, least+8)).Draw(g.rt, name)
	}
}

// breakIt makes a good request one that the contract does not take, and says
// whether it could. Lines of an import are answered one by one and left alone.
func (r *fuzzed) breakIt(g generator, op contractOperation) bool {
	ways := []string{"unknown parameter"}
	if op.media == "application/json" {
		ways = append(ways, "cut", "unknown field", "missing field", "wrong type", "too large a number", "null")
	}
	for _, p := range op.parameters {
		if p.Name == "limit" || p.Name == "cursor" {
			ways = append(ways, p.Name)
		}
	}
	r.broken = rapid.SampledFrom(ways).Draw(g.rt, "way")
	members, _ := r.value.(map[string]any)
	switch r.broken {
	case "unknown parameter":
		r.query.Set("zz", "1")
		return true
	case "limit":
		r.query.Set("limit", rapid.SampledFrom([]string{"0", "-1", "x", "1001", "1.5", "", "1e9", "99999999999999999999"}).Draw(g.rt, "limit"))
		return true
	case "cursor":
		r.query.Set("cursor", rapid.SampledFrom([]string{"x", "AAAAAAAAAAAA", strings.Repeat("A", 600), "%"}).Draw(g.rt, "cursor"))
		return true
	case "cut":
		r.text = r.text[:rapid.IntRange(0, len(r.text)-1).Draw(g.rt, "length")]
		return true
	case "unknown field":
		members["zz"] = 1
	case "missing field":
		if len(op.body.Required) == 0 {
			return false
		}
		delete(members, rapid.SampledFrom(op.body.Required).Draw(g.rt, "field"))
	default:
		return r.spoil(g, members, op)
	}
	r.write()
	return true
}

// spoil exchanges the value of one field.
func (r *fuzzed) spoil(g generator, members map[string]any, op contractOperation) bool {
	var fields []string
	for field := range members {
		fields = append(fields, field)
	}
	if len(fields) == 0 {
		return false
	}
	sort.Strings(fields)
	field := rapid.SampledFrom(fields).Draw(g.rt, "field")
	switch kind := op.body.Properties[field].Value.Type; {
	case r.broken == "null":
		members[field] = nil
	case r.broken == "too large a number" && (kind.Is("number") || kind.Is("integer")):
		members[field] = json.Number("1e400")
		var text bytes.Buffer
		for i, name := range fields {
			value, _ := json.Marshal(members[name])
			if name == field {
				value = []byte("1e400")
			}
			fmt.Fprintf(&text, "%c%q:%s", "{,"[min(i, 1)], name, value)
		}
		r.text = text.String() + "}"
		return true
	case kind.Is("object"):
		members[field] = []any{}
	default:
		members[field] = map[string]any{"a": 1}
	}
	r.write()
	return true
}
