// Package chock holds the commands on chocks and the bearings in them: where
// they are, what they have run, and their inspections.
package chock

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("chock", "Keep chocks and bearings: fit, inspect, see what they have run",
		NewCmdAdd(f, nil), NewCmdList(f, nil), NewCmdShow(f, nil), NewCmdFit(f, nil), NewCmdInspect(f, nil))
}

var flags = map[string]string{"name": "CHOCK", "mill": "--mill", "role": "--role", "bearing": "--bearing", "inspect_every_h": "--inspect-every", "received_at": "--at",
	"set": "--set", "place": "--place", "outcome": "OUTCOME", "new_bearing": "--new-bearing", "at": "--at", "note": "--note"}

// names lists the chocks.
func names(ctx context.Context, c *conn.Conn) ([]string, error) {
	most := int64(1000)
	a, err := conn.Expect[oapi.ChockPage](c.API.ListChocks(ctx, &oapi.ListChocksParams{Limit: &most}))
	var list []string
	for _, k := range a.Value.Items {
		list = append(list, k.Name)
	}
	return list, err
}

func shown(f *kit.Factory, a conn.Answer[oapi.Chock], r *kit.Recording, done string) error {
	u, err := f.Units()
	if err != nil {
		return err
	}
	if err := kit.Show(f, a, func(k oapi.Chock) error { Print(f.Term, u, k); return nil }); err != nil {
		return err
	}
	if r != nil {
		r.Noted(f, "%s", done)
	}
	return nil
}

// Print shows a chock to people. What it owes comes last.
func Print(t *term.Streams, u render.Units, k oapi.Chock) {
	t.Print("%s", t.Bold(fmt.Sprintf("Chock %s, for %s rolls of %s", k.Name, k.Role, k.Mill)))
	facts := render.Facts{}
	facts.Add("bearing", k.Bearing)
	facts.Add("set", where(k))
	facts.Add("stand", render.Opt(k.Stand))
	facts.Add("on bearing", hours(k.BearingHoursH)+", "+u.Mass(k.BearingTonnageT))
	facts.Add("since inspection", fmt.Sprintf("%s, %s, %s revolutions", hours(k.HoursSinceInspectionH), u.Mass(k.TonnageSinceInspectionT), render.Number(k.RevolutionsSinceInspection, 4)))
	facts.Add("in its life", hours(k.HoursH)+", "+u.Mass(k.TonnageT))
	facts.Add("condition", render.Words(k.Condition)+inspected(k))
	facts.Write(t)
	render.Bullets(t, "\nNotes:", render.Opt(k.Notes))
	if k.InspectionWhy != nil {
		t.Print("\nNot released: %s.", *k.InspectionWhy)
	}
}

func where(k oapi.Chock) string {
	if k.Set == nil {
		return ""
	}
	return *k.Set + ", " + render.Words(render.Opt(k.Place))
}

func inspected(k oapi.Chock) string {
	if k.InspectedAt == nil {
		return ", never inspected"
	}
	return ", inspected " + render.OptTime(k.InspectedAt)
}

func hours(h float64) string { return fmt.Sprintf("%.1f h", h) }
