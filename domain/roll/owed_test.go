package roll_test

import (
	"fmt"
	"strings"
	"testing"

	"barrelbook/domain/roll"
)

// due lists the tests that are owed now.
func due(s roll.State) string {
	var list []string
	for _, o := range s.Owed {
		if o.Due {
			list = append(list, string(o.Kind))
		}
	}
	return strings.Join(list, " ")
}

// campaign writes a grind with the tests, a mounting and a withdrawal, d being
// the day of the grind.
func campaign(t *testing.T, b *book, d float64, tests ...roll.Test) {
	t.Helper()
	g := with(reground(b.state.Diameter-200, b.state.Diameter-500), tests...)
	for _, s := range []step{{d, g, ""}, {d + 1, mounted(), ""}, {d + 2, withdrawn(), ""}} {
		if err := b.write(s); err != nil {
			t.Fatalf("day %g, %T: %v", s.day, s.body, err)
		}
	}
}

// TestWatchAfterCobble: eddy current is owed at once and after each of the
// next three campaigns, and without it the roll does not go out.
func TestWatchAfterCobble(t *testing.T) {
	for _, what := range []roll.What{roll.Cobble, roll.Pinch} {
		t.Run(string(what), func(t *testing.T) {
			b := open(t, and(inStand(), step{3.5, incident(what), ""}, step{4, withdrawn(), ""})...)
			for n := 0; n <= 3; n++ {
				d := 5 + 10*float64(n)
				if due(b.state) != "eddy_current" {
					t.Fatalf("after %d campaigns since: %q is due, want eddy_current", n, due(b.state))
				}
				untested := open(t)
				untested.entries, untested.state = b.entries, b.state
				if err := untested.write(step{d, reground(b.state.Diameter-200, b.state.Diameter-500), ""}); err != nil {
					t.Fatal(err)
				}
				refused(t, untested.write(step{d + 1, mounted(), ""}), 5, "",
					fmt.Sprintf("eddy current test is owed since the %s of 2026-01-08 18:00", what), "tests.test=eddy_current")
				campaign(t, b, d, passed(roll.EddyCurrent))
			}
			if len(b.state.Owed) != 0 {
				t.Fatalf("after the third campaign was tested and a fourth run: %+v", b.state.Owed)
			}
			campaign(t, b, 50)
			replays(t, b)
		})
	}
}

