package duty

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/contact"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/heat"
	"barrelbook/domain/mill"
	"barrelbook/domain/rollload"
)

// TestPressureIsTheSolvers: the pressure booked is that of the load solver at
// the worst station, at 60 slices within 2e-3 of 400 slices.
func TestPressureIsTheSolvers(t *testing.T) {
	s := full(t)
	for i := range s.mech.rolls {
		s.mech.rolls[i].CrownUM = 60
	}
	load := take(t, s, coil(1250, 15000))
	pair := rollload.Stack{Work: s.beam(1, shifts{}), Backup: s.beam(0, shifts{}), ApproachConstant: contact.DefaultApproachConstant}
	fine, err := rollload.NewCoefficients(pair, rollload.Options{Slices: 400})
	if err != nil {
		t.Fatal(err)
	}
	want, err := rollload.NewSolver(fine).Solve(&rollload.Load{
		Strip: rollload.Points{XMM: []float64{-625, 625}, Value: []float64{12000, 12000}},
		Work:  rollload.Profile{CrownUM: 60}, Backup: rollload.Profile{CrownUM: 60}})
	if err != nil {
		t.Fatal(err)
	}
	for i, u := range load.Rolls {
		if math.Abs(u.MaxPeakPressureMPa/want.PeakPressureMPa-1) > 1e-3 {
			t.Errorf("roll %d: %.3f MPa, at 400 slices %.3f", i, u.MaxPeakPressureMPa, want.PeakPressureMPa)
		}
	}
	for j, q := range s.lineLoad(0) {
		if math.Abs(q-want.StationLineLoadNPerMM[j]) > 2e-3*want.MeanLineLoadNPerMM {
			t.Errorf("station %d: %.2f N/mm, at 400 slices %.2f", j, q, want.StationLineLoadNPerMM[j])
		}
	}
}

// TestEvenLoadByHand: without spans and necks the load is even, and all
// follows by hand: 15 MN on 1780 mm are 8426.97 N/mm; with E* 113186.81 MPa and
// R = 1/(1/360+1/740) mm, p₀ = √(qE*/(πR)).
func TestEvenLoadByHand(t *testing.T) {
	s, err := NewStand(finishing(), 7850, fourHigh())
	if err != nil {
		t.Fatal(err)
	}
	s.Use(Models{Kind: mill.HotStrip}, make([]*Condition, 4))
	load := take(t, s, coil(1250, 15000))
	q := 15e6 / 1780
	want := math.Sqrt(q * 113186.813 / (math.Pi / (1./360 + 1./740)))
	if got := load.Rolls[0].MaxPeakPressureMPa; math.Abs(got/want-1) > 1e-7 {
		t.Errorf("even load: %.6f MPa, want %.6f", got, want)
	}
	if len(load.Warnings) != 1 || !strings.Contains(load.Warnings[0], "no bearing span of WT") {
		t.Errorf("warnings %q, want that the span is not known", load.Warnings)
	}
	if again := take(t, s, coil(1250, 15000)); len(again.Warnings) != 0 {
		t.Errorf("said twice: %q", again.Warnings)
	}
	// Backup wear at an even load: 0.1 µm/km · q/10 · l everywhere.
	km := load.Rolls[0].RolledKM
	for _, w := range load.Rolls[0].WearUM {
		if math.Abs(w-0.1*q/1e4*km) > 1e-12 {
			t.Fatalf("backup wear %.9f µm, want %.9f", w, 0.1*q/1e4*km)
		}
	}
}

// TestReuseIsNearSolvingAlways: shapes reused between pieces against a stand
// that solves for every piece, over a programme with changing widths, forces and
// growing wear and heat.
func TestReuseIsNearSolvingAlways(t *testing.T) {
	t.Run("for the books", func(t *testing.T) { reuseIsNear(t, forBooks, 0.02, 0.04, 0.06, 60) })
	t.Run("for a forecast", func(t *testing.T) { reuseIsNear(t, forForecast, 0.03, 0.06, 0.1, 40) })
}

