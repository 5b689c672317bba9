package regrind

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
)

// guided fills what was not typed by asking, one figure after the other. Each
// answer is what the flag of its name would have been, so that the whole can be
// typed at once the next time.
func (o *RecordOptions) guided(ctx context.Context) error {
	u, err := o.Factory.Units()
	if err != nil {
		return err
	}
	c, err := o.Factory.Conn(ctx)
	if err != nil {
		return err
	}
	t := o.Factory.Term
	t.Say("An empty answer takes what stands in brackets, - leaves it out, Ctrl-C ends without recording.")
	if o.Roll == "" {
		if err := o.askRoll(ctx, c, u); err != nil {
			return err
		}
	}
	a, err := conn.Expect[oapi.Roll](c.API.GetRoll(ctx, o.Roll, nil))
	if err != nil {
		return kit.Failure{Next: []string{kit.Path("regrind queue")}}.Explain(err)
	}
	s := a.Value.State
	t.Say("Roll %s, %s, last %s.", a.Value.Number, stageOf(s), u.Length(s.DiameterMm))
	if err := o.ask(&o.Found, "Found", "", length); err != nil {
		return err
	}
	aim, crown := o.aims(ctx, c, u)
	if err := o.ask(&o.Ground, "Ground", aim, length); err != nil {
		return err
	}
	if err := o.ask(&o.For, "For ("+strings.Join(purposes, ", ")+")", "wear", purpose); err != nil {
		return err
	}
	if err := o.ask(&o.Crown, "Crown as measured", crown, small); err != nil {
		return err
	}
	for what, into := range o.measured() {
		if err := o.ask(into, what, "-", small); err != nil {
			return err
		}
	}
	if o.Roughness.Value == nil {
		text := ""
		if err := o.ask(&text, "Roughness, µm Ra", "-", func(_ *kit.Factory, text string) error { return o.Roughness.Set(text) }); err != nil {
			return err
		}
	}
	if err := o.askTests(render.Opt(s.Tested)); err != nil {
		return err
	}
	if err := o.ask(&o.Grinder, "Grinder", "-", anything); err != nil {
		return err
	}
	if err := o.ask(&o.Note, "Note", "-", anything); err != nil {
		return err
	}
	t.Say("%s", o.line())
	yes, err := t.Confirm("Record it?")
	if err == nil && !yes {
		err = kit.ErrStopped
	}
	return err
}

// measured are the small figures that may be left out, in the order in which they
// are asked for.
func (o *RecordOptions) measured() iter.Seq2[string, *string] {
	return func(yield func(string, *string) bool) {
		_ = yield("Taper", &o.Taper) && yield("Roundness", &o.Roundness) && yield("Run-out", &o.Runout)
	}
}

// ask asks until what is typed can be read. What was given by its flag is not
// asked for.
func (o *RecordOptions) ask(into *string, what, usual string, reads func(*kit.Factory, string) error) error {
	if *into != "" {
		return nil
	}
	prompt := what + ":"
	if usual != "" {
		prompt = what + " [" + usual + "]:"
	}
	for {
		typed, err := o.Factory.Term.Ask(prompt)
		if errors.Is(err, io.EOF) {
			return kit.ErrStopped
		}
		if err != nil {
			return err
		}
		typed = cmp.Or(typed, usual)
		if typed == "-" && usual != "" {
			return nil
		}
		if err := reads(o.Factory, typed); err != nil {
			o.Factory.Term.Say("%s", err)
			continue
		}
		*into = typed
		return nil
	}
}

func length(f *kit.Factory, text string) error {
	return quantity(f, func(e *kit.Entry) { e.Length("it", text) })
}

func small(f *kit.Factory, text string) error {
	return quantity(f, func(e *kit.Entry) { e.OptSmall("it", text) })
}

func quantity(f *kit.Factory, read func(*kit.Entry)) error {
	e, err := kit.NewEntry(f)
	if err != nil {
		return err
	}
	read(e)
	return e.Err()
}

func purpose(_ *kit.Factory, text string) error {
	if !slices.Contains(purposes, text) {
		return fmt.Errorf("%q is none of %s%s", text, strings.Join(purposes, ", "), kit.DidYouMean(text, purposes))
	}
	return nil
}

func anything(*kit.Factory, string) error { return nil }

