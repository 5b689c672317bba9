// Package wearrate holds the commands on learned wear rates.
package wearrate

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("wear-rate", "Wear rates as the regrinds teach them", NewCmdList(f, nil))
}
