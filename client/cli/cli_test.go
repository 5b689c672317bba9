package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/kit/kittest"
	"barrelbook/client/config"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/domain/next"
)

func problem(status int64, slug string) error {
	return &conn.Problem{Problem: oapi.Problem{Type: "/problems/" + slug, Title: slug, Status: status}}
}

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		name string
		err  error
		code int
	}{
		{"done", nil, 0},
		{"anything else", errors.New("disk full"), 1},
		{"answer not ours", &conn.NotOurs{Status: 200}, 1},
		{"our bug", problem(500, "internal"), 1},
		{"typed wrong", kit.Usagef("no"), 2},
		{"not found", problem(404, "not-found"), 3},
		{"no campaign", kit.NoCampaign, 3},
		{"no token", problem(401, "unauthorised"), 4},
		{"wrong role", problem(403, "forbidden"), 4},
		{"conflict", problem(409, "conflict"), 5},
		{"stale", problem(412, "stale"), 5},
		{"no condition", problem(428, "unconditional"), 5},
		{"malformed", problem(400, "malformed"), 6},
		{"impossible", problem(422, "impossible"), 6},
		{"key reused", problem(422, "key-reused"), 6},
		{"refused here", &kit.Input{Err: errors.New("no number")}, 6},
		{"busy", problem(429, "too-many-requests"), 7},
		{"draining", problem(503, "draining"), 7},
		{"nobody there", &conn.Unreachable{Err: io.EOF}, 7},
		{"in part", &kit.Partial{Done: 1, Refused: 1}, 8},
		{"interrupted", context.Canceled, 130},
		{"a type from a later service goes by its status", problem(409, "brand-new"), 5},
		{"and so does a 4xx", problem(418, "brand-new"), 6},
		{"and a 5xx", problem(599, "brand-new"), 1},
	} {
		for wrapped, err := range map[string]error{"bare": c.err, "explained": kit.Failure{What: "it failed"}.Explain(c.err)} {
			if got := ExitCode(err); got != c.code {
				t.Errorf("%s, %s: exit code %d, want %d", c.name, wrapped, got, c.code)
			}
		}
	}
}

func TestHelpTopicListsEveryCode(t *testing.T) {
	text := exitCodeText()
	for _, code := range []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 130} {
		if !regexp.MustCompile(fmt.Sprintf(`(?m)^ +%d  \S`, code)).MatchString(text) {
			t.Errorf("exit code %d is not explained:\n%s", code, text)
		}
	}
}

func TestReport(t *testing.T) {
	id, detail := "req-7", "the service failed"
	field := func(pointer, detail string) *[]oapi.FieldProblem {
		return &[]oapi.FieldProblem{{Pointer: pointer, Detail: detail}}
	}
	for _, c := range []struct {
		name string
		err  error
		want string
	}{
		{"nothing", nil, ""},
		{"plain", errors.New("disk full"), "barrelbook: disk full\n"},
		{"interrupted", fmt.Errorf("x: %w", context.Canceled), "Interrupted.\n"},
		{"usage", &kit.UsageError{Err: errors.New("barrelbook roll show needs NUMBER"), Help: "barrelbook roll show"},
			"barrelbook: barrelbook roll show needs NUMBER\nHelp: barrelbook roll show --help\n"},
		{"one reason", kit.Failure{What: "set S1 was not broken", Next: []string{"barrelbook set show S1"}}.Explain(problem(409, "it is mounted")),
			"barrelbook: set S1 was not broken: it is mounted\nNext: barrelbook set show S1\n"},
		{"a flag", kit.Failure{What: "the regrind of R1 was not recorded", Flag: map[string]string{"found_mm": "--found"}, Next: []string{"barrelbook roll book R1"}}.Explain(
			&conn.Problem{Problem: oapi.Problem{Type: "/problems/impossible", Status: 422, Errors: field("#/found_mm", "740.000 mm is above the last ground diameter 738.900 mm; measure again")}}),
			"barrelbook: the regrind of R1 was not recorded:\n  --found: 740.000 mm is above the last ground diameter 738.900 mm; measure again\nNext: barrelbook roll book R1\n"},
		{"a better way on in the answer", kit.Failure{Next: []string{"barrelbook roll book R9 --all"}}.Explain(withNext(problem(404, "there is no roll R9"), "listRolls", "listRolls")),
			"barrelbook: there is no roll R9\nNext: barrelbook roll list\n"},
		{"a way on that no command knows", kit.Failure{Next: []string{"barrelbook roll list"}}.Explain(withNext(problem(404, "there is no roll R9"), "unheardOf")),
			"barrelbook: there is no roll R9\nNext: barrelbook roll list\n"},
		{"no token", problem(401, "unauthorised"), "barrelbook: unauthorised\nNext: give a valid token in BARRELBOOK_TOKEN or with --token-file FILE\n"},
		{"our bug", &conn.Problem{Problem: oapi.Problem{Type: "/problems/internal", Status: 500, Detail: &detail, RequestId: &id}}, "barrelbook: the service failed\nRequest id: req-7\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := kittest.New(t, nil, "")
			report(w.Factory, c.err)
			if w.Err.String() != c.want || w.Out.Len() > 0 {
				t.Errorf("got %q, data %q; want %q", w.Err, w.Out, c.want)
			}
		})
	}
}

