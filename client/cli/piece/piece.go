// Package piece holds the commands on rolled pieces: coils, slabs, blooms and
// bars, which load the rolls that were mounted when they were rolled.
package piece

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("piece", "Import rolled pieces, list them", NewCmdImport(f, nil), NewCmdList(f, nil))
}