// TestWatchSaysWhatIsToCome reads the sentences of a debt through its life.
func TestWatchSaysWhatIsToCome(t *testing.T) {
	b := open(t, and(inStand(), step{3.5, incident(roll.Cobble), ""}, step{4, withdrawn(), ""})...)
	say := func(want string) {
		t.Helper()
		if got := b.state.Owed[0].Sentence(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	say("the eddy current test is owed since the cobble of 2026-01-08 18:00Z")
	must(t, b, step{4.1, looked(roll.EddyCurrent, roll.Unknown), ""})
	say("the eddy current test has no known result (cobble of 2026-01-08 18:00Z)")
	must(t, b, step{4.2, looked(roll.EddyCurrent, roll.Passed), ""})
	say("the eddy current test will be owed after 3 campaigns more since the cobble of 2026-01-08 18:00Z")
	campaign(t, b, 5)
	must(t, b, step{7.1, looked(roll.EddyCurrent, roll.Passed), ""})
	campaign(t, b, 8)
	must(t, b, step{10.1, looked(roll.EddyCurrent, roll.Passed), ""})
	say("the eddy current test will be owed after 1 campaign more since the cobble of 2026-01-08 18:00Z")
}

func must(t *testing.T, b *book, s step) {
	t.Helper()
	if err := b.write(s); err != nil {
		t.Fatal(err)
	}
}

// TestWhatEachMishapOwes: common practice, no source, as the rules of the
// package state it.
func TestWhatEachMishapOwes(t *testing.T) {
	for what, want := range map[roll.What]string{
		roll.Cobble: "eddy_current", roll.Pinch: "eddy_current",
		roll.Spall: "eddy_current ultrasonic", roll.FireCrack: "eddy_current ultrasonic",
		roll.NeckMishap: "visual ultrasonic", roll.Overload: "visual ultrasonic", roll.BearingMishap: "visual ultrasonic",
		roll.StripWeld: "visual eddy_current", roll.CoolingLoss: "visual eddy_current",
		roll.Bruise: "visual", roll.OtherMishap: "visual",
	} {
		b := open(t, and(ready(), step{3, incident(what), ""})...)
		if got := due(b.state); got != want {
			t.Errorf("a %s owes %q, want %q", what, got, want)
		}
	}
}

func TestResults(t *testing.T) {
	for name, c := range map[string]struct {
		looks  []roll.Body // after a cobble of a roll in the shop
		due    string
		failed int
	}{
		"nothing":                      {nil, "eddy_current", 0},
		"passed":                       {[]roll.Body{looked(roll.EddyCurrent, roll.Passed)}, "", 0},
		"another test passed":          {[]roll.Body{looked(roll.Ultrasonic, roll.Passed)}, "eddy_current", 0},
		"unknown":                      {[]roll.Body{looked(roll.EddyCurrent, roll.Unknown)}, "eddy_current", 0},
		"an outcome nobody knows":      {[]roll.Body{looked(roll.EddyCurrent, "perhaps")}, "eddy_current", 0},
		"unknown, then passed":         {[]roll.Body{looked(roll.EddyCurrent, roll.Unknown), looked(roll.EddyCurrent, roll.Passed)}, "", 0},
		"failed":                       {[]roll.Body{looked(roll.EddyCurrent, roll.Failed)}, "", 1},
		"failed twice":                 {[]roll.Body{looked(roll.EddyCurrent, roll.Failed), looked(roll.EddyCurrent, roll.Failed)}, "", 1},
		"failed, then unknown":         {[]roll.Body{looked(roll.EddyCurrent, roll.Failed), looked(roll.EddyCurrent, roll.Unknown)}, "eddy_current", 1},
		"failed, then passed":          {[]roll.Body{looked(roll.EddyCurrent, roll.Failed), looked(roll.EddyCurrent, roll.Passed)}, "", 0},
		"failed, ground without tests": {[]roll.Body{looked(roll.EddyCurrent, roll.Failed), reground(748_900, 746_000)}, "", 1},
		"failed, ground and passed":    {[]roll.Body{looked(roll.EddyCurrent, roll.Failed), with(reground(748_900, 746_000), passed(roll.EddyCurrent))}, "", 0},
		"passed, then cobbled again":   {[]roll.Body{looked(roll.EddyCurrent, roll.Passed), incident(roll.Cobble)}, "eddy_current", 0},
		"cobbled twice":                {[]roll.Body{incident(roll.Cobble)}, "eddy_current", 0},
		"unknown, then cobbled again":  {[]roll.Body{looked(roll.EddyCurrent, roll.Unknown), incident(roll.Cobble)}, "eddy_current eddy_current", 0},
		"cobbled twice, passed":        {[]roll.Body{looked(roll.EddyCurrent, roll.Unknown), incident(roll.Cobble), looked(roll.EddyCurrent, roll.Passed)}, "", 0},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, and(ready(), step{3, incident(roll.Cobble), ""})...)
			for i, body := range c.looks {
				must(t, b, step{4 + float64(i), body, ""})
			}
			if due(b.state) != c.due || len(b.state.Failed) != c.failed {
				t.Errorf("due %q failed %v, want %q and %d", due(b.state), b.state.Failed, c.due, c.failed)
			}
			err := b.write(step{20, mounted(), ""})
			if free := c.due == "" && c.failed == 0; (err == nil) != free {
				t.Errorf("mounting it: %v", err)
			}
			replays(t, b)
		})
	}
}

// TestOverloadsDoNotPileUp: a force gauge that reads too high writes an
// incident a piece.
func TestOverloadsDoNotPileUp(t *testing.T) {
	b := open(t, inStand()...)
	for i := range 100 {
		must(t, b, step{3.1 + float64(i)/1000, incident(roll.Overload), ""})
	}
	if len(b.state.Owed) != 2 || b.state.Owed[0].Entry != 5 {
		t.Errorf("owed %+v, want two tests since the first of them, entry 5", b.state.Owed)
	}
}
