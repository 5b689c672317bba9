// Package webhook holds the commands on those who are sent events.
package webhook

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("webhook", "Have a daemon send what is recorded to other programs", NewCmdCreate(f, nil), NewCmdList(f, nil), NewCmdResume(f, nil), NewCmdDelete(f, nil))
}
