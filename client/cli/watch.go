package cli

import (
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/render"
)

// watching is the flag --watch, which shows an answer again and again.
type watching struct{ every time.Duration }

const clearScreen = "\x1b[H\x1b[2J"

// leastPause keeps a watched view from asking without a pause.
const leastPause = time.Second

// wrap lets every command that only shows something be watched, until it is
// interrupted; the others refuse it.
func (w *watching) wrap(f *kit.Factory, cmd *cobra.Command) {
	for _, c := range cmd.Commands() {
		w.wrap(f, c)
	}
	run := cmd.RunE
	if run == nil || cmd.HasSubCommands() {
		return
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if w.every == 0 {
			return run(cmd, args)
		}
		if !shows(cmd) {
			return kit.Usagef("--watch is for what only shows something, and %s does more", cmd.CommandPath())
		}
		f.Term.NoPager()
		for {
			if f.Term.OutIsTTY() {
				f.Term.Block(clearScreen)
			}
			if err := run(cmd, args); err != nil {
				return err
			}
			f.Term.Say("\nAs of %s; again every %s. Ctrl-C ends it.", render.Time(f.Now()), max(w.every, leastPause))
			select {
			case <-cmd.Context().Done():
				return nil
			case <-time.After(max(w.every, leastPause)):
			}
		}
	}
}

// showing are the verbs of commands that record nothing.
var showing = map[string]bool{"list": true, "show": true, "where": true, "ready": true, "queue": true, "handover": true, "book": true, "mountings": true, "map": true,
	"forecast": true, "check": true, "plan": true, "stock": true, "buying": true, "consumption": true, "populations": true, "scores": true, "advise": true}

func shows(cmd *cobra.Command) bool { return showing[cmd.Name()] && cmd.Flags().Lookup("key") == nil }