func stageOf(s oapi.RollState) string {
	line := string(s.Stage)
	if s.CoolAt != nil {
		line += ", warm until " + render.Time(*s.CoolAt)
	}
	return line
}

// askRoll shows the grinder's list and takes a place in it or a roll's number.
func (o *RecordOptions) askRoll(ctx context.Context, c *conn.Conn, u render.Units) error {
	list, err := Waiting(ctx, c, "", "")
	if err != nil {
		return err
	}
	table := render.Table{Columns: []render.Column{{Head: "", Right: true}, {Head: "roll"}, {Head: "set"}, u.LengthColumn("take off", ""), u.LengthColumn("grind to", ""), {Head: "warm until"}}}
	first := ""
	for i, w := range list {
		cells := w.cells(u)
		table.Add(strconv.Itoa(i+1), cells[0], cells[1], cells[3], cells[4], cells[6])
		first = cmp.Or(first, w.Roll.Number)
	}
	if err := table.Write(o.Factory.Term); err != nil {
		return err
	}
	if err := o.ask(&o.Roll, "Roll, by number or place in the list", first, anything); err != nil {
		return err
	}
	if n, err := strconv.Atoi(o.Roll); err == nil && n >= 1 && n <= len(list) {
		o.Roll = list[n-1].Roll.Number
	}
	return nil
}

// aims are the diameter and crown to grind to, by the advice on what was found.
func (o *RecordOptions) aims(ctx context.Context, c *conn.Conn, u render.Units) (diameter, crown string) {
	e, err := kit.NewEntry(o.Factory)
	if err != nil {
		return "", "-"
	}
	a, err := conn.Expect[oapi.RegrindAdvice](c.API.AdviseRegrind(ctx, o.Roll, oapi.RegrindAdviceInput{FoundMm: e.OptLength("--found", o.Found)}))
	if err != nil { // the record itself says what is wrong
		return "", "-"
	}
	crown = "-"
	if a.Value.AimCrownUm != nil {
		crown = strings.ReplaceAll(u.Small(*a.Value.AimCrownUm), " ", "")
	}
	return strings.ReplaceAll(u.Length(a.Value.AimDiameterMm), " ", ""), crown
}

// askTests goes through the tests that the roll had last. What is not answered was
// not made: nothing passes by being left out.
func (o *RecordOptions) askTests(last []oapi.LastTest) error {
	if len(o.Tests) > 0 {
		return nil
	}
	for _, test := range last {
		outcome := ""
		err := o.ask(&outcome, render.Words(test.Test)+" test (passed, failed, unknown)", "-", func(_ *kit.Factory, text string) error {
			if !slices.Contains([]string{"passed", "failed", "unknown"}, text) {
				return fmt.Errorf("%q is none of passed, failed and unknown", text)
			}
			return nil
		})
		if err != nil {
			return err
		}
		if outcome != "" {
			o.Tests = append(o.Tests, string(test.Test)+":"+outcome)
		}
	}
	return nil
}

// line is the command with which the same is recorded without a question.
func (o *RecordOptions) line() string {
	line := kit.Path("regrind record %s", o.Roll)
	add := func(flag, value string) {
		if strings.ContainsAny(value, " \"'") {
			value = strconv.Quote(value)
		}
		if value != "" {
			line += " --" + flag + " " + value
		}
	}
	for _, f := range []struct{ flag, value string }{{"found", o.Found}, {"ground", o.Ground}, {"for", o.For}, {"crown", o.Crown}, {"taper", o.Taper}, {"roundness", o.Roundness},
		{"runout", o.Runout}, {"roughness", o.Roughness.String()}, {"grinder", o.Grinder}, {"note", o.Note}} {
		add(f.flag, f.value)
	}
	for _, test := range o.Tests {
		add("test", test)
	}
	return line
}

// missing are the flags that a record cannot do without.
func (o *RecordOptions) missing(cmd *cobra.Command) error {
	var flags []string
	for _, name := range []string{"found", "ground", "for"} {
		if !cmd.Flags().Changed(name) {
			flags = append(flags, "--"+name)
		}
	}
	switch {
	case o.Roll == "":
		return kit.Usagef("%s needs ROLL", cmd.CommandPath())
	case len(flags) > 0:
		return kit.Usagef("%s needs %s", cmd.CommandPath(), render.Join(flags))
	}
	return nil
}