func reuseIsNear(t *testing.T, c closeness, pressure, load, damage float64, most int) {
	reuse, always := full(t), full(t)
	reuse.mech.close = c
	reuse.makeSolvers()
	solves := 0
	for n := range 150 {
		force := 14000 + 600*math.Sin(float64(n)) + 20*float64(n)
		p := coil(1500-10*float64(n/12), force)
		reuse.Rest(1)
		always.Rest(1)
		before := reuse.halves[0].solved
		a := take(t, reuse, p)
		if reuse.halves[0].solved != before {
			solves++
		}
		for k := range always.halves {
			always.settle(&always.halves[k], &always.halves[k].answer)
			always.halves[k].answer = answer{}
			always.halves[k].answer.reset()
		}
		b := take(t, always, p)
		for i := range a.Rolls {
			if x, y := a.Rolls[i].MaxPeakPressureMPa, b.Rolls[i].MaxPeakPressureMPa; math.Abs(x/y-1) > pressure {
				t.Fatalf("piece %d roll %d: %.2f MPa reusing shapes, %.2f solving", n, i, x, y)
			}
		}
		x, y := reuse.lineLoad(0), always.lineLoad(0)
		for j := range x {
			if math.Abs(x[j]-y[j]) > load*force*1000/1780 {
				t.Fatalf("piece %d station %d: %.1f N/mm reusing shapes, %.1f solving", n, j, x[j], y[j])
			}
		}
	}
	reuse.Settle()
	always.Settle()
	for i := range reuse.mech.rolls {
		x, y := reuse.mech.rolls[i].Damage.Worst(), always.mech.rolls[i].Damage.Worst()
		if math.Abs(x.Damage/y.Damage-1) > damage {
			t.Errorf("roll %d: damage %.6g reusing shapes, %.6g solving", i, x.Damage, y.Damage)
		}
	}
	if solves == 0 || solves > most {
		t.Errorf("%d solves in 150 pieces, want some and at most %d", solves, most)
	}
}

// TestDamageIsTheFields: one piece's damage is that of the fatigue field under
// the pass's own line load.
func TestDamageIsTheFields(t *testing.T) {
	s := full(t)
	load := take(t, s, coil(1250, 15000))
	s.Settle()
	want, err := fatigue.NewField(41, fatigue.DefaultLayers, 0.6)
	if err != nil {
		t.Fatal(err)
	}
	line := s.lineLoad(0)
	pressure, half := make([]float64, 41), make([]float64, 41)
	for j, q := range line {
		pressure[j], half[j] = s.halves[0].laws[0].PeakPressure(q), s.halves[0].laws[0].HalfWidth(q)
	}
	if err := want.Add(s.mech.m.Kernel, load.Rolls[0].Revolutions, pressure, half); err != nil {
		t.Fatal(err)
	}
	for j := range want.Damage {
		if got := s.mech.rolls[0].Damage.Damage[j]; math.Abs(got-want.Damage[j]) > 1e-12*want.Worst().Damage {
			t.Fatalf("cell %d: %.9g, want %.9g", j, got, want.Damage[j])
		}
	}
	if s.mech.rolls[0].Damage.Worst().Damage <= 0 {
		t.Error("no damage was counted")
	}
}

func TestThermalCrownRisesAndFalls(t *testing.T) {
	s := full(t)
	last := 0.0
	for range 40 {
		take(t, s, coil(1250, 15000))
		s.Rest(0.5)
		if now := s.mech.rolls[1].Thermal.CrownUM(); now <= last || now >= 200 {
			t.Fatalf("crown %.3f µm after %.3f, want it to rise towards 200", now, last)
		} else {
			last = now
		}
	}
	if s.mech.rolls[0].Thermal != (heat.Growth{}) {
		t.Errorf("the backup roll grew %.3f µm, want 0", s.mech.rolls[0].Thermal[0])
	}
	s.Rest(600)
	if now := s.mech.rolls[1].Thermal.CrownUM(); now > 1e-6 {
		t.Errorf("crown %.9f µm after ten hours' rest", now)
	}
	// A crown presses more in the middle.
	cold, hot := full(t), full(t)
	warm, err := hot.mech.m.Crown.Roll(heat.Growth{}, 1780, heat.Strip{FromMM: -625, ToMM: 625}, 300)
	if err != nil {
		t.Fatal(err)
	}
	hot.mech.rolls[1].Thermal = warm
	a, b := take(t, cold, coil(1250, 15000)), take(t, hot, coil(1250, 15000))
	if b.Rolls[1].MaxPeakPressureMPa <= a.Rolls[1].MaxPeakPressureMPa {
		t.Errorf("pressure %.1f MPa hot, %.1f cold", b.Rolls[1].MaxPeakPressureMPa, a.Rolls[1].MaxPeakPressureMPa)
	}
}

