package embedded_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"testing"

	"barrelbook/testdata/demo"
)

// client sends requests to the service in-process.
type client struct {
	t       *testing.T
	handler http.Handler
}

func (c client) do(_ context.Context, r demo.Request) (int, string, []byte, error) {
	req := httptest.NewRequest(r.Method, r.Path, bytes.NewReader(r.Body))
	if r.ContentType != "" {
		req.Header.Set("Content-Type", r.ContentType)
	}
	if r.IfMatch != "" {
		req.Header.Set("If-Match", r.IfMatch)
	}
	w := httptest.NewRecorder()
	c.handler.ServeHTTP(w, req)
	return w.Code, w.Header().Get("ETag"), w.Body.Bytes(), nil
}

// ask sends a body and reads the answer, which must have the status.
func (c client) ask(method, path, body string, status int, answer any) {
	c.t.Helper()
	r := demo.Request{Method: method, Path: path, Body: []byte(body)}
	if body != "" {
		r.ContentType = "application/json"
	}
	got, _, raw, _ := c.do(c.t.Context(), r)
	if got != status {
		c.t.Fatalf("%s %s: %d, want %d: %s", method, path, got, status, raw)
	}
	if err := json.Unmarshal(raw, answer); err != nil {
		c.t.Fatal(err)
	}
}

type finishCheck struct {
	Verdict string `json:"verdict"`
	Stands  []struct {
		Stand    string `json:"stand"`
		Verdict  string `json:"verdict"`
		Sentence string `json:"sentence"`
		Margins  []struct {
			Criterion string `json:"criterion"`
		} `json:"margins"`
		Blocks   []string `json:"blocks"`
		Remedies []struct {
			What string `json:"what"`
		} `json:"remedies"`
	} `json:"stands"`
}

// TestDemoMillsAnswer asks each demo mill the three questions. Each must be judged
// by what ends a campaign in a mill of its kind.
func TestDemoMillsAnswer(t *testing.T) {
	all := &slips{t: t}
	for mill, criteria := range map[string][]string{
		"hot-strip":   {"wear", "campaign_tonnage", "campaign_km", "peak_pressure"},
		"cogging":     {"fire_crack", "campaign_tonnage", "force"},
		"billet":      {"groove_tonnage", "speed_high"},
		"bar":         {"groove_tonnage", "speed_high"},
		"plate":       {"wear", "campaign_tonnage", "peak_pressure"},
		"cold-tandem": {"roughness", "campaign_km", "peak_pressure"},
		"temper":      {"roughness", "reduction", "campaign_km"},
		"six-high":    {"crown_change", "quarter_change", "edge_step", "peak_pressure", "campaign_km"},
	} {
		t.Run(mill, func(t *testing.T) {
			c, s, l := demoWorks(t, mill)
			k := takes{}
			for class, list := range l.takes {
				k[class] = append(k[class], list...)
			}
			threeQuestions(c, k.watch(c.do), l.ahead, criteria)
			k.within(t)
			l.tired.t = t
			if mill == demo.DefaultMill { // the largest: no slip passes
				l.tired.held(mill, 0)
			} else {
				l.tired.held(mill, 0.1)
				all.add(l.tired)
			}
			if hold, ok := holdSchedule[mill]; ok {
				schedules(c, l.ahead, hold)
			}
			if err := s.Verify(t.Context()); err != nil {
				t.Errorf("the books are not sound: %v", err)
			}
		})
	}
	if all.tried > 0 { // none where the largest alone is run
		all.held("all but the largest", 0.03)
	}
}

func threeQuestions(c client, do demo.Do, ahead demo.Ahead, criteria []string) {
	t := c.t
	t.Helper()
	var regrind struct {
		StockMM float64 `json:"stock_mm"`
		Version int64   `json:"version"`
	}
	status, _, raw, _ := do(t.Context(), demo.Request{Method: http.MethodPost, Path: "/v1/rolls/" + ahead.Roll + "/regrinds", ContentType: "application/json", Body: ahead.Regrind})
	if err := json.Unmarshal(raw, &regrind); err != nil || status != http.StatusCreated {
		t.Fatalf("regrind: %d %s", status, raw)
	}
	if regrind.StockMM <= 0 || regrind.Version < 3 {
		t.Errorf("regrind answer %+v, want stock taken off in a book of some entries", regrind)
	}
	var plan struct {
		Feasible   bool     `json:"feasible"`
		CannotMeet []string `json:"cannot_meet"`
	}
	c.ask(http.MethodPost, "/v1/change-plans", `{"campaign":"`+ahead.Campaign+`"}`, http.StatusOK, &plan)
	if !plan.Feasible || len(plan.CannotMeet) > 0 {
		t.Errorf("plan %+v, want one that meets everything", plan)
	}
	var check finishCheck
	c.ask(http.MethodPost, "/v1/campaigns/"+ahead.Campaign+"/finish-checks", `{}`, http.StatusOK, &check)
	judged := map[string]bool{}
	remedies := 0
	for _, s := range check.Stands {
		if s.Verdict == "blocked" {
			t.Errorf("%s is blocked: %v", s.Stand, s.Blocks)
		}
		for _, m := range s.Margins {
			judged[m.Criterion] = true
		}
		remedies += len(s.Remedies)
	}
	for _, want := range criteria {
		if !judged[want] {
			t.Errorf("no stand is judged by %s, only by %v", want, judged)
		}
	}
	// Every programme ahead is made to press on some limit, and has a way out.
	if check.Verdict != "no" && check.Verdict != "marginal" || remedies == 0 {
		t.Errorf("verdict %s with %d remedies; want a programme that needs one", check.Verdict, remedies)
	}
}

