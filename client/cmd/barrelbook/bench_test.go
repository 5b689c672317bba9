package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// BenchmarkShell runs the real program from start to exit. "roll show" opens
// the data file in its process, asks and prints; "version" opens nothing and is
// what starting a process costs.
func BenchmarkShell(b *testing.B) {
	dir := b.TempDir()
	program := filepath.Join(dir, "barrelbook")
	run := func(name string, args ...string) {
		b.Helper()
		cmd := exec.Command(name, args...)
		cmd.Env = append(os.Environ(), "HOME="+dir, "BARRELBOOK_DATA="+filepath.Join(dir, "books.db"), "BARRELBOOK_SERVER=")
		if out, err := cmd.CombinedOutput(); err != nil {
			b.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, out)
		}
	}
	build := exec.Command("go", "build", "-o", program, ".")
	if out, err := build.CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	run(program, "demo", "--mill", "temper", "--keep", filepath.Join(dir, "books.db"))
	for _, args := range [][]string{{"roll", "show", "MB-103"}, {"roll", "show", "MB-103", "--json"}, {"version"}} {
		name := strings.Join(args, " ")
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				run(program, args...)
			}
		})
	}
}
