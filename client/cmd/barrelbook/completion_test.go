//go:build unix

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// TestCompletionInBash presses tab in a real bash: what is offered can be chosen.
func TestCompletionInBash(t *testing.T) {
	if _, err := exec.LookPath("bash"); err != nil {
		t.Skip("there is no bash")
	}
	dir := t.TempDir()
	if out, err := program(t, dir, "demo", "--mill", "temper", "--keep", "books.db").CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	ready, err := program(t, dir, "stand", "ready", "TM1").Output()
	if err != nil {
		t.Fatalf("%v %s", err, ready)
	}
	for line, check := range map[string]func([]string) bool{
		"change record TM1 --in ":                 func(got []string) bool { return len(got) > 0 && allIn(got, string(ready)) },
		"change record TM1 --why in":              func(got []string) bool { return slices.Equal(got, []string{"incident"}) },
		"change record ":                          func(got []string) bool { return slices.Equal(got, []string{"TM1"}) },
		"roll hold MB-101 --reason ":              func(got []string) bool { return len(got) == 0 }, // no names of files
		"regrind rec":                             func(got []string) bool { return slices.Equal(got, []string{"record"}) },
		"roll list --stage w":                     func(got []string) bool { return slices.Equal(got, []string{"worn"}) },
		"piece import --data ":                    func(got []string) bool { return slices.Contains(got, "books.db") || len(got) == 0 },
		"roll scrap NOBODY --why spall --reason ": func(got []string) bool { return len(got) == 0 },
	} {
		if got := pressTab(t, dir, line); !check(got) {
			t.Errorf("%q: offered %q", line, got)
		}
	}
}

func allIn(names []string, text string) bool {
	may, _, _ := strings.Cut(text, "may not")
	for _, name := range names {
		if !strings.Contains(may, name) {
			return false
		}
	}
	return true
}

// pressTab gives what bash offers after a line. The one function that the script
// takes from the package bash-completion is written out.
func pressTab(t *testing.T, dir, line string) []string {
	t.Helper()
	bin := filepath.Join(dir, "bin")
	if err := os.MkdirAll(bin, 0o755); err != nil {
		t.Fatal(err)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(self, filepath.Join(bin, "barrelbook")); err != nil && !os.IsExist(err) {
		t.Fatal(err)
	}
	cmd := program(t, dir)
	cmd.Path, _ = exec.LookPath("bash")
	cmd.Args = []string{"bash", "--norc", "-c", `
source <(barrelbook completion bash)
_get_comp_words_by_ref() { cur="${COMP_WORDS[COMP_CWORD]}"; prev="${COMP_WORDS[COMP_CWORD-1]}"; words=("${COMP_WORDS[@]}"); cword=$COMP_CWORD; }
COMP_LINE="barrelbook $1"; COMP_POINT=${#COMP_LINE}; COMP_TYPE=9; COMP_KEY=9
read -ra COMP_WORDS <<< "$COMP_LINE"; [[ $COMP_LINE == *" " ]] && COMP_WORDS+=("")
COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
compopt() { :; }
__start_barrelbook
printf '%s\n' "${COMPREPLY[@]}"`, "bash", line}
	for i, v := range cmd.Env {
		if path, is := strings.CutPrefix(v, "PATH="); is {
			cmd.Env[i] = "PATH=" + bin + ":" + path
		}
	}
	began := time.Now()
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%q: %v %s", line, err, out)
	}
	t.Logf("%q took %v with the start of bash", line, time.Since(began).Round(time.Millisecond))
	var got []string
	for word := range strings.SplitSeq(strings.TrimSpace(string(out)), "\n") {
		if word, _, _ = strings.Cut(strings.TrimSpace(word), " "); word != "" {
			got = append(got, word)
		}
	}
	return got
}
