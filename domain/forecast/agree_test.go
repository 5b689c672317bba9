package forecast_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/duty"
	"barrelbook/domain/finish"
	"barrelbook/domain/forecast"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
	"barrelbook/domain/wear"
)

// TestForecastAgreesWithTheCheck: on a programme of equal coils the forecast of
// the next change, with the rate taken as known, is the place at which the finish
// check expects the first limit of the roll to be passed.
func TestForecastAgreesWithTheCheck(t *testing.T) {
	const coils, coilT = 80, 20.0
	stand := mill.Stand{Name: "F6", Mill: "M", Arrangement: mill.TwoHigh}
	var pieces []mill.Piece
	for i := range coils {
		pieces = append(pieces, mill.Piece{ID: fmt.Sprint(i + 1), MassT: coilT, WidthMM: 1200, EntryThicknessMM: 3.4,
			Passes: []mill.Pass{{Stand: "F6", EntryThicknessMM: 3.4, ExitThicknessMM: 2.8, WidthMM: 1200, ForceKN: 12000, SpeedMPerS: 9}}})
	}
	rapid.Check(t, func(t *rapid.T) {
		roll := standing.Roll{Roll: duty.Roll{Number: "W", Position: mill.TopWork, DiameterMM: 720, BarrelLengthMM: 1780, ElasticModulusMPa: 206000, PoissonRatio: 0.3,
			Rate: wear.Rate{UmPerKmAt10: 3, Exponent: 1, Shape: wear.HotStripShape()}}, Roughness: wear.Roughness{StartUM: 3, FloorUM: 0.8, ScaleKM: 60}}
		limits := standing.Given{practice.FireCrackUMPerPiece: {Number: 28, Set: true}}
		for key, full := range map[practice.Key]float64{practice.MaxCampaignT: 1600, practice.MaxCampaignKM: 60, practice.MaxWearUM: 220, practice.MaxFireCrackUM: 2240,
			practice.MaxCampaignRevolutions: 27000, practice.MaxSameWidthKM: 60, practice.RoughnessLimitUM: 1.2} {
			if rapid.Bool().Draw(t, string(key)) {
				limits[key] = practice.Value{Number: full * rapid.Float64Range(0.1, 2).Draw(t, "share"), Set: true}
			}
		}
		roll.Limits = limits
		once := usageOf(t, stand, roll, pieces[0])
		if n := rapid.IntRange(0, 60).Draw(t, "coils before"); n > 0 {
			for range n {
				roll.Stay.Add(once)
			}
			before := standing.Stay{Usage: roll.Stay, Times: 1}
			roll.SinceGrind = standing.SinceGrind([]standing.Stay{before})
			if rapid.Bool().Draw(t, "back without a grind") {
				roll.SinceGrind = standing.SinceGrind([]standing.Stay{before, before})
			}
		}
		bottom := roll
		bottom.Number, bottom.Position, bottom.Limits = "V", mill.BottomWork, standing.Given{}
		a, err := finish.Check(finish.Input{Stand: stand, DensityKGPerM3: 7850, Pieces: pieces, YesFrom: 0.95, NoBelow: 0.5,
			Work: standing.Set{Name: "S", Role: mill.Work, Mounted: true, Rolls: []standing.Roll{roll, bottom}}})
		if err != nil {
			t.Fatal(err)
		}
		first := math.Inf(1)
		for _, m := range a.Margins {
			if m.Roll == "W" && m.Reached != nil {
				first = min(first, float64(m.Reached.Piece))
			}
		}
		c, err := forecast.NextChange(forecast.ChangeInput{Now: june, In: true, UsedT: roll.Stay.TonnageT, Limits: limit.Again(&roll, stand, once), OnceT: once.TonnageT, OnceKM: once.RolledKM})
		if err != nil {
			t.Fatal(err)
		}
		if c.Limit == "" {
			if !math.IsInf(first, 1) {
				t.Fatalf("no end is forecast, the check says piece %g", first)
			}
			return
		}
		at := c.TonnageT.P50/coilT + 1 // the coil in which it falls, to a fraction
		if at > coils+1 && math.IsInf(first, 1) {
			return
		}
		if math.Abs(at-first) > 1+1e-6 || first > at+1e-6 {
			t.Fatalf("by %s in coil %.4f, the check expects a limit passed at piece %g", c.Limit, at, first)
		}
	})
}

// usageOf is what one piece does to a roll, by package duty alone.
func usageOf(t *rapid.T, stand mill.Stand, roll standing.Roll, piece mill.Piece) duty.Usage {
	s, err := duty.NewStand(stand, 7850, []duty.Roll{roll.Roll})
	if err != nil {
		t.Fatal(err)
	}
	load, err := s.Take(piece, 0)
	if err != nil {
		t.Fatal(err)
	}
	return load.Rolls[0]
}
