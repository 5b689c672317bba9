package roll_test

import (
	"errors"
	"strings"
	"testing"

	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// half is a roll that may be paired, of a number and a diameter.
func half(number string, diameter quantity.Micrometre) roll.State {
	return roll.State{Stage: roll.StageGround, Diameter: diameter, Mill: "strip",
		Roll: roll.Roll{Number: number, Role: mill.Work, BarrelLength: 2_000_000}}
}

func TestPairTolerance(t *testing.T) {
	for _, c := range []struct {
		top, bottom, tolerance quantity.Micrometre
		want                   string // empty when they may be a pair
	}{
		{740_000, 740_000, 0, ""},
		{740_150, 740_000, 150, ""},
		{740_000, 740_150, 150, ""},
		{740_151, 740_000, 150, "grind TOP by at least 0.001 mm"},
		{740_000, 740_400, 150, "grind BOT by at least 0.250 mm"},
	} {
		for _, check := range []func(a, b roll.State, tol quantity.Micrometre) error{roll.WithinTolerance, roll.MayPair} {
			err := check(half("TOP", c.top), half("BOT", c.bottom), c.tolerance)
			if c.want == "" {
				if err != nil {
					t.Errorf("%s and %s within %s: %v", c.top, c.bottom, c.tolerance, err)
				}
				continue
			}
			var conflict *roll.Conflict
			if !errors.As(err, &conflict) || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), c.top.String()) || !strings.Contains(err.Error(), c.bottom.String()) {
				t.Errorf("%s and %s within %s: %v, want both diameters and %q", c.top, c.bottom, c.tolerance, err, c.want)
			}
		}
	}
}

func TestMayPair(t *testing.T) {
	for name, c := range map[string]struct {
		change func(top, bottom *roll.State)
		want   string
	}{
		"one roll twice":        {func(top, bottom *roll.State) { bottom.Roll.Number = top.Roll.Number }, "one roll twice"},
		"of two roles":          {func(_, bottom *roll.State) { bottom.Roll.Role = mill.Backup }, "TOP is a work roll and BOT a backup roll"},
		"of two mills":          {func(_, bottom *roll.State) { bottom.Mill = "plate" }, "TOP serves mill strip and BOT mill plate"},
		"of two barrel lengths": {func(_, bottom *roll.State) { bottom.Roll.BarrelLength = 2_100_000 }, "2000.000 mm and 2100.000 mm"},
	} {
		t.Run(name, func(t *testing.T) {
			top, bottom := half("TOP", 740_000), half("BOT", 740_000)
			c.change(&top, &bottom)
			var conflict *roll.Conflict
			if err := roll.MayPair(top, bottom, 150); !errors.As(err, &conflict) || !strings.Contains(err.Error(), c.want) || conflict.Do == "" {
				t.Errorf("got %v, want %q and what to do", err, c.want)
			}
		})
	}
}

func TestServes(t *testing.T) {
	anywhere, named := half("A", 740_000), half("B", 740_000)
	named.Stands = []string{"F1", "F2"}
	for _, c := range []struct {
		s     roll.State
		stand mill.Stand
		want  bool
	}{
		{anywhere, mill.Stand{Name: "F5", Mill: "strip"}, true},
		{anywhere, mill.Stand{Name: "F5", Mill: "plate"}, false},
		{named, mill.Stand{Name: "F2", Mill: "strip"}, true},
		{named, mill.Stand{Name: "F3", Mill: "strip"}, false},
		{named, mill.Stand{Name: "F2", Mill: "plate"}, false},
	} {
		if got := c.s.Serves(c.stand); got != c.want {
			t.Errorf("roll %s in %s of %s: %v, want %v", c.s.Roll.Number, c.stand.Name, c.stand.Mill, got, c.want)
		}
	}
}
