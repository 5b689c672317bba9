package kit

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/render"
)

// Noun is a command that only gathers verbs.
func Noun(use, short string, verbs ...*cobra.Command) *cobra.Command {
	cmd := &cobra.Command{Use: use, Short: short, Args: cobra.ArbitraryArgs, RunE: HelpOrUnknown}
	cmd.AddCommand(verbs...)
	return cmd
}

// HelpOrUnknown is what a command that only groups others does: help when
// nothing more was typed, and a refusal of a verb that does not exist.
func HelpOrUnknown(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		cmd.SetOut(cmd.Root().OutOrStdout())
		return cmd.Help()
	}
	var names []string
	for _, c := range cmd.Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name())
		}
	}
	return Usagef("there is no command %q under %q%s", args[0], cmd.CommandPath(), DidYouMean(args[0], names))
}

// Args wants exactly the arguments named; a name in brackets may be left out.
func Args(names ...string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		for i, name := range names {
			if i >= len(args) && !strings.HasPrefix(name, "[") {
				return Usagef("%s needs %s", cmd.CommandPath(), name)
			}
		}
		if len(args) > len(names) {
			return Usagef("%s: unexpected argument %q", cmd.CommandPath(), args[len(names)])
		}
		return nil
	}
}

// Require names the flags a command cannot do without; all that are missing
// are said at once.
func Require(cmd *cobra.Command, names ...string) {
	for _, name := range names {
		if cmd.Flags().Lookup(name) == nil {
			panic("kit: no flag " + name)
		}
	}
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error {
		var missing []string
		for _, name := range names {
			if !cmd.Flags().Changed(name) {
				missing = append(missing, "--"+name)
			}
		}
		if len(missing) > 0 {
			return Usagef("%s needs %s", cmd.CommandPath(), render.Join(missing))
		}
		return nil
	}
}

// Example lines up the examples of a command under its help.
func Example(lines ...string) string {
	return "  " + strings.Join(lines, "\n  ")
}

// Path makes a command line to be typed next.
func Path(format string, args ...any) string { return "barrelbook " + fmt.Sprintf(format, args...) }
