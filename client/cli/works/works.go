// Package works shows what the books hold.
package works

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("works", "Show what the books hold, who you are to them, and sign them off", NewCmdShow(f, nil), NewCmdSignOff(f, nil), NewCmdSignOffs(f, nil))
}

// ShowOptions has nothing to choose.
type ShowOptions struct{ Factory *kit.Factory }

// NewCmdShow shows the works.
func NewCmdShow(f *kit.Factory, runF func(context.Context, *ShowOptions) error) *cobra.Command {
	o := &ShowOptions{Factory: f}
	return &cobra.Command{
		Use:   "show",
		Short: "Show what the books hold, where they are, and who you are to them",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return show(cmd.Context(), o)
		},
	}
}

func show(ctx context.Context, o *ShowOptions) error {
	s, err := o.Factory.Settings()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	a, err := conn.Expect[oapi.Works](c.API.GetWorks(ctx))
	if err != nil {
		return err
	}
	return kit.Show(o.Factory, a, func(w oapi.Works) error {
		place, err := s.Place()
		if err != nil {
			return err
		}
		facts := render.Facts{}
		facts.Add("books at", place.Server+place.Data+" (from the "+string(place.Origin)+")")
		facts.Add("database", w.Database)
		facts.Add("service", w.Version)
		facts.Add("you are", w.Actor+", "+w.Role)
		facts.Add("mills", render.Join(w.Mills))
		facts.Add("rolls", fmt.Sprint(w.RollCount))
		facts.Add("entries", fmt.Sprint(w.EntryCount))
		facts.Add("pieces", fmt.Sprint(w.PieceCount))
		facts.Add("its clock", render.Time(w.Now))
		facts.Write(o.Factory.Term)
		return nil
	})
}
