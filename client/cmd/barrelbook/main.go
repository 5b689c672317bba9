// Command barrelbook is the command-line client. Without a server it opens the
// whole service in this process; this is the only package of the client that
// knows how.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"
	_ "time/tzdata" // for machines that have no table of zones

	"barrelbook/api/embedded"
	"barrelbook/client/cli"
	"barrelbook/client/cli/kit"
	"barrelbook/client/term"
)

// patience is how long what was interrupted may take to end and to say what was
// kept. The books hold whole entries only, however it ends.
const patience = 800 * time.Millisecond

func main() {
	// A command ends before its garbage is worth collecting; one that loads much
	// still collects, at five times what it holds.
	debug.SetGCPercent(400)
	os.Exit(run())
}

func run() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	go func() { // a second interrupt ends it at once, and so does whatever cannot be stopped
		<-ctx.Done()
		stop()
		time.Sleep(patience)
		fmt.Fprintln(os.Stderr, "Interrupted.")
		os.Exit(cli.Interrupted)
	}()
	home, _ := os.UserHomeDir() // without one, the data file must be named
	return cli.Run(ctx, &kit.Factory{
		Term: term.System(os.Getenv), Build: build(), Now: time.Now, Env: os.Getenv, Home: home, Open: open,
		Files: kit.Files{Backup: backup, Restore: restore, Verify: embedded.VerifySigned},
	}, os.Args[1:])
}

func open(ctx context.Context, path string, volatile bool) (kit.Service, error) {
	s, err := embedded.Open(ctx, embedded.Options{Path: path, Volatile: volatile, Version: version})
	if err != nil {
		return kit.Service{}, err
	}
	return kit.Service{Handler: s.Handler(), Close: s.Close}, nil
}

func backup(ctx context.Context, data, into string) (kit.Holding, error) {
	holds, err := embedded.Backup(ctx, data, into)
	return kit.Holding(holds), dataFileError(err, false)
}

func restore(ctx context.Context, file, data, kept string) (kit.Holding, error) {
	holds, err := embedded.Restore(ctx, file, data, kept)
	return kit.Holding(holds), dataFileError(err, true)
}

// dataFileError puts an error into the client's words. What is unsound is the
// user's input where it was named by the user.
func dataFileError(err error, named bool) error {
	switch {
	case errors.Is(err, embedded.ErrInUse):
		return fmt.Errorf("%w: stop it and try again", kit.ErrInUse)
	case named && errors.Is(err, embedded.ErrUnsound):
		return &kit.Input{Err: err}
	}
	return err
}

// version is the released version. Defaults to "dev" for a build by hand.
var version = "dev"

func build() kit.Build {
	b := kit.Build{Version: version, Commit: "commit unknown"}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			b.Commit = s.Value
		}
		if s.Key == "vcs.modified" && s.Value == "true" {
			b.Commit += ", changed since"
		}
	}
	return b
}
