package roll

import (
	"context"
	"encoding/json"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

const least = "R1 --grade G --mill M --diameter 780 --barrel 2000 --scrap 700"

func TestReceiveInput(t *testing.T) {
	at := kittest.Now
	for _, c := range []struct {
		name, units, line string
		want              func(*oapi.RollReceipt)
	}{
		{"least", "metric", least, func(*oapi.RollReceipt) {}},
		{"a day", "metric", least + " --received 2026-03-01", func(r *oapi.RollReceipt) { r.ReceivedAt = at.AddDate(0, 0, -3).Truncate(24 * 3600e9) }},
		{"stands", "metric", least + " --stand F1,F2 --stand F3", func(r *oapi.RollReceipt) { r.Stands = &[]string{"F1", "F2", "F3"} }},
		{"limits", "metric", least + " --scrap-shell 705 --scrap-fillet 690.5", func(r *oapi.RollReceipt) {
			shell, fillet := 705.0, 690.5
			r.Scrap.ShellDepthMm, r.Scrap.NeckFilletMm = &shell, &fillet
		}},
		{"the neck", "metric", least + " --neck 420 --neck-radius 63.5mm", func(r *oapi.RollReceipt) {
			neck, radius := 420.0, 63.5
			r.NeckDiameterMm, r.NeckFilletRadiusMm = &neck, &radius
		}},
		{"the rest", "metric", least + ` --role backup --crown -40 --hardness 81.5 --price 4200000 --ground --note "with chocks"`, func(r *oapi.RollReceipt) {
			crown, hardness, price, ground, note := -40.0, 81.5, int64(4200000), true, "with chocks"
			r.Role, r.CrownUm, r.HardnessShoreC, r.Price, r.Ground, r.Note = oapi.RoleBackup, &crown, &hardness, &price, &ground, &note
		}},
		{"inches", "imperial-short", "R1 --grade G --mill M --diameter 30.70866 --barrel 78.74016 --scrap 27.55906", func(*oapi.RollReceipt) {}},
		{"named inches", "metric", "R1 --grade G --mill M --diameter 30.70866in --barrel 78.74016in --scrap 27.55906in", func(*oapi.RollReceipt) {}},
	} {
		t.Run(c.name, func(t *testing.T) {
			want := oapi.RollReceipt{Number: "R1", Role: oapi.RoleWork, Grade: "G", Mill: "M", DiameterMm: 780, BarrelLengthMm: 2000, Scrap: oapi.ScrapLimits{NominalMm: 700}, ReceivedAt: at}
			c.want(&want)
			var got oapi.RollReceipt
			cmd := NewCmdReceive(kittest.New(t, nil, "").Units(c.units).Factory, func(_ context.Context, o *ReceiveOptions) (err error) {
				got, err = o.input()
				return err
			})
			if err := kittest.Run(t, cmd, c.line); err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(got, want) {
				t.Errorf("got %s, want %s", text(got), text(want))
			}
		})
	}
}

func text(v any) string { raw, _ := json.Marshal(v); return string(raw) }

func TestReceiveRefuses(t *testing.T) {
	for line, wrong := range map[string]string{
		"":                                      "needs NUMBER",
		"R1":                                    "--grade, --mill, --diameter, --barrel and --scrap",
		least + " --role driver":                "must be one of",
		least + " --hardness soft":              "not a number",
		least + " --received 04.03.2026":        "--received",
		least + " --scrap-shell 27in":           "--scrap-shell",
		strings.Replace(least, "780", "1e3", 1): "--diameter",
		strings.Replace(least, "780", "780.0004", 1): "finer than a micrometre",
	} {
		cmd := NewCmdReceive(kittest.New(t, nil, "").Factory, func(_ context.Context, o *ReceiveOptions) error { _, err := o.input(); return err })
		if err := kittest.Run(t, cmd, line); err == nil || !strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: got %v, want %q", line, err, wrong)
		}
	}
}

