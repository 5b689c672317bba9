// Package settings shows the client's own settings.
package settings

import (
	"context"
	"encoding/json"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/render"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("settings", "Show this client's settings", NewCmdList(f, nil))
}

// ListOptions has nothing to choose.
type ListOptions struct{ Factory *kit.Factory }

// NewCmdList lists the settings and where each comes from.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	return &cobra.Command{
		Use:   "list",
		Short: "List the settings in force and where each comes from",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(o)
		},
	}
}

func list(o *ListOptions) error {
	s, err := o.Factory.Settings()
	if err != nil {
		return err
	}
	if o.Factory.JSON {
		type row struct {
			Key    string `json:"key"`
			Value  string `json:"value"`
			Origin string `json:"origin"`
		}
		out := struct {
			File     string `json:"file"`
			Settings []row  `json:"settings"`
		}{File: s.File}
		for _, r := range s.All() {
			out.Settings = append(out.Settings, row{Key: r.Key, Value: r.Value, Origin: string(r.Origin)})
		}
		raw, err := json.Marshal(out)
		if err != nil {
			return err
		}
		return kit.Raw(o.Factory, raw)
	}
	table := render.Table{Columns: []render.Column{{Head: "setting"}, {Head: "value"}, {Head: "from"}, {Head: "variable"}}}
	for _, r := range s.All() {
		table.Add(r.Key, r.Value, string(r.Origin), r.Env)
	}
	o.Factory.Term.Say("Settings file: %s", s.File)
	return table.Write(o.Factory.Term)
}
