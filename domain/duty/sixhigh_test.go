package duty_test

import (
	"strings"
	"testing"

	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/wear"
)

// A six-high stand has its places and its wear, and says that no solver covers
// the load between its rolls: no pressure is made up for rolls that do not touch.
func TestSixHighSaysWhatIsNotCovered(t *testing.T) {
	var rolls []duty.Roll
	for _, p := range mill.SixHigh.Positions() {
		d := map[mill.Role]float64{mill.Work: 400, mill.Intermediate: 500, mill.Backup: 1300}[p.Role()]
		rolls = append(rolls, duty.Roll{Number: string(p), Position: p, DiameterMM: d, BarrelLengthMM: 1600, ElasticModulusMPa: 206000, PoissonRatio: 0.3,
			Rate: wear.Rate{UmPerKmAt10: 0.1, Exponent: 1, Shape: wear.PlainShape()}})
	}
	s, err := duty.NewStand(mill.Stand{Name: "X1", Arrangement: mill.SixHigh}, 7850, rolls)
	if err != nil {
		t.Fatal(err)
	}
	load, err := s.Take(mill.Piece{MassT: 20, WidthMM: 1200, EntryThicknessMM: 1, Passes: []mill.Pass{{Stand: "X1", EntryThicknessMM: 1, ExitThicknessMM: 0.8, WidthMM: 1200, ForceKN: 9000}}}, 0)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(load.Warnings, "\n"), "no load solver covers") {
		t.Errorf("warnings %q do not say that six-high is not covered", load.Warnings)
	}
	for i, u := range load.Rolls {
		if u.MaxPeakPressureMPa != 0 || u.RolledKM == 0 || u.TonnageT != 20 {
			t.Errorf("%s: %+v, want km and tonnes and no pressure", rolls[i].Number, u)
		}
	}
}
