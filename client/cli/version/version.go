// Package version says which program this is.
package version

import (
	"encoding/json"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
)

// NewCmd says it. It opens nothing and asks nobody.
func NewCmd(f *kit.Factory) *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which program this is; works show names the service's version",
		Args:  kit.Args(),
		RunE: func(*cobra.Command, []string) error {
			if f.JSON {
				raw, err := json.Marshal(struct {
					Version string `json:"version"`
					Commit  string `json:"commit"`
				}{f.Build.Version, f.Build.Commit})
				if err != nil {
					return err
				}
				return kit.Raw(f, raw)
			}
			f.Term.Print("barrelbook %s (%s)", f.Build.Version, f.Build.Commit)
			return nil
		},
	}
}
