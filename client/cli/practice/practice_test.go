package practice

import (
	"encoding/json"
	"strings"
	"testing"

	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/oapi"
)

const kept = `{"name":"finishing","scope":{"mill":"M","role":"work"},"values":{"max_wear_um":350,"cooling_h":12.5},"version":3}`

// service knows one practice.
type service struct {
	*kittest.Answers
	has bool
}

func newService(t *testing.T, has bool) *service {
	s := &service{&kittest.Answers{T: t, Canned: map[string]string{"POST /v1/practices": kept, "PUT /v1/practices/finishing": kept, "GET /v1/practices/finishing": kept}}, has}
	if !has {
		s.Status = 404
		s.Canned["GET /v1/practices/finishing"] = `{"type":"/problems/not-found","title":"x","status":404}`
	}
	return s
}

func TestPutMergesAndNamesTheVersion(t *testing.T) {
	for _, c := range []struct{ line, body string }{
		{"finishing max_wear_um=300", `{"name":"finishing","scope":{"mill":"M","role":"work"},"values":{"cooling_h":12.5,"max_wear_um":300}}`},
		{"finishing --remove cooling_h crown_um=-40", `{"name":"finishing","scope":{"mill":"M","role":"work"},"values":{"crown_um":-40,"max_wear_um":350}}`},
		{"finishing --replace grind_min=80 --stand F3", `{"name":"finishing","scope":{"mill":"M","role":"work","stand":"F3"},"values":{"grind_min":80}}`},
		{"finishing --replace --material 18-8 flow_stress_factor=1.6", `{"name":"finishing","scope":{"material":"18-8","mill":"M","role":"work"},"values":{"flow_stress_factor":1.6}}`},
	} {
		s := newService(t, true)
		if err := kittest.Run(t, NewCmdPut(kittest.New(t, s, "").Factory, nil), c.line); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(s.Sent[1]); got != c.body || s.Headers[1].Get("If-Match") != `"5"` {
			t.Errorf("%q: sent %s at %s, want %s", c.line, got, s.Headers[1].Get("If-Match"), c.body)
		}
	}
}

func TestPutRefuses(t *testing.T) {
	for line, wrong := range map[string]string{
		"":                           "needs PRACTICE",
		"finishing max_wear_um":      "SETTING=VALUE",
		"finishing max_ware_um=3":    `did you mean "max_wear_um"`,
		"finishing max_wear_um=3mm":  "its unit is the end of its name",
		"finishing max_wear_um=NaN":  "not a number",
		"finishing --remove nothing": `no setting "nothing"`,
	} {
		if err := kittest.Run(t, NewCmdPut(kittest.New(t, newService(t, true), "").Factory, nil), line); err == nil || !strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: got %v, want %q", line, err, wrong)
		}
	}
}

func TestShow(t *testing.T) {
	w := kittest.New(t, newService(t, true), "")
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "finishing"); err != nil {
		t.Fatal(err)
	}
	kittest.Contains(t, w.Out.String(), "Practice finishing for mill M, role work, version 3", "max_wear_um", "350", "cooling_h", "12.5")
}

// A number keeps the digits it was sent with on its way through a merge.
func TestGivenKeepsEverySetting(t *testing.T) {
	var all = map[string]any{}
	for i, name := range settingNames() {
		all[name] = i + 1
	}
	raw, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	var v oapi.PracticeValues
	if err := json.Unmarshal(raw, &v); err != nil {
		t.Fatal(err)
	}
	if got := given(v); len(got) != len(all) {
		t.Errorf("%d of %d settings came through", len(got), len(all))
	}
}
