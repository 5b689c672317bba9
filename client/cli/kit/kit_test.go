package kit_test

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

func TestFlagOf(t *testing.T) {
	flags := map[string]string{"found_mm": "--found", "tests": "--test", "scrap/nominal_mm": "--scrap", "as_of": "--as-of"}
	for pointer, want := range map[string]string{
		"#/found_mm":         "--found",
		"/found_mm":          "--found",
		"as_of":              "--as-of",
		"#/tests/0/outcome":  "--test (number 1)",
		"#/tests/2":          "--test (number 3)",
		"#/scrap/nominal_mm": "--scrap",
		"#/pieces/4/mass_t":  "pieces/4/mass_t",
		"#/unknown":          "unknown",
		"#":                  "",
	} {
		if got := kit.FlagOf(pointer, flags); got != want {
			t.Errorf("FlagOf(%q) = %q, want %q", pointer, got, want)
		}
	}
}

func TestTimesInFiles(t *testing.T) {
	at := func(h, m int) time.Time { return time.Date(2026, 3, 4, h, m, 0, 0, time.UTC) }
	for text, want := range map[string]time.Time{
		"2026-03-04T14:05:00Z":      at(14, 5),
		"2026-03-04T14:05Z":         at(14, 5),
		"2026-03-04 14:05z":         at(14, 5),
		"2026-03-04T14:05+02:00":    at(12, 5),
		"2026-03-04 14:05:00+02:00": at(12, 5),
		"2026-03-04":                at(0, 0),
		" 2026-03-04 ":              at(0, 0),
	} {
		if got, err := kit.FileTime("--at", text); err != nil || !got.Equal(want) || got.Location() != time.UTC {
			t.Errorf("%q: got %v, %v; want %v", text, got, err, want)
		}
	}
	for text, wrong := range map[string]string{
		"2026-03-04 14:05":    "zone",
		"2026-03-04T14:05:09": "zone",
		"04.03.2026":          "not a date and time",
		"yesterday":           "not a date and time",
		"2026-02-30":          "not a date and time",
		"":                    "not a date and time",
	} {
		var input *kit.Input
		if got, err := kit.FileTime("--at", text); !errors.As(err, &input) || !strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: got %v, %v; want an error with %q", text, got, err, wrong)
		}
	}
}

func TestTestsFlag(t *testing.T) {
	e, err := kit.NewEntry(kittest.New(t, nil, "").Factory)
	if err != nil {
		t.Fatal(err)
	}
	got, err := e.Tests([]string{"eddy-current:passed", "ultrasonic:failed:crack=0.4mm", "hardness:passed:shore=74.5"})
	if err != nil || e.Err() != nil {
		t.Fatal(err, e.Err())
	}
	if len(got) != 3 || got[0].Test != oapi.TestKindEddyCurrent || *got[1].CrackDepthUm != 400 || *got[2].HardnessShoreC != 74.5 {
		t.Errorf("got %+v", got)
	}
	for text, wrong := range map[string]string{
		"eddy:passed":                      "not a known test",
		"eddy_curent:passed":               `did you mean "eddy_current"`,
		"visual":                           "passed, failed or unknown",
		"visual:ok":                        `"ok"`,
		"visual:failed:depth=1":            "none of crack",
		"hardness:passed:shore=seventyone": "not a number",
	} {
		if _, err := e.Tests([]string{text}); err == nil || !strings.Contains(err.Error(), wrong) {
			t.Errorf("%q: got %v, want an error with %q", text, err, wrong)
		}
	}
}

func TestEntryRefusesAMix(t *testing.T) {
	e, err := kit.NewEntry(kittest.New(t, nil, "").Factory)
	if err != nil {
		t.Fatal(err)
	}
	e.Length("--found", "29.07in")
	e.Length("--ground", "737.950")
	var input *kit.Input
	if err := e.Err(); !errors.As(err, &input) || !strings.Contains(err.Error(), "--ground") || !strings.Contains(err.Error(), "--found") {
		t.Errorf("got %v, want a refusal that names both flags", err)
	}
}

func TestWordFlag(t *testing.T) {
	for _, c := range []struct{ line, want, wrong string }{
		{"", "work", ""},
		{"--role backup", "backup", ""},
		{"--role BACKUP", "backup", ""},
		{"--role back-up", "", `must be one of: work, backup, four_high; did you mean "backup"?`},
		{"--role four-high", "four_high", ""},
		{"--role zzz", "", "must be one of: work, backup, four_high"},
	} {
		var got string
		cmd := &cobra.Command{Use: "x", RunE: func(*cobra.Command, []string) error { return nil }}
		kit.Word(cmd, &got, "role", "work", "which", []string{"work", "backup", "four_high"})
		err := kittest.Run(t, cmd, c.line)
		if c.wrong == "" && (err != nil || got != c.want) {
			t.Errorf("%q: got %q, %v; want %q", c.line, got, err, c.want)
		}
		if c.wrong != "" && (err == nil || !strings.Contains(err.Error(), c.wrong)) {
			t.Errorf("%q: got %v, want %q", c.line, err, c.wrong)
		}
	}
}

func TestArgsAndRequire(t *testing.T) {
	for _, c := range []struct{ line, wrong string }{
		{"R1 --a 1 --b 2", ""},
		{"R1 S1 --a 1 --b 2", ""},
		{"--a 1 --b 2", "x needs ROLL"},
		{"R1 S1 more --a 1 --b 2", `unexpected argument "more"`},
		{"R1", "x needs --a and --b"},
		{"R1 --a 1", "x needs --b"},
	} {
		cmd := &cobra.Command{Use: "x", Args: kit.Args("ROLL", "[SET]"), RunE: func(*cobra.Command, []string) error { return nil }}
		cmd.Flags().String("a", "", "")
		cmd.Flags().String("b", "", "")
		kit.Require(cmd, "a", "b")
		err := kittest.Run(t, cmd, c.line)
		var usage *kit.UsageError
		if c.wrong == "" && err != nil || c.wrong != "" && (!errors.As(err, &usage) || !strings.Contains(err.Error(), c.wrong)) {
			t.Errorf("%q: got %v, want %q", c.line, err, c.wrong)
		}
	}
}