// withNext adds ways on to a problem.
func withNext(err error, operations ...string) error {
	p := err.(*conn.Problem)
	var steps []oapi.NextStep
	for _, id := range operations {
		steps = append(steps, oapi.NextStep{Operation: &id})
	}
	p.Next = &steps
	return p
}

func TestReportOfNobodyThereNamesTheAddress(t *testing.T) {
	w := kittest.New(t, nil, "")
	w.Given = map[string]string{}
	w.Env = func(key string) string {
		return map[string]string{"BARRELBOOK_SERVER": "http://rollshop:8080"}[key]
	}
	report(w.Factory, &conn.Unreachable{Err: errors.New("connection refused")})
	kittest.Contains(t, w.Err.String(), "connection refused", "http://rollshop:8080", "BARRELBOOK_SERVER")
}

func walk(cmd *cobra.Command, visit func(*cobra.Command)) {
	visit(cmd)
	for _, c := range cmd.Commands() {
		walk(c, visit)
	}
}

// Every example must be a command line that exists, with flags that exist.
func TestExamplesParse(t *testing.T) {
	var lines []string
	walk(NewRoot(kittest.New(t, nil, "").Factory), func(c *cobra.Command) {
		text := strings.ReplaceAll(c.Long+"\n"+c.Example, "\\\n", " ")
		for line := range strings.Lines(text) {
			if i := strings.Index(line, "barrelbook "); strings.HasPrefix(line, "  ") && i >= 0 && i < 3 || strings.Contains(line, "| barrelbook ") {
				lines = append(lines, strings.TrimSpace(line[max(i, strings.Index(line, "| barrelbook ")+2):]))
			}
		}
	})
	if len(lines) < 30 {
		t.Fatalf("only %d examples were found", len(lines))
	}
	for _, line := range lines {
		line, _, _ = strings.Cut(line, " > ")
		line, _, _ = strings.Cut(line, " < ")
		parses(t, line)
	}
}

// parses wants a command line that exists, with flags that exist.
func parses(t *testing.T, line string) {
	t.Helper()
	words := kittest.Split(line)[1:]
	root := NewRoot(kittest.New(t, nil, "").Factory)
	cmd, rest, err := root.Find(words)
	if err != nil || cmd == root && len(words) > 0 {
		t.Errorf("%q: there is no such command (%v)", line, err)
		return
	}
	if err := cmd.ParseFlags(rest); err != nil {
		t.Errorf("%q: %v", line, err)
		return
	}
	if err := cmd.ValidateArgs(cmd.Flags().Args()); err != nil {
		t.Errorf("%q: %v", line, err)
	}
}

// sameCommand are the steps that are the same request with more in it.
var sameCommand = map[string]string{
	next.Confirm().String():               "the same command with --confirm REASON",
	next.Confirmed("wear,stock").String(): "the same command with --confirm wear,stock",
	next.EmptyStand().String():            "the same command with --empty",
}

