//go:build unix

package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// program is the real program on books of its own (TestMain runs it by its name).
func program(t *testing.T, dir string, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return &exec.Cmd{Path: self, Args: append([]string{"barrelbook"}, args...), Dir: dir,
		Env: []string{"HOME=" + dir, "TMPDIR=" + dir, "TZ=UTC", "COLUMNS=500", "PATH=" + os.Getenv("PATH"), "BARRELBOOK_DATA=" + filepath.Join(dir, "books.db")}}
}

// TestInterrupted: whatever goes on ends when it is asked to, with 130, says what
// was kept and leaves nothing lying about.
func TestInterrupted(t *testing.T) {
	dir := t.TempDir()
	for _, line := range []string{"mill add HSM --kind hot-strip", "stand add F1 --mill HSM --order 1 --arrangement two-high"} {
		if out, err := program(t, dir, strings.Fields(line)...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v %s", line, err, out)
		}
	}
	t.Run("an import", func(t *testing.T) {
		kept := interrupt(t, program(t, dir, "piece", "import", "-"), "line 1:", func(in io.Writer) {
			fmt.Fprintln(in, `{"a bad line"}`)
			for n := range 3000 {
				fmt.Fprintf(in, `{"source":"level2","id":"P%d","mill":"HSM","rolled_at":"2026-03-04T14:05:00Z","mass_t":18.2,"width_mm":1250,"entry_thickness_mm":32,"passes":[{"stand":"F1","exit_thickness_mm":18.4,"force_kn":8000}]}`+"\n", n)
			}
		})
		if !strings.Contains(kept, "Interrupted: ") || !strings.Contains(kept, "are kept; sending the whole file again is harmless") || strings.Count(kept, "\n") > 2 {
			t.Errorf("said %q", kept)
		}
	})
	t.Run("a demo", func(t *testing.T) {
		if said := interrupt(t, program(t, dir, "demo", "--mill", "temper"), "Loading", func(io.Writer) {}); said != "Interrupted: nothing is kept of the demo.\n" {
			t.Errorf("said %q", said)
		}
		if left, _ := filepath.Glob(filepath.Join(dir, "barrelbook-*")); len(left) > 0 {
			t.Errorf("left %v", left)
		}
	})
}

// interrupt starts a program, feeds it without ending its input, waits for what it
// says first, interrupts it, and gives what it says after that.
func interrupt(t *testing.T, cmd *exec.Cmd, first string, feed func(io.Writer)) string {
	t.Helper()
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	talk, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go feed(in)
	lines := bufio.NewReader(talk)
	if line, err := lines.ReadString('\n'); err != nil || !strings.Contains(line, first) {
		t.Errorf("it began with %q, %v; want %q", line, err, first)
	}
	asked := time.Now()
	if err := cmd.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	rest, _ := io.ReadAll(lines)
	cmd.Wait()
	took := time.Since(asked)
	t.Logf("ended %v after the signal", took)
	// It is to take less than a second; a busy machine is given more.
	if code := cmd.ProcessState.ExitCode(); code != 130 || took > 5*time.Second {
		t.Errorf("exit code %d after %v, said %s", code, took, rest)
	}
	return string(rest)
}
