// Package claim holds the commands on what is asked of suppliers for rolls that
// failed.
package claim

import (
	"context"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("claim", "Claim on suppliers for rolls that failed, and note what they gave back",
		NewCmdMake(f, nil), NewCmdList(f, nil), NewCmdSettle(f, nil))
}

var flags = map[string]string{"name": "--name", "roll": "ROLL", "what": "--what", "claimed": "--claimed", "made_at": "--at", "credited": "--credited", "at": "--at", "note": "--note"}

// Options is a claim as typed.
type Options struct {
	Factory *kit.Factory
	kit.Recording
	kit.Paging
	Roll, Name, What, Note string
	Claimed, Credited      kit.OptCount
	All                    bool
}

// NewCmdMake keeps a claim.
func NewCmdMake(f *kit.Factory, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f}
	cmd := &cobra.Command{
		Use:     "make ROLL",
		Short:   "Claim on the supplier of a roll; says whether its warranty stood",
		Example: kit.Example("barrelbook claim make CW-122 --what \"spall at the barrel edge, 60 mm long\" --claimed 900000"),
		Args:    kit.Args("ROLL"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Roll = args[0]
			return change(cmd.Context(), o, runF, "the claim was not kept", func(c *conn.Conn, at *time.Time, dry *bool, key *string) (conn.Answer[oapi.Claim], error) {
				return conn.Expect[oapi.Claim](c.API.MakeClaim(cmd.Context(), &oapi.MakeClaimParams{DryRun: dry, IdempotencyKey: key},
					oapi.ClaimInput{Name: kit.OptText(o.Name), Roll: o.Roll, What: o.What, Claimed: o.Claimed.Value, MadeAt: at, Note: kit.OptText(o.Note)}))
			})
		},
		ValidArgsFunction: kit.Complete(f, kit.Rolls),
	}
	fl := cmd.Flags()
	fl.StringVar(&o.Name, "name", "", "a name for the claim; one is made when left out")
	fl.StringVar(&o.What, "what", "", "what is wrong with the roll")
	fl.Var(&o.Claimed, "claimed", "what is asked for, in the smallest currency unit")
	fl.StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "what")
	return cmd
}

// NewCmdSettle notes what was given back.
func NewCmdSettle(f *kit.Factory, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f}
	cmd := &cobra.Command{
		Use:     "settle CLAIM",
		Short:   "Note what the supplier gave back; 0 where the claim was turned down",
		Example: kit.Example("barrelbook claim settle claim-01 --credited 600000"),
		Args:    kit.Args("CLAIM"),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			return change(cmd.Context(), o, runF, "the claim was not settled", func(c *conn.Conn, at *time.Time, dry *bool, key *string) (conn.Answer[oapi.Claim], error) {
				return conn.Expect[oapi.Claim](c.API.SettleClaim(cmd.Context(), o.Name, &oapi.SettleClaimParams{DryRun: dry, IdempotencyKey: key},
					oapi.SettlementInput{Credited: render.Opt(o.Credited.Value), At: at, Note: kit.OptText(o.Note)}))
			})
		},
		ValidArgsFunction: kit.Complete(f, names),
	}
	cmd.Flags().Var(&o.Credited, "credited", "what was given back, in the smallest currency unit")
	cmd.Flags().StringVar(&o.Note, "note", "", "a remark")
	o.Recording.AddTo(cmd, true)
	kit.Require(cmd, "credited")
	return cmd
}

func change(ctx context.Context, o *Options, runF func(context.Context, *Options) error, what string, send func(c *conn.Conn, at *time.Time, dry *bool, key *string) (conn.Answer[oapi.Claim], error)) error {
	if runF != nil {
		return runF(ctx, o)
	}
	at, err := o.Moment(o.Factory)
	if err != nil {
		return kit.Failure{What: what}.Explain(err)
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	dry, key := o.Params()
	a, err := send(c, at, dry, key)
	if err != nil {
		return kit.Failure{What: what, Flag: flags, Next: []string{kit.Path("claim list")}}.Explain(err)
	}
	return kit.Show(o.Factory, a, func(w oapi.Claim) error {
		o.Factory.Term.Print("Claim %s for roll %s on %s: %s. Warranty: %s. %s", w.Name, w.Roll, render.Opt(w.Supplier), w.What, w.Warranty, state(w))
		o.Recording.Noted(o.Factory, "See the claims: %s", kit.Path("claim list"))
		return nil
	})
}

func state(w oapi.Claim) string {
	if w.SettledAt == nil {
		return fmt.Sprintf("Open, %s claimed.", money(w.Claimed))
	}
	return fmt.Sprintf("%s credited of %s claimed.", money(render.Opt(w.Credited)), money(w.Claimed))
}

func money(minor int64) string { return fmt.Sprintf("%.2f", float64(minor)/100) }

// NewCmdList lists claims.
func NewCmdList(f *kit.Factory, runF func(context.Context, *Options) error) *cobra.Command {
	o := &Options{Factory: f}
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the claims that are open, newest first",
		Args:  kit.Args(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return list(cmd.Context(), o)
		},
	}
	cmd.Flags().StringVar(&o.Roll, "roll", "", "only those for this `ROLL`")
	cmd.Flags().BoolVar(&o.All, "settled", false, "also those that are settled")
	o.Paging.AddTo(cmd)
	kit.CompleteFlag(f, cmd, "roll", kit.Rolls)
	return cmd
}

func list(ctx context.Context, o *Options) error {
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	open := !o.All
	columns := []render.Column{{Head: "claim", Key: "claim"}, {Head: "roll", Key: "roll"}, {Head: "supplier", Key: "supplier"}, {Head: "made", Key: "made_at"}, {Head: "warranty", Key: "warranty"},
		{Head: "claimed", Key: "claimed", Right: true}, {Head: "credited", Key: "credited", Right: true}, {Head: "what", Key: "what"}}
	return kit.List(o.Factory, &o.Paging, "No claim is open.", columns,
		func(limit *int64, cursor *string) (kit.Page[oapi.Claim], error) {
			a, err := conn.Expect[oapi.ClaimPage](c.API.ListClaims(ctx, &oapi.ListClaimsParams{Limit: limit, Cursor: cursor, Roll: kit.OptText(o.Roll), Open: &open}))
			return kit.Page[oapi.Claim]{Items: a.Value.Items, Next: a.Value.Next, Raw: a.Raw}, err
		},
		func(w oapi.Claim) []string {
			credited := ""
			if w.Credited != nil {
				credited = money(*w.Credited)
			}
			return []string{w.Name, w.Roll, render.Opt(w.Supplier), w.MadeAt.Format(time.DateOnly), string(w.Warranty), money(w.Claimed), credited, w.What}
		})
}

// names lists the claims that are open.
func names(ctx context.Context, c *conn.Conn) ([]string, error) {
	most, open := int64(1000), true
	a, err := conn.Expect[oapi.ClaimPage](c.API.ListClaims(ctx, &oapi.ListClaimsParams{Limit: &most, Open: &open}))
	var list []string
	for _, w := range a.Value.Items {
		list = append(list, w.Name)
	}
	return list, err
}
