package practice

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
)

// PutOptions is a practice as typed.
type PutOptions struct {
	Factory *kit.Factory
	kit.Recording
	Name                     string
	Set                      map[string]json.Number
	Mill, Stand, Role, Grade string
	Material                 string
	Remove                   []string
	Replace                  bool
}

// NewCmdPut makes a practice or a new version of it.
func NewCmdPut(f *kit.Factory, runF func(context.Context, *PutOptions) error) *cobra.Command {
	o := &PutOptions{Factory: f}
	cmd := &cobra.Command{
		Use:   "put PRACTICE [SETTING=VALUE ...]",
		Short: "Make a practice, or a new version of one that is there",
		Long: `Make a practice, or a new version of one that is there: settings that are named
change, the others stay. Versions before it are kept. The unit of a value is
the end of the setting's name. barrelbook practice settings lists the settings.

Where several practices are for one roll, the most particular one that gives a
value wins.`,
		Example: kit.Example("barrelbook practice put finishing --mill HSM --role work max_wear_um=350 cooling_h=8",
			"barrelbook practice put finishing --remove cooling_h",
			"barrelbook practice put stainless --material 18-8 flow_stress_factor=1.6"),
		Args: cobra.MinimumNArgs(0),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 0 {
				return kit.Complete(f, kit.Practices)(cmd, args, typed)
			}
			var words []string
			for _, name := range settingNames() {
				words = append(words, name+"=")
			}
			return words, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return kit.Usagef("barrelbook practice put needs PRACTICE")
			}
			o.Name = args[0]
			var err error
			if o.Set, err = readSettings(args[1:]); err != nil {
				return err
			}
			for _, name := range o.Remove {
				if err := known(name); err != nil {
					return err
				}
			}
			if runF != nil {
				return runF(cmd.Context(), o)
			}
			return put(cmd.Context(), o)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&o.Mill, "mill", "", "only for this `MILL`")
	fl.StringVar(&o.Stand, "stand", "", "only for this `STAND`")
	kit.Word(cmd, &o.Role, "role", "", "only for this role", []string{"work", "backup", "intermediate"})
	fl.StringVar(&o.Grade, "grade", "", "only for this `GRADE`")
	fl.StringVar(&o.Material, "material", "", "what is known of this rolled `METAL`, by the name on its pieces")
	fl.StringSliceVar(&o.Remove, "remove", nil, "no longer give this `SETTING`")
	fl.BoolVar(&o.Replace, "replace", false, "drop every setting that is not named now")
	o.Recording.AddKeyTo(cmd)
	kit.CompleteFlag(f, cmd, "mill", kit.Mills)
	kit.CompleteFlag(f, cmd, "stand", kit.Stands)
	kit.CompleteFlag(f, cmd, "grade", kit.Grades)
	return cmd
}

// readSettings reads SETTING=VALUE words. Numbers keep the digits they were
// typed with.
func readSettings(words []string) (map[string]json.Number, error) {
	set := map[string]json.Number{}
	for _, w := range words {
		name, value, ok := strings.Cut(w, "=")
		if !ok {
			return nil, kit.Usagef("%q is not of the form SETTING=VALUE", w)
		}
		if err := known(name); err != nil {
			return nil, err
		}
		var number kit.OptNumber
		if err := number.Set(value); err != nil {
			return nil, kit.Usagef("%s: %v; its unit is the end of its name", name, err)
		}
		set[name] = json.Number(number.String())
	}
	return set, nil
}

func known(name string) error {
	names := settingNames()
	if slices.Contains(names, name) {
		return nil
	}
	return kit.Usagef("there is no setting %q%s; see barrelbook practice settings", name, kit.DidYouMean(name, names))
}

// put reads the practice first, so that what is not named stays, and writes it
// only if nobody has changed it meanwhile.
func put(ctx context.Context, o *PutOptions) error {
	what := kit.Failure{What: "practice " + o.Name + " was not saved", Flag: map[string]string{"name": "PRACTICE", "scope/mill": "--mill", "scope/stand": "--stand", "scope/role": "--role", "scope/grade": "--grade", "scope/material": "--material"},
		Next: []string{kit.Path("practice settings")}}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	now, err := conn.Expect[oapi.Practice](c.API.GetPractice(ctx, o.Name))
	var p *conn.Problem
	fresh := errors.As(err, &p) && p.Slug() == "not-found"
	if err != nil && !fresh {
		return what.Explain(err)
	}
	body, err := o.merged(now.Value)
	if err != nil {
		return what.Explain(err)
	}
	var a conn.Answer[oapi.Practice]
	if fresh {
		a, err = conn.Expect[oapi.Practice](c.API.CreatePracticeWithBody(ctx, &oapi.CreatePracticeParams{IdempotencyKey: o.KeyParam()}, "application/json", bytes.NewReader(body)))
	} else {
		a, err = conn.Expect[oapi.Practice](c.API.ReplacePracticeWithBody(ctx, o.Name, &oapi.ReplacePracticeParams{IfMatch: &now.ETag}, "application/json", bytes.NewReader(body)))
	}
	if err != nil {
		return what.Explain(err)
	}
	if err := kit.Show(o.Factory, a, func(p oapi.Practice) error { Print(o.Factory.Term, p); return nil }); err != nil {
		return err
	}
	o.Noted(o.Factory, "Practice %s is saved.", o.Name)
	return nil
}

// merged is the practice as it is to be, in JSON, with each number as typed.
func (o *PutOptions) merged(now oapi.Practice) ([]byte, error) {
	values := map[string]json.Number{}
	if !o.Replace {
		for _, pair := range given(now.Values) {
			values[pair[0]] = json.Number(pair[1])
		}
	}
	for name, value := range o.Set {
		values[name] = value
	}
	for _, name := range o.Remove {
		delete(values, name)
	}
	scope := now.Scope
	for _, part := range []struct {
		text string
		to   **string
	}{{o.Mill, &scope.Mill}, {o.Stand, &scope.Stand}, {o.Grade, &scope.Grade}, {o.Material, &scope.Material}} {
		if part.text != "" {
			*part.to = &part.text
		}
	}
	if o.Role != "" {
		scope.Role = kit.OptWord[oapi.Role](o.Role)
	}
	return json.Marshal(map[string]any{"name": o.Name, "scope": scope, "values": values})
}