func TestShowIsGolden(t *testing.T) {
	for _, units := range []string{"metric", "imperial-short"} {
		w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/HW-201": kittest.Fixture(t, "roll.json")}}, "").Units(units)
		if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "HW-201"); err != nil {
			t.Fatal(err)
		}
		kittest.Golden(t, "show."+units+".txt", w.Out.String())
	}
}

func TestBookIsGolden(t *testing.T) {
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/HW-201/entries": kittest.Fixture(t, "book.json")}}, "")
	if err := kittest.Run(t, NewCmdBook(w.Factory, nil), "HW-201"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "book.txt", w.Out.String())
}

func TestListShowsAndFilters(t *testing.T) {
	answers := &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls": `{"items":[` + kittest.Fixture(t, "roll.json") + `]}`}}
	w := kittest.New(t, answers, "")
	if err := kittest.Run(t, NewCmdList(w.Factory, nil), "--stage mounted --role work --held --limit 7"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "list.txt", w.Out.String())
	asked, err := url.ParseQuery(answers.Queries[0])
	if want := "held=true&limit=7&role=work&stage=mounted"; err != nil || asked.Encode() != want {
		t.Errorf("asked %s, want %s", answers.Queries[0], want)
	}
	w = kittest.New(t, answers, "")
	if err := kittest.Run(t, NewCmdList(w.Factory, nil), "--csv"); err != nil {
		t.Fatal(err)
	}
	kittest.Golden(t, "list.csv", w.Out.String())
}

func TestJSONIsUntouched(t *testing.T) {
	raw := kittest.Fixture(t, "roll.json")
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/HW-201": raw}}, "")
	w.JSON = true
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "HW-201"); err != nil {
		t.Fatal(err)
	}
	if w.Out.String() != strings.TrimSuffix(raw, "\n")+"\n" {
		t.Errorf("changed:\n%s", w.Out)
	}
}

// Each recording sends what was typed, with a key, and dry_run when asked.
func TestRecordings(t *testing.T) {
	roll := kittest.Fixture(t, "roll.json")
	for _, c := range []struct{ verb, path, line, body string }{
		{"inspect", "inspections", "R1 --test visual:passed --at 2026-03-04T10:00Z", `{"at":"2026-03-04T10:00:00Z","tests":[{"outcome":"passed","test":"visual"}]}`},
		{"hold", "holds", "R1 --reason bruise", `{"reason":"bruise"}`},
		{"release", "releases", `R1 --reason "test passed"`, `{"reason":"test passed"}`},
		{"regrade", "regradings", "R1 --stand F1,F2 --reason soft", `{"reason":"soft","stands":["F1","F2"]}`},
		{"scrap", "scrappings", "R1 --why spall --reason seen --yes", `{"reason":"seen","why":"spall"}`},
	} {
		for _, dry := range []bool{false, true} {
			t.Run(c.verb, func(t *testing.T) {
				answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/rolls/R1/" + c.path: roll}}
				w := kittest.New(t, answers, "")
				line := c.verb + " " + c.line
				if dry {
					line += " --dry-run"
				}
				if err := kittest.Run(t, NewCmd(w.Factory), line); err != nil {
					t.Fatal(err)
				}
				if got := strings.TrimSpace(answers.Sent[0]); got != c.body {
					t.Errorf("sent %s, want %s", got, c.body)
				}
				if answers.Headers[0].Get("Idempotency-Key") == "" {
					t.Error("sent without a key")
				}
				if got := answers.Queries[0] == "dry_run=true"; got != dry {
					t.Errorf("query %q, dry run %v", answers.Queries[0], dry)
				}
				if said := strings.Contains(w.Err.String(), "nothing was recorded"); said != dry {
					t.Errorf("said %q, dry run %v", w.Err, dry)
				}
			})
		}
	}
}

