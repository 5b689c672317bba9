package cli

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barrelbook/client/render"
	"barrelbook/client/term"
)

// help shows a command: what it is for, how it is typed, what is under it, its
// flags, and examples, within the width of the screen.
func help(t *term.Streams, cmd *cobra.Command) {
	text := cmd.Long
	if text == "" {
		text = cmd.Short + "."
	}
	t.Print("%s", text)
	if len(cmd.Aliases) == 0 && !cmd.Runnable() && !cmd.HasAvailableSubCommands() {
		return // a topic
	}
	use := cmd.UseLine()
	if cmd.HasAvailableSubCommands() {
		use = cmd.CommandPath() + " COMMAND"
	}
	t.Print("\nUsage:\n  %s", use)
	others := "Commands:"
	if !cmd.HasParent() {
		others = "Topics, with barrelbook help:"
	}
	for _, group := range append(cmd.Groups(), &cobra.Group{Title: others}) {
		commands(t, cmd, group)
	}
	flagsOf(t, "Flags:", cmd.LocalNonPersistentFlags())
	if cmd.HasParent() {
		t.Print("\nFlags of every command: %s --help", cmd.Root().Name())
	} else {
		flagsOf(t, "Flags of every command:", cmd.PersistentFlags())
		t.Print("\nMore of a command: barrelbook COMMAND --help")
	}
	if cmd.HasExample() {
		t.Print("\nExamples:")
		for line := range strings.SplitSeq(cmd.Example, "\n") {
			t.Block(strings.Join(term.Wrap(line, t.Width()-2, 6), " \\\n") + "\n")
		}
	}
}

func commands(t *term.Streams, cmd *cobra.Command, group *cobra.Group) {
	facts := render.Facts{}
	for _, c := range cmd.Commands() {
		if c.GroupID == group.ID && (c.IsAvailableCommand() || c.IsAdditionalHelpTopicCommand()) {
			facts.Add("  "+c.Name(), c.Short)
		}
	}
	if len(facts) > 0 {
		t.Print("\n%s", group.Title)
		facts.Write(t)
	}
}

// plainDefaults are the values of flags that say nothing.
var plainDefaults = []string{"", "0", "false", "[]"}

func flagsOf(t *term.Streams, title string, flags *pflag.FlagSet) {
	facts := render.Facts{}
	flags.VisitAll(func(flag *pflag.Flag) {
		if flag.Hidden || flag.Name == "help" {
			return
		}
		value, usage := pflag.UnquoteUsage(flag)
		name := "      --" + flag.Name
		if flag.Shorthand != "" {
			name = "  -" + flag.Shorthand + ", --" + flag.Name
		}
		if !slices.Contains(plainDefaults, flag.DefValue) {
			usage += " (default " + flag.DefValue + ")"
		}
		facts.Add(strings.TrimRight(name+" "+value, " "), usage)
	})
	if len(facts) > 0 {
		t.Print("\n%s", title)
		facts.Write(t)
	}
}
