// Package set holds the commands on sets: two rolls, top and bottom, that go
// into a stand together.
package set

import (
	"fmt"

	"github.com/spf13/cobra"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/roll"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/client/term"
)

// NewCmd gathers the verbs.
func NewCmd(f *kit.Factory) *cobra.Command {
	return kit.Noun("set", "Build sets, break them, see which are ready",
		NewCmdBuild(f, nil), NewCmdBreak(f, nil), NewCmdList(f, nil), NewCmdShow(f, nil))
}

func shown(f *kit.Factory, a conn.Answer[oapi.Set], r *kit.Recording, done string) error {
	u, err := f.Units()
	if err != nil {
		return err
	}
	if err := kit.Show(f, a, func(s oapi.Set) error { Print(f.Term, u, s); return nil }); err != nil {
		return err
	}
	if r != nil {
		r.Noted(f, "%s", done)
	}
	return nil
}

// Print shows a set to people. Whether it can go in comes last.
func Print(t *term.Streams, u render.Units, s oapi.Set) {
	t.Print("%s", t.Bold(heading(s)))
	facts(u, s).Write(t)
	roll.Verdict(t, s.Fit)
}

func heading(s oapi.Set) string { return fmt.Sprintf("Set %s, %s rolls of %s", s.Name, s.Role, s.Mill) }

func facts(u render.Units, s oapi.Set) render.Facts {
	facts := render.Facts{}
	facts.Add("top", diameter(u, s.Top, s.TopDiameterMm))
	facts.Add("bottom", diameter(u, s.Bottom, s.BottomDiameterMm))
	facts.Add("mismatch", u.Small(s.MismatchUm)+" of "+u.Small(s.ToleranceUm)+" allowed"+outOfTolerance(s))
	facts.Add("stage", render.Words(s.Stage))
	facts.Add("stand", render.Opt(s.Stand))
	facts.Add("may serve", render.Join(render.Opt(s.Stands)))
	facts.Add("built", render.Time(s.BuiltAt))
	facts.Add("broken", render.OptTime(s.BrokenAt))
	return facts
}

func diameter(u render.Units, number string, mm *float64) string {
	if mm == nil {
		return number
	}
	return number + ", " + u.Length(*mm)
}

func outOfTolerance(s oapi.Set) string {
	if s.InTolerance {
		return ""
	}
	return ": out of tolerance"
}
