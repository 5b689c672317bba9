package duty

import (
	"testing"

	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/mill"
	"barrelbook/domain/wear"
)

// The rolls of these tests are those of an invented hot strip finishing stand.

func roll(number string, position mill.Position) Roll {
	r := Roll{Number: number, Position: position, DiameterMM: 720, BarrelLengthMM: 1780, ElasticModulusMPa: 206000, PoissonRatio: 0.3,
		Rate: wear.Rate{UmPerKmAt10: 3, Exponent: 1, Shape: wear.HotStripShape()}}
	if position.Role() == mill.Backup {
		r.DiameterMM, r.Rate = 1480, wear.Rate{UmPerKmAt10: 0.1, Exponent: 1, Shape: wear.PlainShape()}
	}
	return r
}

func fourHigh() []Roll {
	return []Roll{roll("BT", mill.TopBackup), roll("WT", mill.TopWork), roll("WB", mill.BottomWork), roll("BB", mill.BottomBackup)}
}

func finishing() mill.Stand {
	return mill.Stand{Name: "F6", Mill: "M", Order: 6, Arrangement: mill.FourHigh, MaxForceKN: 30000}
}

func conditions(t testing.TB, rolls []Roll) []*Condition {
	t.Helper()
	list := make([]*Condition, len(rolls))
	for i, r := range rolls {
		list[i] = &Condition{BearingSpanMM: 2800, NeckDiameterMM: 420, AllowableMPa: 150}
		if r.Position.Role() == mill.Backup {
			list[i].NeckDiameterMM = 900
		}
		field, err := fatigue.NewField(wear.DefaultStations, fatigue.DefaultLayers, 0.6)
		if err != nil {
			t.Fatal(err)
		}
		list[i].Damage = field
	}
	return list
}

func models(t testing.TB) Models {
	t.Helper()
	kernel, err := fatigue.NewKernel(fatigue.DefaultPolicy())
	if err != nil {
		t.Fatal(err)
	}
	return Models{Kind: mill.HotStrip, Crown: heat.CrownModel{SteadyUM: 200, RollingTauMin: 25, IdleTauMin: 30}, Kernel: kernel}
}

// full is a stand with every model on.
func full(t testing.TB) *Stand {
	t.Helper()
	s, err := NewStand(finishing(), 7850, fourHigh())
	if err != nil {
		t.Fatal(err)
	}
	s.Use(models(t), conditions(t, fourHigh()))
	return s
}

func coil(width, forceKN float64) mill.Piece {
	return mill.Piece{ID: "C", MassT: 20, WidthMM: width, EntryThicknessMM: 3.5, Passes: []mill.Pass{
		{Stand: "F6", EntryThicknessMM: 3.5, ExitThicknessMM: 2.8, WidthMM: width, ForceKN: forceKN, SpeedMPerS: 9, TemperatureC: 900}}}
}

func take(t testing.TB, s *Stand, p mill.Piece) Load {
	t.Helper()
	load, err := s.Take(p, 0)
	if err != nil {
		t.Fatalf("Take(%+v): %v", p, err)
	}
	return load
}

// lineLoad is how the load of the last pass lay along roll i of a pair.
func (s *Stand) lineLoad(i int) []float64 {
	for _, c := range s.Contacts() {
		switch i {
		case c.Front:
			return c.FrontNPerMM
		case c.Behind:
			return c.BehindNPerMM
		}
	}
	return nil
}
