// Package change holds roll changes: recording, correcting and undoing one, and the second of the
// three questions, the plan of the next ones.
package change

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("change", "Plan roll changes, record them, correct them, undo them, list them",
		NewCmdPlan(f, nil), NewCmdRecord(f, nil), NewCmdCorrect(f, nil), NewCmdUndo(f, nil), NewCmdList(f, nil))
}
