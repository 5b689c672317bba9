// Package cli is the command-line client: the tree of commands, what they end
// with, and what they say when they fail. Each noun has a folder, each verb a
// file in it.
package cli

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barrelbook/client/cli/audit"
	"barrelbook/client/cli/backup"
	"barrelbook/client/cli/calc"
	"barrelbook/client/cli/campaign"
	"barrelbook/client/cli/change"
	"barrelbook/client/cli/chock"
	"barrelbook/client/cli/claim"
	"barrelbook/client/cli/demo"
	"barrelbook/client/cli/events"
	"barrelbook/client/cli/export"
	"barrelbook/client/cli/grade"
	"barrelbook/client/cli/incident"
	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/man"
	"barrelbook/client/cli/mill"
	"barrelbook/client/cli/order"
	"barrelbook/client/cli/piece"
	"barrelbook/client/cli/practice"
	"barrelbook/client/cli/regrind"
	reports "barrelbook/client/cli/report"
	"barrelbook/client/cli/roll"
	"barrelbook/client/cli/set"
	"barrelbook/client/cli/settings"
	"barrelbook/client/cli/shift"
	"barrelbook/client/cli/stand"
	"barrelbook/client/cli/token"
	"barrelbook/client/cli/version"
	"barrelbook/client/cli/wearrate"
	"barrelbook/client/cli/webhook"
	"barrelbook/client/cli/works"
	"barrelbook/client/config"
)

// Run runs one command line and gives its exit code. Whatever was opened is
// closed again, and an error is told once.
func Run(ctx context.Context, f *kit.Factory, args []string) int {
	f.Term.Interrupted = ctx.Done()
	root := NewRoot(f)
	root.SetArgs(args)
	cmd, err := root.ExecuteContextC(ctx)
	var usage *kit.UsageError
	if errors.As(err, &usage) && usage.Help == "" {
		usage.Help = cmd.CommandPath()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if unwritten := f.Term.Close(); unwritten != nil && (err == nil || errors.Is(err, unwritten)) {
		err = fmt.Errorf("the answer could not be written: %w", unwritten)
	}
	report(f, err)
	return ExitCode(err)
}

// NewRoot makes a fresh tree of commands around a factory.
func NewRoot(f *kit.Factory) *cobra.Command {
	root := &cobra.Command{
		Use:   "barrelbook",
		Short: "The books of a roll shop, and the three answers its people ask for",
		Long: `barrelbook keeps the book of every work and backup roll of a rolling mill, and
answers:

  barrelbook regrind record R1234 --found 738.412 --ground 737.950 --for wear
  barrelbook change plan
  barrelbook campaign check

Without a server it keeps its books in a file of yours. With --server, or
BARRELBOOK_SERVER, the same commands go to a daemon. What it answers holds
within the limits entered; the mill's own practice, local codes and licensed
people decide.`,
		Args:          cobra.ArbitraryArgs,
		RunE:          kit.HelpOrUnknown,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetIn(f.Term.In)
	root.SetOut(f.Term.Out)
	root.SetErr(f.Term.Err)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &kit.UsageError{Err: err} })
	root.SetHelpFunc(func(cmd *cobra.Command, _ []string) { help(f.Term, cmd) })
	root.SetUsageFunc(func(cmd *cobra.Command) error { help(f.Term, cmd); return nil })
	globalFlags(f, root.PersistentFlags())
	root.AddGroup(&cobra.Group{ID: "asked", Title: "The three questions:"}, &cobra.Group{ID: "books", Title: "The books:"},
		&cobra.Group{ID: "works", Title: "The works:"}, &cobra.Group{ID: "more", Title: "More:"})
	grouped(root, "asked", regrind.NewCmd(f), change.NewCmd(f), campaign.NewCmd(f))
	grouped(root, "books", shift.NewCmd(f))
	grouped(root, "books", roll.NewCmd(f), set.NewCmd(f), chock.NewCmd(f), incident.NewCmd(f), piece.NewCmd(f), order.NewCmd(f), claim.NewCmd(f), reports.NewCmd(f))
	grouped(root, "works", works.NewCmd(f), mill.NewCmd(f), stand.NewCmd(f), grade.NewCmd(f), practice.NewCmd(f), wearrate.NewCmd(f))
	grouped(root, "more", calc.NewCmd(f), demo.NewCmd(f), events.NewCmd(f), backup.NewCmdBackup(f, nil), backup.NewCmdRestore(f, nil), backup.NewCmdVerify(f, nil), export.NewCmd(f),
		token.NewCmd(f), webhook.NewCmd(f), audit.NewCmd(f), settings.NewCmd(f), man.NewCmd(f), version.NewCmd(f))
	root.SetCompletionCommandGroupID("more")
	root.SetHelpCommandGroupID("more")
	root.AddCommand(topics()...)
	w := &watching{}
	root.PersistentFlags().DurationVar(&w.every, "watch", 0, "show the answer again every `TIME` (10s, 1m) until Ctrl-C")
	w.wrap(f, root)
	kit.NoFilesFor(root)
	return root
}

func grouped(root *cobra.Command, group string, commands ...*cobra.Command) {
	for _, c := range commands {
		c.GroupID = group
		root.AddCommand(c)
	}
}

// globalFlags are the flags of every command. A setting given as a flag is
// noted as given, so that an empty value still wins over the environment.
func globalFlags(f *kit.Factory, flags *pflag.FlagSet) {
	f.Given = map[string]string{}
	given := func(name, key, usage string) {
		flags.Func(name, usage, func(v string) error { f.Given[key] = v; return nil })
	}
	given("data", config.Data, "keep the books in this `FILE`")
	given("server", config.Server, "ask the daemon at this `URL`")
	given("token-file", config.TokenFile, "read the token from this `FILE`")
	given("units", config.Units, "read bare numbers and answer in these `UNITS`: metric, imperial-short or imperial-long")
	given("time-zone", config.TimeZone, "read and show times in this `ZONE` (Europe/Vienna); that of the machine when left out")
	given("timeout", config.Timeout, "wait no longer than this `TIME` for an answer (30s, 2m)")
	flags.BoolFunc("plain-http", "send the token over plain http to another machine too", func(string) error { f.Given[config.PlainHTTP] = "yes"; return nil })
	flags.StringVar(&f.ConfigFile, "config", "", "read the settings from this `FILE`")
	flags.BoolVar(&f.JSON, "json", false, "print the service's own answer")
	flags.BoolVar(&f.Debug, "debug", false, "log each request")
	flags.BoolVarP(&f.Term.Quiet, "quiet", "q", false, "print only the answer")
	flags.BoolVar(&f.Term.NoInput, "no-input", false, "never ask a question")
	flags.BoolVar(&f.Term.Wide, "wide", f.Term.Wide, "let lines be as long as they come, and leave no column out")
	flags.BoolFunc("no-pager", "show a long answer without a pager", func(string) error { f.Term.NoPager(); return nil })
	flags.BoolFunc("no-color", "no colour, whatever the terminal", func(string) error { f.Term.NoColour(); return nil })
}