// TestEveryStepHasACommand: whatever the service names as the way on can be
// typed here.
func TestEveryStepHasACommand(t *testing.T) {
	seen := map[string]string{}
	for _, step := range next.Every() {
		w := oapi.NextStep{Operation: &step.Operation, Arguments: &step.Arguments}
		line := kit.Command(w)
		if step.Operation == "" {
			if want := sameCommand[step.String()]; line != want || want == "" {
				t.Errorf("%s is shown as %q, want %q", step, line, want)
			}
			continue
		}
		if line == "" || strings.ContainsAny(line, "{}") {
			t.Errorf("%s has no command: %q", step, line)
			continue
		}
		parses(t, line)
		for _, value := range step.Arguments {
			if len(strings.Fields(value)) == 1 && value != "true" && !strings.Contains(line, value) {
				t.Errorf("%s is shown as %q, without %s", step, line, value)
			}
		}
		if other := seen[line]; other != "" {
			t.Errorf("%s and %s are both shown as %q", other, step, line)
		}
		seen[line] = step.String()
	}
	if line := kit.Command(oapi.NextStep{Operation: new("getRoll"), Arguments: &map[string]string{"roll": "$(reboot)"}}); line != "barrelbook roll show ROLL" {
		t.Errorf("an argument that is no name was put into a command: %q", line)
	}
	if line := kit.Command(oapi.NextStep{Operation: new("unheardOf")}); line != "" {
		t.Errorf("an operation of a later service is shown as %q", line)
	}
}

func TestEveryCommandIsDescribed(t *testing.T) {
	safe := regexp.MustCompile(`(?i)\bsafe(ly)?\b`)
	walk(NewRoot(kittest.New(t, nil, "").Factory), func(c *cobra.Command) {
		if c.Name() == "completion" || c.Parent() != nil && c.Parent().Name() == "completion" || c.Name() == "help" {
			return // cobra's own
		}
		if c.Short == "" || strings.HasSuffix(c.Short, ".") {
			t.Errorf("%s: short description %q", c.CommandPath(), c.Short)
		}
		if word := safe.FindString(c.Short + c.Long + c.Flags().FlagUsages()); word != "" {
			t.Errorf("%s promises what nobody can: %q", c.CommandPath(), word)
		}
	})
}

func TestRunEndsWithItsCodes(t *testing.T) {
	h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(http.StatusNotFound)
		io.WriteString(w, `{"type":"/problems/not-found","title":"x","status":404,"detail":"there is no roll R9"}`)
	})
	for _, c := range []struct {
		line      string
		code      int
		out, talk string
	}{
		{"version", 0, "barrelbook 1.2.3 (abc)\n", ""},
		{"version --json", 0, `{"version":"1.2.3","commit":"abc"}` + "\n", ""},
		{"", 0, "The three questions", ""},
		{"roll", 0, "Commands:", ""},
		{"help exit-codes", 0, "130  interrupted", ""},
		{"help regrind record", 0, "--found", ""},
		{"rol", 2, "", `did you mean "roll"`},
		{"roll shw R9", 2, "", `did you mean "show"`},
		{"roll show", 2, "", "Help: barrelbook roll show --help"},
		{"roll show R9 --nope", 2, "", "unknown flag: --nope"},
		{"roll show R9 --units imperial", 2, "", "imperial-short"},
		{"roll show R9", 3, "", "there is no roll R9\nNext: barrelbook roll list"},
		{"roll show R9 --as-of noon", 6, "", "--as-of"},
		{"roll show R9 --server nowhere", 2, "", "is not an address"},
		{"roll show R9 --timeout soon", 2, "", "is not a length of time"},
		{"roll show R9 --server http://127.0.0.1:1 --data x", 2, "", "give one of them"},
		{"completion bash", 0, "bash completion", ""},
	} {
		t.Run(c.line, func(t *testing.T) {
			w := kittest.New(t, h, "")
			data := w.Given[config.Data]
			w.Env = func(key string) string {
				if key == "BARRELBOOK_DATA" {
					return data
				}
				return ""
			}
			if got := Run(t.Context(), w.Factory, kittest.Split(c.line)); got != c.code {
				t.Errorf("exit code %d, want %d; said %s", got, c.code, w.Err)
			}
			kittest.Contains(t, w.Out.String(), c.out)
			kittest.Contains(t, w.Err.String(), c.talk)
			if c.out == "" && w.Out.Len() > 0 {
				t.Errorf("a failure wrote data: %s", w.Out)
			}
		})
	}
}