type demoPiece struct {
	ID      string  `json:"id"`
	MassT   float64 `json:"mass_t"`
	WidthMM float64 `json:"width_mm"`
	EntryMM float64 `json:"entry_thickness_mm"`
	Passes  []struct {
		Stand    string  `json:"stand"`
		EntryMM  float64 `json:"entry_thickness_mm"`
		ExitMM   float64 `json:"exit_thickness_mm"`
		WidthMM  float64 `json:"width_mm"`
		ForceKN  float64 `json:"force_kn"`
		SpeedMPS float64 `json:"speed_m_per_s"`
		Groove   int     `json:"groove"`
	} `json:"passes"`
}

// holdSchedule holds the pieces of a demo mill against the figures of common
// practice, no source: cogging passes to 2 in of draft and 1,000 tons from 26 in
// square to about 7 in; 40 mph at the last of 18 bar stands; a reduction of up to
// 4 % in a temper mill; and the same mass flow through every stand of a continuous
// mill.
var holdSchedule = map[string]func(t *testing.T, p demoPiece){
	"cogging": func(t *testing.T, p demoPiece) {
		const inch, longTonKN = 25.4, 9.96401641818352
		last := p.Passes[len(p.Passes)-1]
		if n := len(p.Passes); n < 19 || n > 23 || math.Abs(last.ExitMM-7*inch) > 5 || math.Abs(last.WidthMM-7*inch) > 6 || math.Abs(p.EntryMM-26*inch) > 0.1 {
			t.Errorf("%s: %d passes from %g to %g x %g mm", p.ID, n, p.EntryMM, last.ExitMM, last.WidthMM)
		}
		for _, pass := range p.Passes {
			if draft := pass.EntryMM - pass.ExitMM; draft > 2*inch+0.11 || pass.ForceKN > 1000*longTonKN+1 {
				t.Errorf("%s: draft %g mm at %g kN", p.ID, draft, pass.ForceKN)
			}
		}
	},
	"bar": func(t *testing.T, p demoPiece) {
		if v := p.Passes[17].SpeedMPS; len(p.Passes) != 18 || math.Abs(v-17.88) > 0.005 {
			t.Errorf("%s: %d stands and %g m/s at the last", p.ID, len(p.Passes), v)
		}
		sameFlow(t, p, 0.03)
	},
	"billet": func(t *testing.T, p demoPiece) { sameFlow(t, p, 0.01) },
	"temper": func(t *testing.T, p demoPiece) {
		if r := 100 * (1 - p.Passes[0].ExitMM/p.EntryMM); r <= 0 || r > 4 {
			t.Errorf("%s: reduction %g %%", p.ID, r)
		}
	},
}

// schedules reads the pieces back and holds each.
func schedules(c client, ahead demo.Ahead, hold func(t *testing.T, p demoPiece)) {
	c.t.Helper()
	var page struct {
		Items []demoPiece `json:"items"`
	}
	c.ask(http.MethodGet, "/v1/pieces?limit=200&mill="+ahead.Mill, "", http.StatusOK, &page)
	if len(page.Items) < 100 {
		c.t.Fatalf("%d pieces, want a few hundred", len(page.Items))
	}
	for _, p := range page.Items {
		hold(c.t, p)
	}
}

// sameFlow holds speed times section of every stand to that of the last.
func sameFlow(t *testing.T, p demoPiece, tolerance float64) {
	t.Helper()
	last := p.Passes[len(p.Passes)-1]
	want := last.SpeedMPS * last.ExitMM * last.WidthMM
	for _, pass := range p.Passes {
		if flow := pass.SpeedMPS * pass.ExitMM * pass.WidthMM; math.Abs(flow/want-1) > tolerance || pass.Groove == 0 {
			t.Errorf("%s at %s: flow %.4g mm²·m/s in groove %d, want %.4g in a groove", p.ID, pass.Stand, flow, pass.Groove, want)
		}
	}
}

// TestDemoUnknownMill names the mills there are.
func TestDemoUnknownMill(t *testing.T) {
	_, err := demo.Load(t.Context(), nil, demo.Options{Mill: "foil"})
	if err == nil {
		t.Fatal("a demo mill that is not there was loaded")
	}
	for _, mill := range demo.Mills() {
		if !bytes.Contains([]byte(err.Error()), []byte(mill)) {
			t.Errorf("%q does not name %s", err, mill)
		}
	}
}
