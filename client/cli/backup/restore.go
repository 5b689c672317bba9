package backup

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmdRestore puts a copy back.
func NewCmdRestore(f *kit.Factory, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f}
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Put a backup in the place of the data file, and keep what was there",
		Long: `Put a copy of a backup in the place of the data file. The backup is checked first,
book by book and with its hashes. The data file that was there is not thrown
away: it stays beside, with the moment in its name. While another program has
the data file open nothing is changed.`,
		Example: kit.Example("barrelbook restore books-2026-03-04.db", "barrelbook restore books.db --data another.db --yes"),
		Args:    kit.Args("FILE"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.File = args[0]
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return restore(cmd.Context(), o)
		},
	}
	cmd.Flags().BoolVar(&o.Yes, "yes", false, "replace a data file that is there without asking")
	return cmd
}

func restore(ctx context.Context, o *Options) error {
	f := o.Factory
	data, err := f.DataFile()
	if err != nil {
		return err
	}
	if !kit.DataExists(o.File) {
		return &kit.Input{Err: fmt.Errorf("there is no file %s", o.File)}
	}
	kept := ""
	if kit.DataExists(data) {
		kept = data + f.Now().UTC().Format(".replaced-20060102T150405Z")
		if err := kit.Confirmed(f, o.Yes, data+" is there already. Put "+o.File+" in its place and keep it as "+kept+"?"); err != nil {
			return err
		}
	}
	holds, err := f.Files.Restore(ctx, o.File, data, kept)
	if err != nil {
		return kit.Failure{What: o.File + " was not restored and " + data + " is as it was"}.Explain(err)
	}
	said := fmt.Sprintf("%s is checked and restored to %s", o.File, data)
	if kept != "" {
		said += fmt.Sprintf("; what was there is %s", kept)
	}
	return printed(f, said, result{File: data, Kept: kept}, holds)
}

// result is what a program is told.
type result struct {
	File    string `json:"file"`
	Kept    string `json:"kept,omitempty"`
	Rolls   int64  `json:"roll_count"`
	Entries int64  `json:"entry_count"`
	Pieces  int64  `json:"piece_count"`
}

func printed(f *kit.Factory, said string, r result, holds kit.Holding) error {
	r.Rolls, r.Entries, r.Pieces = holds.Rolls, holds.Entries, holds.Pieces
	if f.JSON {
		raw, err := json.Marshal(r)
		if err != nil {
			return err
		}
		return kit.Raw(f, raw)
	}
	f.Term.Print("%s: %d rolls, %d entries, %d pieces.", said, r.Rolls, r.Entries, r.Pieces)
	return nil
}