func TestScrapAsksFirst(t *testing.T) {
	answers := &kittest.Answers{T: t, Canned: map[string]string{"POST /v1/rolls/R1/scrappings": kittest.Fixture(t, "roll.json")}}
	w := kittest.New(t, answers, "n\n")
	w.Term.SetTTY(true, true, true)
	if err := kittest.Run(t, NewCmd(w.Factory), "scrap R1 --why spall --reason seen"); !errors.Is(err, kit.ErrStopped) || len(answers.Sent) != 0 {
		t.Errorf("answered no: %v, %d sent", err, len(answers.Sent))
	}
	w = kittest.New(t, answers, "")
	var usage *kit.UsageError
	if err := kittest.Run(t, NewCmd(w.Factory), "scrap R1 --why spall --reason seen"); !errors.As(err, &usage) || len(answers.Sent) != 0 {
		t.Errorf("nobody to ask: %v, %d sent", err, len(answers.Sent))
	}
}

func TestSentence(t *testing.T) {
	summary, reason, by := "ground from 1 mm to 2 mm", "two digits swapped", int64(7)
	for _, c := range []struct {
		entry oapi.Entry
		want  string
	}{
		{oapi.Entry{Kind: oapi.EntryKindReground}, "reground"},
		{oapi.Entry{Kind: oapi.EntryKindReground, Summary: &summary}, summary},
		{oapi.Entry{Kind: oapi.EntryKindReground, Summary: &summary, Body: map[string]any{"found_mm": 2.0, "found_as_read_mm": 2.0, "crown_um": 78.8, "roughness_um": 0.77, "gauge_uncertainty_um": 20.0,
			"stations": []any{map[string]any{"at_mm": 95.0, "diameter_mm": 642.782}}, "tests": []any{map[string]any{"test": "eddy_current", "outcome": "passed"}}, "grinder": "G2", "note": "wheel changed"}},
			summary + "; crown 78.8 µm; roughness Ra 0.77 µm; stations 95: 642.782; eddy current passed; grinder G2; note wheel changed"},
		{oapi.Entry{Kind: oapi.EntryKindHeld, Reason: &reason}, "held, because: two digits swapped"},
		{oapi.Entry{Kind: oapi.EntryKindReground, Summary: &summary, ReplacedBy: &by}, summary + " [no longer holds: see entry 7]"},
	} {
		if got := sentence(render.Units{}, c.entry); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestShowDrawsLoadWearAndFatigue(t *testing.T) {
	file := filepath.Join(t.TempDir(), "r.svg")
	const stand = `{"stand":{"name":"F3","mill":"M","order":3,"arrangement":"four_high","version":1},"positions":[],"load":{"piece":"P1","width_mm":1000,"force_kn":15000,"force_predicted":false,"pairs":[` +
		`{"work":"HW-201","backup":"FB-103","x_mm":[-950,0,950],"load_n_per_mm":[9000,7000,9000],"mean_n_per_mm":8000,"peak_n_per_mm":9000,"peak_over_mean":1.125,"peak_pressure_mpa":1200,"taken_as_even":false},` +
		`{"work":"HW-202","backup":"FB-104","x_mm":[-950,0,950],"load_n_per_mm":[9000,7000,9000],"mean_n_per_mm":8000,"peak_n_per_mm":9000,"peak_over_mean":1.125,"peak_pressure_mpa":1200,"taken_as_even":false}]}}`
	w := kittest.New(t, &kittest.Answers{T: t, Canned: map[string]string{"GET /v1/rolls/HW-201": kittest.Fixture(t, "roll.json"), "GET /v1/stands/F3": stand}}, "")
	if err := kittest.Run(t, NewCmdShow(w.Factory, nil), "HW-201 --svg "+file); err != nil {
		t.Fatal(err)
	}
	drawn, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"line load, N/mm", "HW-201 on FB-103", "wear on diameter, µm", "damage of the worst layer", "allowed: 1", "along the barrel from its middle, mm"} {
		if !strings.Contains(string(drawn), want) {
			t.Errorf("%q is not written in the drawing", want)
		}
	}
	if strings.Contains(string(drawn), "HW-202") {
		t.Error("the other pair is drawn too")
	}
}