func TestConfirmed(t *testing.T) {
	w := kittest.New(t, nil, "n\n")
	var usage *kit.UsageError
	if err := kit.Confirmed(w.Factory, false, "Scrap R1?"); !errors.As(err, &usage) || !strings.Contains(err.Error(), "--yes") {
		t.Errorf("with nobody to ask: %v", err)
	}
	if err := kit.Confirmed(w.Factory, true, "Scrap R1?"); err != nil {
		t.Errorf("with --yes: %v", err)
	}
	w.Term.SetTTY(true, true, true)
	if err := kit.Confirmed(w.Factory, false, "Scrap R1?"); !errors.Is(err, kit.ErrStopped) {
		t.Errorf("answered no: %v", err)
	}
}

// pages is a list of five things, two a page.
func pages(limit *int64, cursor *string) (kit.Page[int], error) {
	all := []int{1, 2, 3, 4, 5}
	from := 0
	if cursor != nil {
		fmt.Sscan(*cursor, &from)
	}
	to := min(from+2, len(all))
	p := kit.Page[int]{Items: all[from:to], Raw: fmt.Appendf(nil, `{"items":%v}`, from)}
	if to < len(all) {
		next := fmt.Sprint(to)
		p.Next = &next
	}
	return p, nil
}

func TestList(t *testing.T) {
	row := func(n int) []string { return []string{fmt.Sprint(n)} }
	columns := []render.Column{{Head: "number, mm", Key: "number_mm"}}
	for _, c := range []struct {
		name      string
		paging    kit.Paging
		json      bool
		out, talk string
	}{
		{"one page", kit.Paging{}, false, "number, mm\n1\n2\n", "There are more: add --all, or a larger --limit.\n"},
		{"from a cursor", kit.Paging{Cursor: "4"}, false, "number, mm\n5\n", ""},
		{"all", kit.Paging{All: true}, false, "number, mm\n1\n2\n3\n4\n5\n", ""},
		{"csv", kit.Paging{All: true, CSV: true}, false, "number_mm\n1\n2\n3\n4\n5\n", ""},
		{"json", kit.Paging{All: true}, true, "{\"items\":0}\n{\"items\":2}\n{\"items\":4}\n", ""},
		{"nothing", kit.Paging{Cursor: "5"}, false, "", "None.\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := kittest.New(t, nil, "")
			w.JSON = c.json
			if err := kit.List(w.Factory, &c.paging, "None.", columns, pages, row); err != nil {
				t.Fatal(err)
			}
			if w.Out.String() != c.out || w.Err.String() != c.talk {
				t.Errorf("out %q, talk %q; want %q, %q", w.Out, w.Err, c.out, c.talk)
			}
		})
	}
}

func TestRecordingMakesAKeyUnlessGiven(t *testing.T) {
	var r kit.Recording
	dry, first := r.Params()
	_, second := r.Params()
	if dry != nil || *first == "" || *first == *second {
		t.Errorf("dry run %v, keys %q and %q", dry, *first, *second)
	}
	r = kit.Recording{Key: "mine", DryRun: true}
	if dry, key := r.Params(); *key != "mine" || !*dry {
		t.Errorf("dry run %v, key %q", dry, *key)
	}
}

func TestFailureLines(t *testing.T) {
	problem := &conn.Problem{Problem: oapi.Problem{Errors: &[]oapi.FieldProblem{
		{Pointer: "#/found_mm", Detail: "must be at most 5000"}, {Pointer: "#/other", Detail: "is unknown"}, {Pointer: "#", Detail: "is empty"}}}}
	f := &kit.Failure{Err: problem, Flag: map[string]string{"found_mm": "--found"}}
	want := []string{"--found: must be at most 5000", "other: is unknown", "is empty"}
	if got := f.Lines(); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Pressing tab must not make a data file, nor say anything when it fails.
func TestCompletionIsSilentAndMakesNothing(t *testing.T) {
	answers := &kittest.Answers{T: t, Canned: map[string]string{}}
	w := kittest.New(t, answers, "")
	cmd := &cobra.Command{}
	if got, _ := kit.Complete(w.Factory, kit.Mills)(cmd, nil, ""); got != nil || len(answers.Sent) > 0 || kit.DataExists(w.Given["data"]) {
		t.Errorf("without a data file: %v, %d calls", got, len(answers.Sent))
	}
	if err := os.WriteFile(w.Given["data"], nil, 0o600); err != nil {
		t.Fatal(err)
	}
	answers.Canned["GET /v1/mills"] = `{"items":[{"name":"HSM","kind":"hot_strip"}]}`
	if got, _ := kit.Complete(w.Factory, kit.Mills)(cmd, nil, ""); !slices.Equal(got, []string{"HSM"}) {
		t.Errorf("got %v", got)
	}
	answers.Status = 500
	answers.Canned["GET /v1/mills"] = `{"type":"/problems/internal","title":"x","status":500}`
	if got, _ := kit.Complete(w.Factory, kit.Mills)(cmd, nil, ""); len(got) != 0 || w.Err.Len() > 0 {
		t.Errorf("when it fails: %v, said %q", got, w.Err)
	}
	if got, _ := kit.Complete(w.Factory, kit.Mills)(cmd, []string{"HSM"}, ""); got != nil {
		t.Errorf("after the first argument: %v", got)
	}
}
