// Package events follows what is recorded.
package events

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("events", "Follow what is recorded", NewCmdFollow(f, nil))
}
