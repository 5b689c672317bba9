// Package man writes the manual pages out of the commands themselves.
package man

import (
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"barrelbook/client/cli/kit"
)

// NewCmd writes manual pages.
func NewCmd(f *kit.Factory) *cobra.Command {
	return &cobra.Command{
		Use:   "man FOLDER",
		Short: "Write the manual pages, one for each command, into a folder",
		Example: kit.Example("barrelbook man ~/.local/share/man/man1",
			"man barrelbook-regrind-record"),
		Args: kit.Args("FOLDER"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return err
			}
			root := cmd.Root()
			root.DisableAutoGenTag = true
			header := &doc.GenManHeader{Title: "BARRELBOOK", Section: "1", Source: "barrelbook " + f.Build.Version, Manual: "barrelbook"}
			now := f.Now()
			header.Date = &now
			if err := doc.GenManTree(root, header, args[0]); err != nil {
				return err
			}
			f.Term.Say("The manual pages are in %s.", args[0])
			return nil
		},
	}
}
