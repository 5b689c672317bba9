package mill_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

// stands are those of a small hot strip mill: a reversing rougher beside an
// edger of the same place in the line, and two finishing stands.
func stands() map[string]mill.Stand {
	list := map[string]mill.Stand{}
	for _, s := range []mill.Stand{
		{Name: "E1", Order: 1, Vertical: true}, {Name: "R1", Order: 1, Reversing: true}, {Name: "F1", Order: 2}, {Name: "F2", Order: 3},
	} {
		s.Mill, list[s.Name] = "strip", s
	}
	return list
}

// coil is a piece that can be.
func coil() mill.Piece {
	return mill.Piece{Source: "level2", ID: "1", Mill: "strip", MassT: 20, WidthMM: 1250, EntryThicknessMM: 230, Passes: []mill.Pass{
		{Stand: "R1", ExitThicknessMM: 180}, {Stand: "R1", ExitThicknessMM: 140, Reverse: true}, {Stand: "R1", ExitThicknessMM: 35},
		{Stand: "F1", ExitThicknessMM: 20, ForceKN: 18_000, SpeedMPerS: 2}, {Stand: "F2", ExitThicknessMM: 12, WidthMM: 1252},
	}}
}

func TestCompleteFillsWhatFollows(t *testing.T) {
	p := coil()
	p.Complete()
	for i, want := range []struct{ entry, width float64 }{{230, 1250}, {180, 1250}, {140, 1250}, {35, 1250}, {20, 1252}} {
		if got := p.Passes[i]; got.EntryThicknessMM != want.entry || got.WidthMM != want.width {
			t.Errorf("pass %d: entry %g width %g, want %g and %g", i, got.EntryThicknessMM, got.WidthMM, want.entry, want.width)
		}
	}
	again := fmt.Sprint(p)
	p.Complete()
	if fmt.Sprint(p) != again {
		t.Error("completing twice changes the piece")
	}
	if err := p.Check(stands()); err != nil {
		t.Error(err)
	}
}

func TestPiecesThatCannotBe(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		change func(*mill.Piece)
		want   []string // path and limit of each refusal
	}{
		"no mass":              {func(p *mill.Piece) { p.MassT = 0 }, []string{"mass_t 0 must be greater than 0"}},
		"negative mass":        {func(p *mill.Piece) { p.MassT = -1 }, []string{"mass_t -1 must be greater"}},
		"NaN mass":             {func(p *mill.Piece) { p.MassT = nan }, []string{"mass_t NaN must be a finite number"}},
		"1e400 mass":           {func(p *mill.Piece) { p.MassT = inf }, []string{"mass_t +Inf must be a finite number"}},
		"no thickness":         {func(p *mill.Piece) { p.EntryThicknessMM, p.Passes[0].EntryThicknessMM = 0, 0 }, []string{"entry_thickness_mm 0 must", "passes/0/entry_thickness_mm 0 must"}},
		"no exit thickness":    {func(p *mill.Piece) { p.Passes[4].ExitThicknessMM = 0 }, []string{"passes/4/exit_thickness_mm 0 must be greater than 0"}},
		"no width":             {func(p *mill.Piece) { p.WidthMM = 0 }, []string{"width_mm 0 must be"}},
		"NaN width of a pass":  {func(p *mill.Piece) { p.Passes[1].WidthMM = nan }, []string{"passes/1/width_mm NaN"}},
		"thicker out than in":  {func(p *mill.Piece) { p.Passes[3].ExitThicknessMM = 35.01; p.Passes[4].EntryThicknessMM = 35.01 }, []string{"passes/3/exit_thickness_mm 35.01 must not be thicker than it went in, 35 mm"}},
		"no passes":            {func(p *mill.Piece) { p.Passes = nil }, []string{"passes must have at least one pass"}},
		"a stand of no mill":   {func(p *mill.Piece) { p.Passes[4].Stand = "F9" }, []string{"passes/4/stand F9 is not a stand of mill strip; see the stands"}},
		"against the order":    {func(p *mill.Piece) { p.Passes[3].Stand, p.Passes[4].Stand = "F2", "F1" }, []string{"passes/4/stand F1 comes before F2"}},
		"twice and no reverse": {func(p *mill.Piece) { p.Passes[4].Stand = "F1" }, []string{"passes/4/stand F1 is named twice"}},
		"negative force":       {func(p *mill.Piece) { p.Passes[3].ForceKN = -1 }, []string{"passes/3/force_kn -1 must not be below 0"}},
		"NaN force":            {func(p *mill.Piece) { p.Passes[3].ForceKN = nan }, []string{"passes/3/force_kn NaN must be a finite number"}},
		"1e400 speed":          {func(p *mill.Piece) { p.Passes[3].SpeedMPerS = inf }, []string{"passes/3/speed_m_per_s +Inf"}},
		"negative time":        {func(p *mill.Piece) { p.Passes[3].TimeS = -1 }, []string{"passes/3/time_s -1"}},
		"NaN temperature":      {func(p *mill.Piece) { p.Passes[3].TemperatureC = nan }, []string{"passes/3/temperature_c NaN"}},
		"NaN offset":           {func(p *mill.Piece) { p.Passes[3].LateralOffsetMM = nan }, []string{"passes/3/lateral_offset_mm NaN"}},
		"1e400 bending":        {func(p *mill.Piece) { p.Passes[3].BendingForceKN = -inf }, []string{"passes/3/bending_force_kn -Inf"}},
		"three things at once": {func(p *mill.Piece) { p.MassT, p.Passes[3].ForceKN, p.Passes[4].Stand = 0, -1, "F9" }, []string{"mass_t 0", "passes/3/force_kn", "passes/4/stand"}},
	} {
		t.Run(name, func(t *testing.T) {
			p := coil()
			p.Complete()
			c.change(&p)
			got := refusal.FieldsOf(p.Check(stands()))
			if len(got) != len(c.want) {
				t.Fatalf("got %v, want %q", got, c.want)
			}
			for i, f := range got {
				if !strings.HasPrefix(f.String(), c.want[i]) {
					t.Errorf("refusal %d is %q, want %q", i, f, c.want[i])
				}
			}
		})
	}
}

