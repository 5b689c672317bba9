package rest_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
)

// TestImportNamesBadLines sends a thousand lines with bad ones among them: each
// line is answered in order, the bad ones by name, and the others stand.
func TestImportNamesBadLines(t *testing.T) {
	s := openFile(t)
	s.rolling()
	good := func(i int) string { return piece(fmt.Sprint("C", i), s.now.Add(-time.Duration(i)*time.Second)) }
	bad := map[int]struct{ line, want string }{
		3:   {`{"source":"mes",`, `{"type":"/problems/malformed","detail":"~not JSON"}`},
		10:  {strings.Replace(good(10), `"mass_t":20,`, "", 1), `{"errors":[{"pointer":"#/mass_t","detail":"is missing"}]}`},
		11:  {strings.Replace(good(11), `"mass_t":20`, `"mass_t":NaN`, 1), `{"detail":"~not JSON"}`},
		12:  {strings.Replace(good(12), `"mass_t":20`, `"mass_t":1e400`, 1), `{"errors":[{"pointer":"#/mass_t"}]}`},
		13:  {strings.Replace(good(13), `"exit_thickness_mm":9`, `"exit_thickness_mm":19`, 1), `{"type":"/problems/impossible","errors":[{"pointer":"#/passes/1/exit_thickness_mm","detail":"~thicker"}]}`},
		500: {strings.Replace(good(500), `"stand":"F2"`, `"stand":"F9"`, 1), `{"errors":[{"pointer":"#/passes/1/stand"}]}`},
		501: {`"` + strings.Repeat("x", 2<<20) + `"`, `{"detail":"~longer than"}`},
		999: {`[1,2]`, `{"errors":[{"pointer":"#"}]}`},
	}
	var lines []string
	for i := 1; i <= 1000; i++ {
		line := good(i)
		if b, ok := bad[i]; ok {
			line = b.line
		}
		lines = append(lines, line)
	}
	for round, want := range []string{
		`{"summary":true,"line_count":1000,"stored_count":992,"duplicate_count":0,"refused_count":8,"refused_lines":[3,10,11,12,13,500,501,999]}`,
		`{"summary":true,"line_count":1000,"stored_count":0,"duplicate_count":992,"refused_count":8}`,
	} {
		status, answers := s.importLines(strings.Join(lines, "\n") + "\n")
		if status != 200 || len(answers) != 1001 {
			t.Fatalf("status %d, %d lines", status, len(answers))
		}
		for i, answer := range answers[:1000] {
			want := fmt.Sprintf(`{"line":%d,"status":%q}`, i+1, []string{"stored", "duplicate"}[round])
			if b, ok := bad[i+1]; ok {
				want = fmt.Sprintf(`{"line":%d,"status":"refused","problem":%s}`, i+1, b.want)
			}
			if why := holdsJSON(want, answer); why != "" {
				t.Errorf("line %d: %s: %s", i+1, why, shortened(answer))
			}
			s.heldAgainst("PieceLineAnswer", answer)
		}
		if why := holdsJSON(want, answers[1000]); why != "" {
			t.Errorf("summary %s: %s", why, answers[1000])
		}
		s.heldAgainst("PieceImportSummary", answers[1000])
	}
	s.take(step{name: "all tonnes once", as: port.Viewer, do: "GET /v1/rolls/WF2B", status: 200, want: `{"totals":{"piece_count":992,"tonnage_t":19840}}`})
}

// heldAgainst holds a line of an answer against a schema of the contract.
func (s *shop) heldAgainst(schema, line string) {
	s.t.Helper()
	var value any
	if err := json.Unmarshal([]byte(line), &value); err != nil {
		s.t.Fatal(err)
	}
	if err := s.doc.Components.Schemas[schema].Value.VisitJSON(value); err != nil {
		s.t.Errorf("not a %s: %v: %s", schema, err, shortened(line))
	}
}

// TestImportStreams sends a group over a network, waits for its answers, and
// only then sends more: the service must answer before the body ends.
func TestImportStreams(t *testing.T) {
	s := openFile(t)
	s.rolling()
	server := httptest.NewServer(s.service.Handler())
	defer server.Close()
	body, send := io.Pipe()
	r, err := http.NewRequestWithContext(context.Background(), "POST", server.URL+"/v1/pieces", body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-ndjson")
	r.Header.Set("Authorization", "Bearer "+s.tokens[port.Shift])
	group := func(from int) {
		for i := range 500 {
			fmt.Fprintln(send, piece(fmt.Sprint("C", from+i), s.now.Add(-time.Minute)))
		}
	}
	go group(0)
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	answers := bufio.NewScanner(response.Body)
	for i := range 500 {
		if !answers.Scan() {
			t.Fatalf("the answer ended at line %d: %v", i, answers.Err())
		}
	}
	go func() {
		group(500)
		send.Close()
	}()
	last, lines := "", 500
	for answers.Scan() {
		last = answers.Text()
		lines++
	}
	if why := holdsJSON(`{"summary":true,"line_count":1000,"stored_count":1000}`, last); why != "" || lines != 1001 {
		t.Errorf("%d lines, the last %s: %s", lines, last, why)
	}
}

// TestBrokenStreamHasNoSummary: when the sender breaks off after a while, what
// was answered stands and no summary claims that all of it arrived.
func TestBrokenStreamHasNoSummary(t *testing.T) {
	s := openFile(t)
	s.rolling()
	r := s.request(port.Shift, "POST", "/v1/pieces", "x")
	r.Header.Set("Content-Type", "application/x-ndjson")
	r.Body = io.NopCloser(io.MultiReader(strings.NewReader(piece("C1", s.now)+"\n"), brokenReader{}))
	w := s.send(r)
	if text := w.Body.String(); strings.Contains(text, "summary") || !strings.Contains(text, `"stored"`) {
		t.Errorf("the answer to a broken stream: %s", text)
	}
}

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) {
	time.Sleep(time.Second) // the line before it is stored and answered meanwhile
	return 0, io.ErrUnexpectedEOF
}

// TestEmptyImport: no line is no error.
func TestEmptyImport(t *testing.T) {
	s := openFile(t)
	s.works()
	status, answers := s.importLines("\n\n")
	if status != 200 || len(answers) != 1 {
		t.Fatalf("%d: %v", status, answers)
	}
	if why := holdsJSON(`{"line_count":2,"stored_count":0}`, answers[0]); why != "" {
		t.Error(why)
	}
}
