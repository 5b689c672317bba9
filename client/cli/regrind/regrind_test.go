package regrind

import (
	"context"
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/oapi"
)

const grind = "--found 738.412 --ground 737.950 --for wear"

func TestRecordSends(t *testing.T) {
	for _, c := range []struct{ name, units, line, body string }{
		{"the short form", "metric", "R1 " + grind, `{"found_mm":738.412,"ground_mm":737.95,"purpose":"wear"}`},
		{"everything", "metric", "R1 " + grind + ` --crown 50 --taper -3 --runout 4µm --roughness 0.8 --above-shop 4.5 --grinder G2 --test eddy_current:passed --confirm "measured twice" --note n --at 2026-03-04T10:00Z`,
			`{"at":"2026-03-04T10:00:00Z","confirm":"measured twice","crown_um":50,"found_mm":738.412,"grinder":"G2","ground_mm":737.95,"note":"n","purpose":"wear","roughness_um":0.8,"runout_um":4,"taper_um":-3,"temperature_above_shop_k":4.5,"tests":[{"outcome":"passed","test":"eddy_current"}]}`},
		{"inches by suffix", "metric", "R1 --found 29.07in --ground 29.05in --for crack", `{"found_mm":738.378,"ground_mm":737.87,"purpose":"crack"}`},
		{"inches by units", "imperial-short", "R1 --found 29.07 --ground 29.05 --for wear --crown 2thou", `{"crown_um":50.8,"found_mm":738.378,"ground_mm":737.87,"purpose":"wear"}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/rolls/R1/regrinds": kittest.Fixture(t, "answer.json")}}
			w := kittest.New(t, answers, "").Units(c.units)
			if err := kittest.Run(t, NewCmdRecord(w.Factory, nil), c.line); err != nil {
				t.Fatal(err)
			}
			if got := strings.TrimSpace(answers.Sent[0]); got != c.body {
				t.Errorf("sent %s\nwant %s", got, c.body)
			}
		})
	}
}

func TestRecordRefusesBeforeSending(t *testing.T) {
	for line, wrong := range map[string]string{
		"R1":                                  "needs --found, --ground and --for",
		"R1 --found 738.412 --ground 737.950": "needs --for",
		"R1 " + grind + "2":                   "did you mean",
		"R1 --found 738,412 --ground 737.950 --for wear": "--found",
		"R1 --found 29.07in --ground 737.950 --for wear": "--ground",
		"R1 --found NaN --ground 737.950 --for wear":     "--found",
		"R1 " + grind + " --at 2026-03-04T25:00":         "not a date and time",
		"R1 " + grind + " --test eddy:passed":            "not a known test",
	} {
		answers := &kittest.Answers{T: t}
		w := kittest.New(t, answers, "")
		if err := kittest.Run(t, NewCmdRecord(w.Factory, nil), line); err == nil || !strings.Contains(err.Error(), wrong) || len(answers.Sent) > 0 {
			t.Errorf("%q: got %v, want %q; %d sent", line, err, wrong, len(answers.Sent))
		}
	}
}

func TestAnswersAreGolden(t *testing.T) {
	for _, units := range []string{"metric", "imperial-long"} {
		w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/rolls/CW-109/regrinds": kittest.Fixture(t, "answer.json")}}, "").Units(units)
		if err := kittest.Run(t, NewCmdRecord(w.Factory, nil), "CW-109 --found 642.483mm --ground 642.315mm --for wear"); err != nil {
			t.Fatal(err)
		}
		kittest.Golden(t, "record."+units+".txt", w.Out.String())
		kittest.Contains(t, w.Err.String(), "Recorded as entry ")
	}
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/rolls/CW-111/regrind-advice": kittest.Fixture(t, "advice.json")}}, "")
	if err := kittest.Run(t, NewCmdAdvise(w.Factory, nil), "CW-111 --found 642.0 --crack 300µm"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "advise.txt", w.Out.String())
}

func TestAdviseInput(t *testing.T) {
	for line, want := range map[string]string{
		"R1":                                `{}`,
		"R1 --found 642 --crack 0.3mm":      `{"crack_depth_um":300,"found_mm":642}`,
		"R1 --found 25.27in --crack 12thou": `{"crack_depth_um":304.8,"found_mm":641.858}`,
		"R1 --crown 80":                     `{"crown_um":80}`,
	} {
		var got []byte
		cmd := NewCmdAdvise(kittest.New(t, nil, "").Factory, func(_ context.Context, o *AdviseOptions) error {
			in, err := o.input()
			if err == nil {
				got, err = json.Marshal(in)
			}
			return err
		})
		if err := kittest.Run(t, cmd, line); err != nil || string(got) != want {
			t.Errorf("%q: got %s, %v; want %s", line, got, err, want)
		}
	}
}

// A field the service refuses is named by its flag.
func TestRefusalNamesTheFlag(t *testing.T) {
	answers := &kittest.Answers{T: t, Status: 422, Canned: map[string]string{"POST /v1/rolls/R1/regrinds": `{"type":"/problems/impossible","title":"Not physically possible","status":422,
		"errors":[{"pointer":"#/ground_mm","detail":"738.500 mm is above the found diameter"},{"pointer":"#/tests/0","detail":"is older than the grind"}]}`}}
	w := kittest.New(t, answers, "")
	err := kittest.Run(t, NewCmdRecord(w.Factory, nil), "R1 --found 738.412 --ground 738.500 --for wear --test visual:passed")
	var failure *kit.Failure
	if !errors.As(err, &failure) {
		t.Fatalf("got %v", err)
	}
	kittest.Contains(t, strings.Join(failure.Lines(), "\n"), "--ground: 738.500 mm is above the found diameter", "--test (number 1): is older")
	if len(failure.Next) == 0 {
		t.Error("there is no next command")
	}
}

const book = `{"items":[
 {"roll":"R1","number":1,"kind":"received","at":"2026-01-01T00:00:00Z","recorded_at":"2026-01-01T00:00:00Z","by":"a","body":{},"hash":"x"},
 {"roll":"R1","number":2,"kind":"reground","at":"2026-01-02T00:00:00Z","recorded_at":"2026-01-02T00:00:00Z","by":"a","body":{},"hash":"x"},
 {"roll":"R1","number":3,"kind":"reground","at":"2026-01-03T00:00:00Z","recorded_at":"2026-01-03T00:00:00Z","by":"a","body":{},"hash":"x","replaced_by":4},
 {"roll":"R1","number":4,"kind":"corrected","at":"2026-01-03T00:00:00Z","recorded_at":"2026-01-04T00:00:00Z","by":"a","body":{"entry":3%s},"hash":"x"}]}`

func TestCorrectionsFindTheLastRegrindThatHolds(t *testing.T) {
	withdrawn, corrected := strings.Replace(book, "%s", "", 1), strings.Replace(book, "%s", `,"kind":"reground","with":{"found_mm":738.4,"ground_mm":737.9,"crown_um":50}`, 1)
	for _, c := range []struct {
		name, book, line, body string
		verb                   func(*kit.Factory) *cobra.Command
		says                   []string
	}{
		{"a corrected one stands in its correction", corrected, "R1 --reason wrong", `{"entry":4,"reason":"wrong"}`, withdraw, []string{"Entry 4 of R1, 2026-01-03"}},
		{"a named one", corrected, "R1 --reason wrong --entry 2", `{"entry":2,"reason":"wrong"}`, withdraw, []string{"Entry 2 of R1, 2026-01-02"}},
		{"a named one with entries after it", withdrawn, "R1 --reason wrong --entry 2", `{"entry":2,"reason":"wrong"}`, withdraw, nil},
		{"only what is named", corrected, "R1 --reason swapped --ground 737.95 --note wheel", `{"entry":4,"reason":"swapped","regrind":{"ground_mm":737.95,"note":"wheel"}}`, put, nil},
		{"how warm it was", corrected, "R1 --reason cold --above-shop 25", `{"entry":4,"reason":"cold","regrind":{"temperature_above_shop_k":25}}`, put, nil},
		{"a figure that was not taken", corrected, "R1 --reason unread --clear crown,--test", `{"entry":4,"reason":"unread","regrind":{"clear":["crown_um","tests"]}}`, put, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/rolls/R1/corrections": kittest.Fixture(t, "correction.json"), "GET /v1/rolls/R1/entries": c.book}}
			w := kittest.New(t, answers, "")
			if err := kittest.Run(t, c.verb(w.Factory), c.line+" --yes"); err != nil {
				t.Fatal(err)
			}
			if got := strings.TrimSpace(answers.Sent[len(answers.Sent)-1]); got != c.body {
				t.Errorf("sent %s, want %s", got, c.body)
			}
			kittest.Contains(t, w.Err.String(), c.says...)
		})
	}
}

func withdraw(f *kit.Factory) *cobra.Command { return NewCmdUndo(f, nil) }
func put(f *kit.Factory) *cobra.Command      { return NewCmdCorrect(f, nil) }

// TestCorrectionsAsk: what is not the last entry and was not named is not taken
// for the one meant; a command sent twice would rewrite an older regrind.
func TestCorrectionsAsk(t *testing.T) {
	answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/R1/entries": strings.Replace(book, "%s", "", 1)}}
	for _, verb := range []func(*kit.Factory) *cobra.Command{withdraw, put} {
		w := kittest.New(t, answers, "")
		line := "R1 --reason wrong --yes"
		if verb(w.Factory).Flags().Lookup("found") != nil {
			line += " --found 738.4"
		}
		err := kittest.Run(t, verb(w.Factory), line)
		if err == nil || !strings.Contains(err.Error(), "the last regrind is entry 2, with 2 entries written after it: name it with --entry 2") {
			t.Errorf("got %v", err)
		}
		for _, sent := range answers.Sent {
			if strings.Contains(sent, "reason") {
				t.Errorf("sent %s", sent)
			}
		}
	}
}

func TestCorrectionsRefuse(t *testing.T) {
	for _, c := range []struct {
		verb        func(*kit.Factory) *cobra.Command
		line, wrong string
	}{
		{withdraw, "R1", "needs --reason"},
		{withdraw, "R1 --reason x --found 738.412", "unknown flag: --found"},
		{put, "R1 --found 738.4", "needs --reason"},
		{put, "R1 --reason x", "say what was wrong in the regrind of R1"},
		{put, "R1 --reason x --clear ground", "--clear ground cannot be cleared; clear one of: above-shop, crown"},
		{put, "R1 --reason x --clear crwon", `did you mean "crown"`},
		{withdraw, "R1 --reason x --key k", "name the entry too"},
		{withdraw, "R1 --reason x --entry 9", "no entry 9"},
		{withdraw, "R1 --reason x", "no regrind that still holds"},
		{put, "R1 --reason x --found 738.4", "no regrind that still holds"},
	} {
		none := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/R1/entries": `{"items":[]}`}}
		w := kittest.New(t, none, "")
		if err := kittest.Run(t, c.verb(w.Factory), c.line); err == nil || !strings.Contains(err.Error(), c.wrong) {
			t.Errorf("%q: got %v, want %q", c.line, err, c.wrong)
		}
	}
}

// The contract's fields and the flags' map must not drift apart.
func TestEveryFieldOfARegrindHasItsFlag(t *testing.T) {
	w := kittest.New(t, nil, "")
	cmd := NewCmdRecord(w.Factory, nil)
	fields := map[string]bool{}
	for _, of := range []reflect.Type{reflect.TypeFor[oapi.RegrindInput](), reflect.TypeFor[oapi.RegrindCorrection]()} {
		for _, f := range reflect.VisibleFields(of) {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			fields[name] = true
		}
	}
	delete(fields, "clear") // a flag of corrections alone
	for field := range fields {
		flag, ok := measureFlags[field]
		if !ok {
			t.Errorf("field %s has no flag", field)
		} else if cmd.Flags().Lookup(strings.TrimPrefix(flag, "--")) == nil {
			t.Errorf("field %s maps to %s, which is no flag", field, flag)
		}
	}
}
