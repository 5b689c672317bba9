// Package incident holds the commands on mishaps: cobbles, pinches, spalls and
// the like, after which rolls owe tests.
package incident

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("incident", "Record mishaps, list them, undo one", NewCmdRecord(f, nil), NewCmdList(f, nil), NewCmdUndo(f, nil))
}
