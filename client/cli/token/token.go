// Package token holds the commands on access tokens of a daemon.
package token

import (
	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("token", "Make, list, rotate and revoke the tokens of a daemon", NewCmdCreate(f, nil), NewCmdList(f, nil), NewCmdRotate(f, nil), NewCmdRevoke(f, nil))
}
