// Command barrelbookd serves the books of a roll shop over HTTP.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"
)

// version is set by the linker in a release.
var version = "0.1.0-dev"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	// After the first signal a second one ends the process at once.
	context.AfterFunc(ctx, stop)
	if err := newRoot().ExecuteContext(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "barrelbookd:", err)
		os.Exit(1)
	}
}
