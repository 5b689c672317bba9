package finish

import (
	"fmt"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
	"barrelbook/domain/wear"
)

// The stand and the programme of these tests are invented: a late finishing
// stand of a hot strip mill and strip that gets narrower block by block.

func entered(v float64) practice.Value {
	return practice.Value{Number: v, Source: "practice test v1", Set: true}
}

// lim are the limits of a roll, to be added to.
func lim[T Roll | *Roll](r T) standing.Given {
	switch r := any(r).(type) {
	case Roll:
		return r.Limits.(standing.Given)
	case *Roll:
		return r.Limits.(standing.Given)
	}
	return nil
}

func workRoll(number string, position mill.Position, diameter float64) Roll {
	return Roll{
		Roll: duty.Roll{Number: number, Position: position, DiameterMM: diameter, BarrelLengthMM: 1780, ElasticModulusMPa: 206000, PoissonRatio: 0.3,
			Rate: wear.Rate{UmPerKmAt10: 3, Exponent: 1, Shape: wear.HotStripShape()}},
		SharedCV: 0.1, OwnCV: 0.1, RateSource: "default",
		ScrapDiameterMM: 640, ScrapLimit: "nominal scrap diameter",
		Limits: standing.Given{practice.MaxWearUM: entered(400), practice.NormalStockMM: entered(0.4), practice.PairToleranceUM: entered(150)},
	}
}

func backupRoll(number string, position mill.Position, diameter float64) Roll {
	r := workRoll(number, position, diameter)
	r.Rate = wear.Rate{UmPerKmAt10: 0.1, Exponent: 1, Shape: wear.PlainShape()}
	lim(r)[practice.PairToleranceUM] = entered(20000)
	lim(r)[practice.MaxWearUM], r.ScrapDiameterMM, lim(r)[practice.NormalStockMM] = entered(2500), 1350, entered(2)
	lim(r)[practice.MaxPeakPressureMPa] = entered(2000)
	return r
}

func workSet(name string) Set {
	return Set{Name: name, Role: mill.Work, Mounted: true, MismatchUM: 20,
		Rolls: []Roll{workRoll(name+"a", mill.TopWork, 720), workRoll(name+"b", mill.BottomWork, 719.98)},
		Costs: Costs{Stop: 500000, Change: 60000, UnusedPerKM: 500}}
}

func backupSet(name string) Set {
	return Set{Name: name, Role: mill.Backup, Mounted: true, MismatchUM: 1000,
		Rolls: []Roll{backupRoll(name+"a", mill.TopBackup, 1480), backupRoll(name+"b", mill.BottomBackup, 1479)},
		Costs: Costs{Stop: 500000, Change: 900000, UnusedPerKM: 500}}
}

// strip is a programme of n coils of 20 t in blocks of 15, the first block
// narrow, then from wide to narrow.
func strip(n int) []mill.Piece {
	pieces := make([]mill.Piece, n)
	for i := range pieces {
		b := i / 15
		width := 1600 - 40*float64(b%15)
		if b == 0 {
			width = 1100
		}
		pieces[i] = mill.Piece{ID: fmt.Sprintf("C-%03d", i+1), Block: fmt.Sprintf("B-%d", b+1), MassT: 20, WidthMM: width, EntryThicknessMM: 3.4,
			Passes: []mill.Pass{{Stand: "F6", EntryThicknessMM: 3.4, ExitThicknessMM: 2.8, WidthMM: width, ForceKN: 10 * width, SpeedMPerS: 9}}}
	}
	return pieces
}

// mechanics turns every model on.
func mechanics(in *Input) {
	kernel, err := fatigue.NewKernel(fatigue.DefaultPolicy())
	if err != nil {
		panic(err)
	}
	in.Models = &duty.Models{Kind: mill.HotStrip, Crown: heat.CrownModel{SteadyUM: 200, RollingTauMin: 25, IdleTauMin: 30}, Kernel: kernel, Forecast: true}
	in.MinutesPerPiece = 2.5
	for _, set := range []*Set{&in.Work, &in.Backup} {
		for i := range set.Rolls {
			r := &set.Rolls[i]
			r.Condition = duty.Condition{BearingSpanMM: 2800, NeckDiameterMM: 420, AllowableMPa: 150}
			if set.Role == mill.Backup {
				r.Condition.NeckDiameterMM = 900
			}
			lim(r)[practice.MaxDamage] = entered(1)
		}
	}
}

func input(n int) Input {
	return Input{
		Stand: mill.Stand{Name: "F6", Mill: "M", Order: 6, Arrangement: mill.FourHigh, MaxForceKN: 25000, MinRPM: 60, MaxRPM: 500,
			MinStack: 4_200_000, MaxStack: 4_500_000},
		DensityKGPerM3: 7850, Pieces: strip(n), Work: workSet("W-1"), Backup: backupSet("B-1"),
		LengthCV: 0.03, ForceCV: 0.05, YesFrom: 0.95, NoBelow: 0.5, Limits: standing.Given{},
	}
}