// The heat lies where the strip was: after narrow strips the barrel has fallen off
// just beside them, after wide ones near its ends, whatever the middle has grown.
func TestHeatLiesUnderTheStrip(t *testing.T) {
	along := func(width float64) []float64 {
		s := full(t)
		for range 200 {
			s.heatUp(mill.Pass{WidthMM: width}, 5)
		}
		at := make([]float64, 41)
		gridStations.Along(&s.mech.rolls[1].Thermal, at)
		return at
	}
	narrow, wide := along(800), along(1500)
	// 556 mm from the middle (station 33 of 41 on 1780 mm) is 156 mm beside the
	// narrow strip: well under half of the middle; and under the wide one.
	if !(narrow[33] < 0.25*narrow[20] && wide[33] > 0.8*wide[20] && narrow[20] > 190 && wide[20] > 195) {
		t.Errorf("growth %.1f of %.1f µm beside a narrow strip, %.1f of %.1f under a wide one", narrow[33], narrow[20], wide[33], wide[20])
	}
}

// After a change of the top work roll the pair under it stays warm and the new
// roll warms at its own rate; backup rolls warm slower than both.
func TestRollsOfAStandWarmAtTheirOwnRates(t *testing.T) {
	s := full(t)
	s.mech.m.BackupCrown = heat.CrownModel{SteadyUM: 60, RollingTauMin: 120, IdleTauMin: 120}
	run := func(pieces int) {
		for range pieces {
			s.heatUp(mill.Pass{WidthMM: 1250}, 2)
		}
	}
	run(100)
	s.mech.rolls[1].Thermal = heat.Growth{} // a cold roll goes in at the top
	top, bottom := s.mech.rolls[1], s.mech.rolls[2]
	run(5)
	if x, y := top.Thermal.CrownUM(), bottom.Thermal.CrownUM(); !(x > 40 && x < 0.5*y) {
		t.Errorf("crown %.1f µm of the new roll, %.1f of the old", x, y)
	}
	if s.twins(false) {
		t.Error("a cold and a warm half are taken as alike")
	}
	if b := s.mech.rolls[0].Thermal.CrownUM(); !(b > 20 && b < 60) {
		t.Errorf("backup roll: crown %.1f µm", b)
	}
	s.RestRoll(1, 1e4)
	if top.Thermal.CrownUM() > 1e-6 || bottom.Thermal.CrownUM() < 100 {
		t.Error("one roll's rest cooled the wrong one")
	}
}

