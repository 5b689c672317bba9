package duty

import (
	"math"
	"strings"
	"testing"

	"barrelbook/domain/fatigue"
	"barrelbook/domain/mill"
	"barrelbook/domain/wear"
)

func sixHighRolls() (rolls []Roll) {
	for _, p := range mill.SixHigh.Positions() {
		d := map[mill.Role]float64{mill.Work: 430, mill.Intermediate: 520, mill.Backup: 1300}[p.Role()]
		rolls = append(rolls, Roll{Number: string(p), Position: p, DiameterMM: d, BarrelLengthMM: 1500, ElasticModulusMPa: 206000, PoissonRatio: 0.3,
			Rate: wear.Rate{UmPerKmAt10: 0.1, Exponent: 1, Shape: wear.PlainShape()}})
	}
	return rolls
}

func sixHigh(t testing.TB) *Stand {
	t.Helper()
	rolls := sixHighRolls()
	s, err := NewStand(mill.Stand{Name: "X1", Arrangement: mill.SixHigh}, 7850, rolls)
	if err != nil {
		t.Fatal(err)
	}
	var list []*Condition
	for _, r := range rolls {
		c := &Condition{BearingSpanMM: 2400, NeckDiameterMM: r.DiameterMM * 0.6, AllowableMPa: 200, Neck: Neck{FilletRadiusMM: 30}}
		if c.Damage, err = fatigue.NewField(wear.DefaultStations, fatigue.DefaultLayers, 0.4); err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
	}
	m := models(t)
	m.Kind, m.Crown.SteadyUM, m.Gap = mill.ColdTandem, 50, true
	s.Use(m, list)
	return s
}

func coldPiece() mill.Piece {
	return mill.Piece{MassT: 20, WidthMM: 1000, EntryThicknessMM: 1, Passes: []mill.Pass{{Stand: "X1", EntryThicknessMM: 1, ExitThicknessMM: 0.8, WidthMM: 1000, ForceKN: 9000, SpeedMPerS: 15,
		IntermediateRollShiftMM: 180, BendingForceKN: 200, IntermediateBendingForceKN: 250}}}
}

func TestSixHighBearsItsLoad(t *testing.T) {
	s := sixHigh(t)
	load := take(t, s, coldPiece())
	if len(load.Warnings) > 0 {
		t.Errorf("warnings: %s", strings.Join(load.Warnings, "\n"))
	}
	contacts := s.Contacts()
	if len(contacts) != 4 {
		t.Fatalf("%d contacts, want 4", len(contacts))
	}
	for k, c := range contacts {
		if c.Even {
			t.Fatalf("contact %d is taken as even", k)
		}
		// Between work and intermediate roll the strip and the work rolls' bending,
		// over the common barrel; behind that the intermediate rolls' bending too.
		want := 9000e3 + 2*200e3
		if k%2 == 1 {
			want += 2 * 250e3
		}
		if got := c.MeanNPerMM * (1500 - 180); math.Abs(got-want) > 1e-6*want {
			t.Errorf("contact %d carries %.0f of %.0f N", k, got, want)
		}
	}
	// The top intermediate roll lies 180 mm to the drive side: that end of it
	// hangs over, and the other end of the work roll is bare.
	top := contacts[0]
	if top.BehindNPerMM[0] != 0 || top.BehindNPerMM[40] == 0 || top.FrontNPerMM[40] != 0 || top.FrontNPerMM[0] == 0 {
		t.Errorf("work roll bears %.0f and %.0f at its ends, intermediate roll %.0f and %.0f",
			top.FrontNPerMM[0], top.FrontNPerMM[40], top.BehindNPerMM[0], top.BehindNPerMM[40])
	}
	alike(t, "bottom mirrors top", contacts[0].FrontNPerMM, mirrored(contacts[2].FrontNPerMM), 1e-6*9000)
	for i, u := range load.Rolls {
		if u.MaxPeakPressureMPa < 500 || u.RolledKM == 0 || u.TonnageT != 20 || u.DeepestWearUM() == 0 {
			t.Errorf("%s: %+v", s.rolls[i].Number, u)
		}
	}
	if _, ok := s.Gap(coldPiece().Passes[0], 25); !ok {
		t.Error("no gap")
	}
}

// Fatigue of an intermediate roll is that of both its contacts.
func TestIntermediateRollIsPressedTwiceInATurn(t *testing.T) {
	s := sixHigh(t)
	take(t, s, coldPiece())
	s.Settle()
	worst := func(i int) float64 { return s.mech.rolls[i].Damage.Worst().Damage }
	twice, h := worst(1), &s.halves[0]
	alone, err := fatigue.NewField(wear.DefaultStations, fatigue.DefaultLayers, 0.4)
	if err != nil {
		t.Fatal(err)
	}
	turns := take(t, sixHigh(t), coldPiece()).Rolls[1].Revolutions
	for c := range h.laws {
		line := s.grids[1].New()
		s.along(h, c, 1, line)
		half := s.grids[1].New()
		for j, q := range line {
			line[j], half[j] = h.laws[c].PeakPressure(q), h.laws[c].HalfWidth(q)
		}
		if err := alone.Add(s.mech.m.Kernel, turns, line, half); err != nil {
			t.Fatal(err)
		}
	}
	want := alone.Worst().Damage
	if math.Abs(twice/want-1) > 1e-9 {
		t.Errorf("damage %g, of both contacts %g", twice, want)
	}
	for _, i := range []int{0, 2} {
		if worst(i) <= 0 {
			t.Errorf("no damage of %s", s.rolls[i].Number)
		}
	}
}

// A stand with an empty place says nothing of a load that it cannot know.
func TestSixHighWithoutItsIntermediateRolls(t *testing.T) {
	rolls := sixHighRolls()
	s, err := NewStand(mill.Stand{Name: "X1", Arrangement: mill.SixHigh}, 7850, append(rolls[:1], rolls[2:]...))
	if err != nil {
		t.Fatal(err)
	}
	load := take(t, s, coldPiece())
	for i := range load.Rolls[:2] {
		if load.Rolls[i].MaxPeakPressureMPa != 0 {
			t.Errorf("%s has a pressure without a roll to press it", s.rolls[i].Number)
		}
	}
}
