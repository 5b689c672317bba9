// Package stand holds the commands on stands.
package stand

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("stand", "Show stands and the rolls in them, add and adjust stands",
		NewCmdShow(f, nil), NewCmdReady(f, nil), NewCmdList(f, nil), NewCmdAdd(f, nil), NewCmdAdjust(f, nil))
}