func TestForcePredicted(t *testing.T) {
	for _, c := range []struct {
		name      string
		kind      mill.Kind
		pass      mill.Pass
		low, high float64 // kN
		says      string
	}{
		// The handbook case of Ekelund, 8472 kN at 0.1 % carbon and 0.5 % manganese;
		// 0.15 and 0.6 % are a little stronger: 8472·(1.4+0.75)/(1.4+0.6).
		{"cogging by Ekelund", mill.Cogging, mill.Pass{EntryThicknessMM: 20, ExitThicknessMM: 14, WidthMM: 1000, SpeedMPerS: 2, TemperatureC: 1000}, 8850, 9150, "by ekelund with carbon 0.15 % assumed"},
		{"strip by Sims", mill.HotStrip, mill.Pass{EntryThicknessMM: 3.5, ExitThicknessMM: 2.8, WidthMM: 1250, SpeedMPerS: 9, TemperatureC: 900}, 7000, 16000, "by sims"},
		{"strip, nothing known", mill.HotStrip, mill.Pass{EntryThicknessMM: 3.5, ExitThicknessMM: 2.8, WidthMM: 1250}, 5000, 16000, "950 °C assumed, 2 m/s assumed"},
		{"cold by Bland and Ford", mill.ColdTandem, mill.Pass{EntryThicknessMM: 2, ExitThicknessMM: 1.5, WidthMM: 1200}, 10000, 30000, "a flow stress of 600 MPa"},
		{"no draft", mill.HotStrip, mill.Pass{EntryThicknessMM: 3, ExitThicknessMM: 3, WidthMM: 1200}, 0, 0, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			rolls := fourHigh()
			rolls[1].DiameterMM, rolls[2].DiameterMM = 800, 800
			s, err := NewStand(finishing(), 7850, rolls)
			if err != nil {
				t.Fatal(err)
			}
			m := models(t)
			m.Kind = c.kind
			s.Use(m, conditions(t, rolls))
			c.pass.Stand = "F6"
			load := take(t, s, mill.Piece{ID: "C", MassT: 10, Passes: []mill.Pass{c.pass}})
			if load.ForceKN < c.low || load.ForceKN > c.high || load.Predicted != (c.high > 0) {
				t.Errorf("force %.0f kN, predicted %t, want %g to %g", load.ForceKN, load.Predicted, c.low, c.high)
			}
			if c.says != "" && !strings.Contains(strings.Join(load.Warnings, "\n"), c.says) {
				t.Errorf("warnings %q, want in them %q", load.Warnings, c.says)
			}
			if load.Overload {
				t.Error("a predicted force was called an overload of the books")
			}
		})
	}
	t.Run("no flattened radius", func(t *testing.T) {
		s := full(t)
		s.mech.m.Kind = mill.ColdTandem
		load := take(t, s, mill.Piece{ID: "C", MassT: 10, Passes: []mill.Pass{{Stand: "F6", EntryThicknessMM: 0.05, ExitThicknessMM: 0.03, WidthMM: 1000}}})
		if load.ForceKN != 0 || !strings.Contains(strings.Join(load.Warnings, "\n"), "none can be predicted") || load.Rolls[1].RolledKM == 0 {
			t.Errorf("force %.0f kN, warnings %q, %g km; want a warning and the length all the same", load.ForceKN, load.Warnings, load.Rolls[1].RolledKM)
		}
	})
}

func TestStrengthTold(t *testing.T) {
	s := full(t)
	s.mech.rolls[0].AllowableMPa = 10
	load := take(t, s, coil(1250, 25000))
	if said := strings.Join(load.Warnings, "\n"); !strings.Contains(said, "BT has a margin of -") || !strings.Contains(said, "over the margin of 0 % entered") {
		t.Errorf("warnings %q, want the margin of BT", load.Warnings)
	}
	// A little in hand: the piece may not come much colder.
	s = full(t)
	margin := take(t, s, coil(1250, 15000)).Strengths[0].Margin
	s.mech.rolls[0].AllowableMPa = 150 * (1 - margin) / 0.95 // 5 % in hand
	load = take(t, s, coil(1250, 15000))
	if said := strings.Join(load.Warnings, "\n"); !strings.Contains(said, "BT has a margin of 5 %") || !strings.Contains(said, "in a piece as cold as") {
		t.Errorf("warnings %q, want the temperature at which the margin of BT is gone", load.Warnings)
	}
}

