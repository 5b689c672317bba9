package duty

import (
	"testing"

	"barrelbook/domain/mill"
)

func TestUnfit(t *testing.T) {
	grooved := []Roll{roll("G", mill.TopWork), roll("H", mill.BottomWork)}
	for i := range grooved {
		grooved[i].GrooveDepthMM = []float64{8, 8}
	}
	for name, c := range map[string]struct {
		rolls []Roll
		pass  mill.Pass
		want  string
	}{
		"on the barrel":           {fourHigh(), mill.Pass{WidthMM: 1780}, ""},
		"over both ends":          {fourHigh(), mill.Pass{WidthMM: 1800}, "1800 mm wide, does not lie on the barrel of WT, 1780 mm"},
		"over one end":            {fourHigh(), mill.Pass{WidthMM: 1600, LateralOffsetMM: -100}, "1600 mm wide, does not lie on the barrel of WT, 1780 mm at -100 mm from the middle"},
		"a groove of plain rolls": {fourHigh(), mill.Pass{WidthMM: 100, Groove: 1}, "asks for groove 1 and WT has a plain barrel"},
		"the last groove":         {grooved, mill.Pass{WidthMM: 100, Groove: 2}, ""},
		"past the last groove":    {grooved, mill.Pass{WidthMM: 100, Groove: 3}, "asks for groove 3 and G has 2"},
		"flat on grooved rolls":   {grooved, mill.Pass{WidthMM: 100}, "names no groove and G has 2"},
		"no rolls":                {nil, mill.Pass{WidthMM: 9000, Groove: 9}, ""},
	} {
		s, err := NewStand(finishing(), 7850, c.rolls)
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Unfit(mill.Piece{Passes: []mill.Pass{c.pass}}, 0); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}
