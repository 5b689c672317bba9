// Package shift holds the commands that a shift begins and ends with.
package shift

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("shift", "Hand over: what was done, what is held, owed and next", NewCmdHandover(f, nil))
}