// TestNeverNonFinite: whatever a piece and the rolls are like, what is booked
// is finite and not negative, or the piece is refused.
func TestNeverNonFinite(t *testing.T) {
	kernel, err := fatigue.NewKernel(fatigue.DefaultPolicy())
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		rolls := fourHigh()
		if rapid.Bool().Draw(t, "two-high") {
			rolls = rolls[1:3]
		}
		list := make([]*Condition, len(rolls))
		for i := range rolls {
			rolls[i].DiameterMM = rapid.Float64Range(100, 1800).Draw(t, "diameter")
			rolls[i].BarrelLengthMM = rapid.Float64Range(200, 4000).Draw(t, "barrel")
			list[i] = &Condition{BearingSpanMM: rapid.Float64Range(0, 5000).Draw(t, "span"), NeckDiameterMM: rapid.Float64Range(0, 1500).Draw(t, "neck"),
				CrownUM: rapid.Float64Range(-800, 800).Draw(t, "crown"), Thermal: heat.Growth{rapid.Float64Range(0, 400).Draw(t, "thermal")}, AllowableMPa: rapid.Float64Range(0, 300).Draw(t, "allowable")}
			list[i].Damage, _ = fatigue.NewField(41, 20, 0.5)
		}
		kind := rapid.SampledFrom([]mill.Kind{mill.Cogging, mill.Billet, mill.Bar, mill.Plate, mill.HotStrip, mill.ColdTandem, mill.Temper}).Draw(t, "kind")
		s, err := NewStand(finishing(), 7850, rolls)
		if err != nil {
			t.Fatal(err)
		}
		m := Models{Kind: kind, Kernel: kernel}
		m.Crown.SteadyUM, m.Crown.RollingTauMin, m.Crown.IdleTauMin = rapid.Float64Range(0, 300).Draw(t, "steady"), 20, 30
		s.Use(m, list)
		for range 4 {
			in := rapid.Float64Range(0.1, 600).Draw(t, "in")
			pass := mill.Pass{Stand: "F6", EntryThicknessMM: in, ExitThicknessMM: in * rapid.Float64Range(0.3, 1).Draw(t, "ratio"),
				WidthMM: rapid.Float64Range(20, 4500).Draw(t, "width"), LateralOffsetMM: rapid.Float64Range(-200, 200).Draw(t, "offset"),
				SpeedMPerS: rapid.Float64Range(0, 30).Draw(t, "speed"), TemperatureC: rapid.Float64Range(-50, 1300).Draw(t, "temperature"),
				BendingForceKN: rapid.Float64Range(-3000, 3000).Draw(t, "bending")}
			if rapid.Bool().Draw(t, "measured") {
				pass.ForceKN = rapid.Float64Range(1, 80000).Draw(t, "force")
			}
			load, err := s.Take(mill.Piece{ID: "C", MassT: rapid.Float64Range(0.1, 60).Draw(t, "mass"), Passes: []mill.Pass{pass}}, 0)
			if err != nil {
				continue
			}
			s.Rest(rapid.Float64Range(0, 30).Draw(t, "rest"))
			for i, u := range load.Rolls {
				for _, v := range append([]float64{u.RolledKM, u.Revolutions, u.ExposureKM, u.MaxForceKN, u.MaxPeakPressureMPa, s.mech.rolls[i].Thermal[0]}, u.WearUM...) {
					if !(v >= 0) || math.IsInf(v, 0) {
						t.Fatalf("roll %d: %v of %+v", i, v, load)
					}
				}
			}
		}
		s.Settle()
		for i := range list {
			if err := s.mech.rolls[i].Damage.Check(); err != nil {
				t.Fatalf("damage of roll %d: %v", i, err)
			}
		}
	})
}

// TestReversingPassesAreRecalled: the five passes of a reversing stand differ
// and come again with each piece of an order; each is solved once, and gives
// what solving it anew gives.
func TestReversingPassesAreRecalled(t *testing.T) {
	stand, fresh := full(t), full(t)
	// A thermal crown that grows would ask for new solutions by itself.
	stand.mech.m.Crown, fresh.mech.m.Crown = heat.CrownModel{}, heat.CrownModel{}
	solved := map[solvedFor]bool{}
	for n := range 10 {
		for pass := range 5 {
			p := coil(1500, 9000+2500*float64(pass))
			a := take(t, stand, p)
			solved[stand.halves[0].solved] = true
			fresh.halves[0].answer, fresh.halves[1].answer = answer{}, answer{}
			fresh.halves[0].answer.reset()
			fresh.halves[1].answer.reset()
			fresh.halves[0].kept, fresh.halves[1].kept = nil, nil
			b := take(t, fresh, p)
			if x, y := a.Rolls[0].MaxPeakPressureMPa, b.Rolls[0].MaxPeakPressureMPa; math.Abs(x/y-1) > 0.02 {
				t.Fatalf("piece %d pass %d: %.2f MPa recalled, %.2f solved anew", n, pass, x, y)
			}
		}
	}
	if len(solved) > 15 {
		t.Errorf("50 passes of five kinds were solved %d times", len(solved))
	}
}
