package roll

import (
	"context"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// ListOptions choose the rolls.
type ListOptions struct {
	Factory *kit.Factory
	kit.Paging

	Stage, Role, Mill, Stand, Grade string
	Held                            bool
	pick
}

// NewCmdList lists rolls.
func NewCmdList(f *kit.Factory, runF func(context.Context, *ListOptions) error) *cobra.Command {
	o := &ListOptions{Factory: f}
	cmd := &cobra.Command{
		Use:     "list",
		Short:   "List rolls by number, with their stage, stock left and place",
		Example: kit.Example("barrelbook roll list --stage worn", "barrelbook roll list --stand F3", "barrelbook roll list --owed", "barrelbook roll list --warm --sort cool", "barrelbook roll list --all --csv > rolls.csv"),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	kit.Word(cmd, &o.Stage, "stage", "", "only rolls at this stage", []string{"new", "worn", "ground", "paired", "mounted", "scrapped"})
	kit.Word(cmd, &o.Role, "role", "", "only rolls of this role", roles)
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only rolls of this `MILL`")
	cmd.Flags().StringVar(&o.Stand, "stand", "", "only rolls in this `STAND` now")
	cmd.Flags().StringVar(&o.Grade, "grade", "", "only rolls of this `GRADE`")
	cmd.Flags().BoolVar(&o.Held, "held", false, "only rolls that are held")
	o.pick.addTo(cmd)
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	kit.CompleteFlag(f, cmd, "grade", kit.Grades)
	return cmd
}

func list(ctx context.Context, o *ListOptions) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	p := oapi.ListRollsParams{
		Stage: kit.OptWord[oapi.Stage](o.Stage), Role: kit.OptWord[oapi.Role](o.Role),
		Mill: kit.OptText(o.Mill), Stand: kit.OptText(o.Stand), Grade: kit.OptText(o.Grade),
	}
	if o.Held {
		p.Held = &o.Held
	}
	columns := []render.Column{
		{Head: "roll", Key: "roll"}, {Head: "role", Key: "role", Spare: 5}, {Head: "grade", Key: "grade", Spare: 2}, {Head: "stage", Key: "stage"},
		u.LengthColumn("diameter", "diameter"), u.LengthColumn("stock left", "stock_left"),
		{Head: "limit", Key: "scrap_limit", Spare: 4}, {Head: "place", Key: "place"},
		u.RolledColumn("rolled", "rolled").Spared(3), {Head: "fit", Key: "fit"}, {Head: "owed", Key: "owed", Spare: 1}, {Head: "warm until", Key: "cool_at", Spare: 2},
	}
	if o.pick.asked() {
		return o.listPicked(ctx, c, p, columns, u)
	}
	none := "No roll is like that."
	if p == (oapi.ListRollsParams{}) {
		none = "No rolls yet: " + kit.Path("roll receive NUMBER") + " adds one."
	}
	return kit.List(o.Factory, &o.Paging, none, columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Roll], error) {
			p.Limit, p.Cursor = limit, cursor
			a, err := conn.Expect[oapi.RollPage](c.API.ListRolls(ctx, &p))
			return kit.Page[oapi.Roll]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		row(u))
}

// row is a roll in the list.
func row(u render.Units) func(oapi.Roll) []string {
	return func(r oapi.Roll) []string {
		s := r.State
		return []string{r.Number, string(r.Role), r.Grade, stage(s), render.Bare(u.Length(s.DiameterMm)), render.Bare(u.Length(s.StockLeftMm)),
			render.Words(s.ScrapLimit), place(s), render.Bare(u.Rolled(r.Totals.RolledKm)), render.Words(s.Fit.Verdict), Due(s), render.OptTime(s.CoolAt)}
	}
}
