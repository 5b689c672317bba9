// Package backup copies the data file and puts a copy back.
package backup

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// Options choose the copy.
type Options struct {
	Factory *kit.Factory
	File    string
	Yes     bool
}

// NewCmdBackup copies the data file.
func NewCmdBackup(f *kit.Factory, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f}
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy the data file, also while it is in use, and check the copy",
		Long: `Copy the data file as of one moment, also while others record in it. The copy is
one file that only you can read. It is read through, book by book and with its
hashes, before it gets the name FILE.

The books of a daemon are in a database of its own, which has its own tools: on
PostgreSQL pg_dump.`,
		Example: kit.Example("barrelbook backup books-2026-03-04.db", "barrelbook backup books.db --yes"),
		Args:    kit.Args("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.File = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return run(cmd.Context(), o)
		},
	}
	cmd.Flags().BoolVar(&o.Yes, "yes", false, "write over FILE without asking")
	return cmd
}

func run(ctx context.Context, o *Options) error {
	f := o.Factory
	data, err := f.DataFile()
	if err != nil {
		return err
	}
	if !kit.DataExists(data) {
		return &kit.Missing{Err: fmt.Errorf("there is no data file %s, and so nothing to copy", data)}
	}
	if kit.DataExists(o.File) {
		if err := kit.Confirmed(f, o.Yes, o.File+" is there already. Write over it?"); err != nil {
			return err
		}
	}
	holds, err := f.Files.Backup(ctx, data, o.File)
	if err != nil {
		return kit.Failure{What: "no backup of " + data + " was made"}.Explain(err)
	}
	return printed(f, fmt.Sprintf("%s is copied to %s and the copy checked", data, o.File), result{File: o.File}, holds)
}
