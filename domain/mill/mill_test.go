package mill_test

import (
	"fmt"
	"testing"

	"barrelbook/domain/mill"
)

// TestPositions holds that an arrangement's places, roles and pairs agree.
func TestPositions(t *testing.T) {
	for _, c := range []struct {
		arrangement mill.Arrangement
		count       int
		roles       []mill.Role
	}{
		{mill.TwoHigh, 2, []mill.Role{mill.Work}},
		{mill.FourHigh, 4, []mill.Role{mill.Work, mill.Backup}},
		{mill.SixHigh, 6, []mill.Role{mill.Work, mill.Backup, mill.Intermediate}},
	} {
		places := c.arrangement.Positions()
		if len(places) != c.count {
			t.Errorf("%s has %d places, want %d", c.arrangement, len(places), c.count)
		}
		at := map[mill.Position]int{}
		for i, p := range places {
			at[p] = i
		}
		if len(at) != c.count {
			t.Errorf("%s names a place twice: %v", c.arrangement, places)
		}
		for _, r := range []mill.Role{mill.Work, mill.Backup, mill.Intermediate} {
			wanted := false
			for _, other := range c.roles {
				wanted = wanted || other == r
			}
			if c.arrangement.Takes(r) != wanted {
				t.Errorf("%s takes %s: %v, want %v", c.arrangement, r, !wanted, wanted)
			}
			if !wanted {
				continue
			}
			top, bottom := mill.PairPositions(r)
			above, okTop := at[top]
			below, okBottom := at[bottom]
			// The pair lies evenly about the strip, the top roll above it.
			if !okTop || !okBottom || top.Role() != r || bottom.Role() != r || above >= below || above+below != c.count-1 {
				t.Errorf("%s: the %s pair is %s at %d and %s at %d of %d", c.arrangement, r, top, above, bottom, below, c.count)
			}
		}
	}
}

func TestDensity(t *testing.T) {
	if got := (mill.Mill{}).Density(); got != 7850 {
		t.Errorf("default density %g, want 7850 kg/m³", got)
	}
	if got := (mill.Mill{DensityKGPerM3: 8960}).Density(); got != 8960 {
		t.Errorf("density %g, want the mill's own 8960 kg/m³", got)
	}
}

// A piece that comes out of a stand thicker than it went in was not rolled.
func Example() {
	stands := map[string]mill.Stand{"F1": {Name: "F1", Mill: "strip", Order: 1}}
	p := mill.Piece{Mill: "strip", MassT: 18, WidthMM: 1250, EntryThicknessMM: 32, Passes: []mill.Pass{{Stand: "F1", ExitThicknessMM: 35}}}
	p.Complete()
	fmt.Println(p.Check(stands))
	// Output: passes/0/exit_thickness_mm 35 must not be thicker than it went in, 32 mm; check entry and exit of this pass
}
