package practice

import (
	"context"
	"encoding/json"
	"sort"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
)

// SettingsOptions has nothing to choose.
type SettingsOptions struct{ Factory *kit.Factory }

// NewCmdSettings lists the settings that a practice may give.
func NewCmdSettings(f *kit.Factory, runF func(context.Context, *SettingsOptions) error) *cobra.Command {
	o := &SettingsOptions{Factory: f}
	return &cobra.Command{
		Use:   "settings",
		Short: "List the settings a practice may give, their range and meaning",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return settings(cmd.Context(), o)
		},
	}
}

// contract is the little of the service's own contract that is shown here.
type contract struct {
	Components struct {
		Schemas struct {
			PracticeValues struct {
				Properties map[string]struct {
					Description string      `json:"description"`
					Minimum     json.Number `json:"minimum"`
					Maximum     json.Number `json:"maximum"`
				} `json:"properties"`
			} `json:"PracticeValues"`
		} `json:"schemas"`
	} `json:"components"`
}

// settings asks the service for its contract, so that what is listed is what
// that service takes.
func settings(ctx context.Context, o *SettingsOptions) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[contract](c.Get(ctx, "/openapi.json"))
	if err != nil {
		return err
	}
	properties := a.Value.Components.Schemas.PracticeValues.Properties
	if o.Factory.JSON {
		raw, err := json.Marshal(properties)
		if err != nil {
			return err
		}
		return kit.Raw(o.Factory, raw)
	}
	names := make([]string, 0, len(properties))
	for name := range properties {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		p := properties[name]
		o.Factory.Term.Print("%s, from %s to %s", name, p.Minimum, p.Maximum)
		o.Factory.Term.Print("    %s", p.Description)
	}
	return nil
}