func TestPassesThatCanBe(t *testing.T) {
	for name, change := range map[string]func(*mill.Piece){
		"a skin pass, no reduction":   func(p *mill.Piece) { p.Passes[4].ExitThicknessMM = 20 },
		"through the edger first":     func(p *mill.Piece) { p.Passes[0].Stand, p.Passes[0].ExitThicknessMM = "E1", 230 },
		"past a stand that is open":   func(p *mill.Piece) { p.Passes = p.Passes[:4]; p.Passes[3].Stand = "F2" },
		"force to be predicted later": func(p *mill.Piece) { p.Passes[3].ForceKN = 0 },
	} {
		p := coil()
		change(&p)
		p.Complete()
		if err := p.Check(stands()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestProgramme(t *testing.T) {
	good := func() mill.Programme {
		first, second := coil(), coil()
		second.ID = "2"
		return mill.Programme{Name: "next", Mill: "strip", Pieces: []mill.Piece{first, second}, Stops: []mill.PlannedStop{{BeforePiece: 1}, {BeforePiece: 2}}}
	}
	for name, c := range map[string]struct {
		change func(*mill.Programme)
		want   []string
	}{
		"as it is":                   {func(*mill.Programme) {}, nil},
		"empty":                      {func(p *mill.Programme) { p.Pieces, p.Stops = nil, nil }, []string{"pieces must have at least one piece"}},
		"a piece twice":              {func(p *mill.Programme) { p.Pieces[1].ID = "1" }, []string{"pieces/1/id 1 is piece 1 already"}},
		"a piece that cannot be":     {func(p *mill.Programme) { p.Pieces[1].Passes[4].ExitThicknessMM = 21 }, []string{"pieces/1/passes/4/exit_thickness_mm 21 must not be thicker than it went in, 20 mm"}},
		"a stop before the first":    {func(p *mill.Programme) { p.Stops[0].BeforePiece = 0 }, []string{"planned_stops/0/before_piece 0 must lie between 1 and the last piece, 2"}},
		"a stop after the last":      {func(p *mill.Programme) { p.Stops[1].BeforePiece = 3 }, []string{"planned_stops/1/before_piece 3 must lie between 1 and the last piece, 2"}},
		"the pieces of another mill": {func(p *mill.Programme) { p.Pieces[0].Mill = "plate" }, nil}, // the programme's mill rules
	} {
		t.Run(name, func(t *testing.T) {
			p := good()
			c.change(&p)
			got := refusal.FieldsOf(p.Check(stands()))
			if len(got) != len(c.want) {
				t.Fatalf("got %v, want %q", got, c.want)
			}
			for i, f := range got {
				if !strings.HasPrefix(f.String(), c.want[i]) {
					t.Errorf("refusal %d is %q, want %q", i, f, c.want[i])
				}
			}
		})
	}
	p := good()
	if err := p.Check(stands()); err != nil || p.Pieces[1].Passes[4].EntryThicknessMM != 20 || p.Pieces[1].Mill != "strip" || p.TonnageT() != 40 {
		t.Errorf("completed: %+v, %g t, %v", p.Pieces[1], p.TonnageT(), err)
	}
}