// A fresh tree each time: nothing of one run may reach the next.
func TestNothingIsLeftBetweenRuns(t *testing.T) {
	w := kittest.New(t, nil, "")
	Run(t.Context(), w.Factory, []string{"version", "--json", "-q"})
	again := kittest.New(t, nil, "")
	Run(t.Context(), again.Factory, []string{"version"})
	if again.Out.String() != "barrelbook 1.2.3 (abc)\n" {
		t.Errorf("the second run printed %q", again.Out)
	}
}

func TestClosingFailureIsTold(t *testing.T) {
	w := kittest.New(t, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, `{"items":[]}`) }), "")
	data := w.Given[config.Data]
	w.Env = func(key string) string { return map[string]string{"BARRELBOOK_DATA": data}[key] }
	open := w.Open
	w.Open = func(ctx context.Context, path string, volatile bool) (kit.Service, error) {
		s, err := open(ctx, path, volatile)
		s.Close = func() error { return errors.New("disk full") }
		return s, err
	}
	if code := Run(t.Context(), w.Factory, []string{"mill", "list"}); code != 1 || !strings.Contains(w.Err.String(), "disk full") {
		t.Errorf("exit code %d, said %s", code, w.Err)
	}
}

// TestEveryCommandHasItsManualPage: the pages are made out of the commands.
func TestEveryCommandHasItsManualPage(t *testing.T) {
	w := kittest.New(t, nil, "")
	dir := t.TempDir()
	if code := Run(t.Context(), w.Factory, []string{"man", dir}); code != 0 {
		t.Fatalf("exit code %d: %s", code, w.Err)
	}
	walk(NewRoot(kittest.New(t, nil, "").Factory), func(c *cobra.Command) {
		if !c.IsAvailableCommand() || c.IsAdditionalHelpTopicCommand() {
			return
		}
		page, err := os.ReadFile(filepath.Join(dir, strings.ReplaceAll(c.CommandPath(), " ", "-")+".1"))
		if err != nil {
			t.Errorf("%s: %v", c.CommandPath(), err)
			return
		}
		c.NonInheritedFlags().VisitAll(func(flag *pflag.Flag) {
			if !flag.Hidden && !strings.Contains(string(page), `\-\-`+flag.Name) && !strings.Contains(string(page), "--"+flag.Name) {
				t.Errorf("the page of %s does not tell of --%s", c.CommandPath(), flag.Name)
			}
		})
	})
}

// TestWatch: what is shown is shown again until it is interrupted; what records is
// refused.
func TestWatch(t *testing.T) {
	asked := 0
	ctx, cancel := context.WithCancel(t.Context())
	w := kittest.New(t, http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		if asked++; asked == 2 {
			defer cancel()
		}
		io.WriteString(w, `{"items":[{"name":"HSM","kind":"hot_strip"}]}`)
	}), "")
	data := w.Given[config.Data]
	w.Env = func(key string) string { return map[string]string{"BARRELBOOK_DATA": data}[key] }
	if code := Run(ctx, w.Factory, kittest.Split("mill list --watch 1ms")); asked != 2 || strings.Count(w.Out.String(), "HSM") < 1 {
		t.Errorf("exit code %d, asked %d times: %s", code, asked, w.Out)
	}
	w = kittest.New(t, nil, "")
	if code := Run(t.Context(), w.Factory, kittest.Split("mill add HSM --kind hot-strip --watch 1s")); code != 2 {
		t.Errorf("a recording was watched: exit code %d, %s", code, w.Err)
	}
}
