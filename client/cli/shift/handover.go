package shift

import (
	"context"
	"encoding/json"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// HandoverOptions say since when.
type HandoverOptions struct {
	Factory     *kit.Factory
	Since, Mill string
}

// usualShift is how far back a hand-over looks where no moment is named.
const usualShift = 8 * time.Hour

// NewCmdHandover tells what was done since a moment and how things stand.
func NewCmdHandover(f *kit.Factory, runF func(context.Context, *HandoverOptions) error) *cobra.Command {
	o := &HandoverOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "handover",
		Short: "What came, went, was ground, held and changed since a moment, what is owed, and what is next",
		Long: `What was recorded since a moment, by whom: what came out of the stands and went
in, what was ground, mishaps, holds, corrections. Then how things stand: what is
held, what owes a test, what waits for a grinder, and the next change of the plan.

What was recorded since but happened before is told apart.`,
		Example: kit.Example("barrelbook shift handover --since 06:00", `barrelbook shift handover --since "yesterday 22:00"`),
		Args:    kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return handover(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Since, "since", "", "since when (`TIME`: 06:00, \"yesterday 22:00\"); eight hours ago when left out")
	cmd.Flags().StringVar(&o.Mill, "mill", "", "only this `MILL`")
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	return cmd
}

// report is a hand-over: answers of the service, put together.
type report struct {
	Since  time.Time        `json:"since"`
	Events []oapi.Event     `json:"events"`
	Held   []oapi.Roll      `json:"held"`
	Owed   []oapi.Roll      `json:"owed"`
	Worn   []oapi.Roll      `json:"worn"`
	Plan   *oapi.ChangePlan `json:"plan,omitempty"`
}

func handover(ctx context.Context, o *HandoverOptions) error {
	since := o.Factory.Now().Add(-usualShift).UTC().Truncate(time.Minute)
	if o.Since != "" {
		var err error
		if since, err = kit.ParseTime(o.Factory, "--since", o.Since); err != nil {
			return err
		}
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	r, err := gather(ctx, c, since, o.Mill)
	if err != nil {
		return err
	}
	if o.Factory.JSON {
		raw, err := json.Marshal(r)
		if err != nil {
			return err
		}
		return kit.Raw(o.Factory, raw)
	}
	return r.print(o.Factory.Term, u)
}

// told are the events that a hand-over tells of.
const told = "entry,chock_entry,change,incident"

func gather(ctx context.Context, c *conn.Conn, since time.Time, mill string) (*report, error) {
	r := &report{Since: since}
	limit, kinds := int64(1000), told
	p := oapi.ListEventsParams{Since: &since, Type: &kinds, Mill: kit.OptText(mill), Limit: &limit}
	for {
		a, err := conn.Expect[oapi.EventPage](c.API.ListEvents(ctx, &p))
		if err != nil {
			return nil, err
		}
		r.Events = append(r.Events, a.Value.Items...)
		if len(a.Value.Items) < int(limit) {
			break
		}
		p.Since, p.After = nil, &a.Value.Next
	}
	rolls, err := roll.Every(ctx, c, oapi.ListRollsParams{Mill: kit.OptText(mill)})
	if err != nil {
		return nil, err
	}
	for _, one := range rolls {
		s := one.State
		switch {
		case s.Stage == oapi.StageScrapped:
			continue
		case s.Held != nil:
			r.Held = append(r.Held, one)
		case s.Stage == oapi.StageWorn:
			r.Worn = append(r.Worn, one)
		}
		if roll.Due(s) != "" {
			r.Owed = append(r.Owed, one)
		}
	}
	r.Plan = plan(ctx, c, mill)
	return r, nil
}

// plan is that of the newest programme; none where none is loaded or it cannot be
// planned now, which the plan's own command explains.
func plan(ctx context.Context, c *conn.Conn, mill string) *oapi.ChangePlan {
	one := int64(1)
	a, err := conn.Expect[oapi.CampaignPage](c.API.ListCampaigns(ctx, &oapi.ListCampaignsParams{Limit: &one, Mill: kit.OptText(mill)}))
	if err != nil || len(a.Value.Items) == 0 {
		return nil
	}
	p, err := conn.Expect[oapi.ChangePlan](c.API.PlanChanges(ctx, oapi.ChangePlanInput{Campaign: a.Value.Items[0].Name}))
	if err != nil {
		return nil
	}
	return &p.Value
}
