// Package campaign holds programmes ahead of a mill, and the third of the
// three questions: can the set finish the campaign.
package campaign

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("campaign", "Load programmes, check whether the sets can finish them",
		NewCmdCheck(f, nil), NewCmdLoad(f, nil), NewCmdList(f, nil), NewCmdShow(f, nil))
}
