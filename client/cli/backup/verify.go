package backup

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// VerifyOptions choose what is verified.
type VerifyOptions struct {
	Factory *kit.Factory
	File    string // empty for the data file of the settings
	Signed  string // the hash of a sign-off, noted outside
}

// NewCmdVerify reads a data file through.
func NewCmdVerify(f *kit.Factory, runF func(context.Context, *VerifyOptions) error) *cobra.Command {
	o := &VerifyOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "verify [FILE]",
		Short: "Read everything in the data file and check it; change nothing",
		Long: `Read everything in the data file, or in FILE, a backup for instance, and check it:
its pages, every row against the seals that were kept when it was written, every book
against its hashes and what replaying it gives, and what rolls bore against their pieces. What was changed, added or taken away
past barrelbook is named with its table and rows. The sign-offs of the works (works
sign-off) are replayed: with the hash of one that you noted, an older copy of the books
shows too. Nothing is made or changed; the file may be in use, or lie on a medium that
cannot be written.`,
		Example: kit.Example("barrelbook verify", "barrelbook verify books-2026-03-04.db", "barrelbook verify --signed 5f0c…"),
		Args:    cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				o.File = args[0]
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return verify(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Signed, "signed", "", "the `HASH` of a sign-off, which must be among those of the books")
	return cmd
}

func verify(ctx context.Context, o *VerifyOptions) error {
	f, data := o.Factory, o.File
	if data == "" {
		var err error
		if data, err = f.Database(); err != nil {
			return err
		}
	}
	if !kit.DataExists(data) {
		return &kit.Missing{Err: fmt.Errorf("there is no data file %s", data)}
	}
	if err := f.Files.Verify(ctx, data, o.Signed); err != nil {
		return kit.Failure{What: "it is not as barrelbook wrote it"}.Explain(err)
	}
	if f.JSON {
		raw, err := json.Marshal(map[string]any{"sound": true})
		if err != nil {
			return err
		}
		return kit.Raw(f, raw)
	}
	f.Term.Print("Everything is as barrelbook wrote it.")
	return nil
}
