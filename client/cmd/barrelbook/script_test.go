package main

import (
	"context"
	"errors"
	"log"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"barrelbook/api/embedded"
)

// The scripts run the real program, each with a home and books of its own.

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"barrelbook": main, "full": full})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../../testdata/scripts",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("HOME", e.WorkDir)
			e.Setenv("BARRELBOOK_DATA", filepath.Join(e.WorkDir, "books.db"))
			e.Setenv("TZ", "UTC")
			e.Setenv("COLUMNS", "500") // a sentence to look for is one line
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"code": code, "serve": serve},
	})
}

// TestWalks runs each walk through the shop twice: on a data file in the program's
// own process, and against a service over the network.
func TestWalks(t *testing.T) {
	for _, how := range []string{"in process", "over the network"} {
		t.Run(how, func(t *testing.T) {
			testscript.Run(t, testscript.Params{
				Dir:                 "../../../testdata/scripts/walks",
				RequireExplicitExec: true,
				RequireUniqueNames:  true,
				Setup: func(e *testscript.Env) error {
					e.Setenv("HOME", e.WorkDir)
					e.Setenv("TZ", "UTC")
					e.Setenv("COLUMNS", "500")
					data := filepath.Join(e.WorkDir, "books.db")
					if how == "in process" {
						e.Setenv("BARRELBOOK_DATA", data)
						return nil
					}
					service, err := embedded.Open(context.Background(), embedded.Options{Path: data, Now: time.Now})
					if err != nil {
						return err
					}
					server := httptest.NewServer(service.Handler())
					e.Defer(func() {
						server.Close()
						if err := service.Close(); err != nil {
							t.Error(err)
						}
					})
					e.Setenv("BARRELBOOK_SERVER", server.URL)
					return nil
				},
				Cmds: map[string]func(*testscript.TestScript, bool, []string){"code": code},
			})
		})
	}
}

// code runs a command and wants the exit code: code 6 barrelbook …
func code(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: code N command ...")
	}
	err := ts.Exec(args[1], args[2:]...)
	got := "0"
	if err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = strconv.Itoa(exit.ExitCode())
	}
	if got != args[0] {
		ts.Fatalf("exit code %s, want %s", got, args[0])
	}
}

// full runs a program whose output has no room: code 1 full barrelbook …
func full() {
	out, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		log.Fatal(err)
	}
	cmd := exec.Command(os.Args[1], os.Args[2:]...)
	cmd.Stdout, cmd.Stderr = out, os.Stderr
	err = cmd.Run()
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		os.Exit(exit.ExitCode())
	}
	if err != nil {
		log.Fatal(err)
	}
}

// serve puts the books of the script behind a network address that asks for
// tokens, and points the program there.
func serve(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 0 {
		ts.Fatalf("usage: serve")
	}
	service, err := embedded.Open(context.Background(), embedded.Options{Path: ts.Getenv("BARRELBOOK_DATA"), Tokens: true, Now: time.Now})
	ts.Check(err)
	server := httptest.NewServer(service.Handler())
	ts.Defer(func() { server.Close(); ts.Check(service.Close()) })
	ts.Setenv("BARRELBOOK_DATA", "")
	ts.Setenv("BARRELBOOK_SERVER", server.URL)
}
