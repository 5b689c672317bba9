package stand

import (
	"bytes"
	"context"
	"encoding/json"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// NewCmdAdjust changes what a stand is or can bear.
func NewCmdAdjust(f *kit.Factory, runF func(context.Context, *AddOptions, map[string]bool) error) *cobra.Command {
	o := &AddOptions{Factory: f}
	cmd := &cobra.Command{
		Use:               "adjust STAND",
		Short:             "Change the limits of a stand; what is not named stays",
		Example:           kit.Example("barrelbook stand adjust F3 --max-force 28MN"),
		Args:              kit.Args("STAND"),
		ValidArgsFunction: kit.Complete(f, kit.Stands),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Name = args[0]
			named := map[string]bool{}
			for field, flag := range addFlags {
				if name, isFlag := strings.CutPrefix(flag, "--"); isFlag && cmd.Flags().Changed(name) {
					named[field] = true
				}
			}
			if len(named) == 0 {
				return kit.Usagef("say what is to change, such as --max-force")
			}
			if runF != nil {
				return runF(cmd.Context(), o, named)
			}
			return adjust(cmd.Context(), o, named)
		},
	}
	o.addTo(f, cmd)
	return cmd
}

// adjust reads the stand first, so that what is not named stays, and writes it
// only if nobody has changed it meanwhile.
func adjust(ctx context.Context, o *AddOptions, named map[string]bool) error {
	next := kit.Failure{What: "stand " + o.Name + " was not changed", Flag: addFlags, Next: []string{kit.Path("stand show %s", o.Name)}}
	in, err := o.input()
	if err != nil {
		return next.Explain(err)
	}
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	now, err := conn.Expect[oapi.StandView](c.API.GetStand(ctx, o.Name, nil))
	if err != nil {
		next.Next = []string{kit.Path("stand list")}
		return next.Explain(err)
	}
	body, err := merged(now.Value.Stand, in, named)
	if err != nil {
		return next.Explain(err)
	}
	a, err := conn.Expect[oapi.Stand](c.API.ReplaceStandWithBody(ctx, o.Name, &oapi.ReplaceStandParams{IfMatch: &now.ETag}, "application/json", bytes.NewReader(body)))
	if err != nil {
		return next.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(s oapi.Stand) error { printStand(o.Factory.Term, u, s); return nil }); err != nil {
		return err
	}
	o.Noted(o.Factory, "Stand %s is changed.", o.Name)
	return nil
}

// merged is the stand with the named fields from in, in the contract's terms.
func merged(now, in oapi.Stand, named map[string]bool) ([]byte, error) {
	now.Version = nil // the service's to say
	var stand, typed map[string]json.RawMessage
	for _, part := range []struct {
		from oapi.Stand
		to   *map[string]json.RawMessage
	}{{now, &stand}, {in, &typed}} {
		raw, err := json.Marshal(part.from)
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(raw, part.to); err != nil {
			return nil, err
		}
	}
	for field := range named {
		delete(stand, field) // a flag may take a value back, as --reversing=false does
		if value, ok := typed[field]; ok {
			stand[field] = value
		}
	}
	return json.Marshal(stand)
}
