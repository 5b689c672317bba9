package duty

import (
	"math"
	"strings"
	"testing"

	"barrelbook/domain/mill"
	"barrelbook/domain/rollforce"
)

func said(load Load) string { return strings.Join(load.Warnings, "\n") }

// The stand's usual bending force bends the necks of its work rolls as one that
// the piece tells does.
func TestBendingForceOfTheStandCountsInStrength(t *testing.T) {
	of := func(stand, piece float64) float64 {
		s := full(t)
		s.stand.BendingForceKN = stand
		s.mech.rolls[1].AllowableMPa = 160
		p := coil(1250, 15000)
		p.Passes[0].BendingForceKN = piece
		pass := s.loaded(p.Passes[0], forced{kn: 15000})
		strength, err := s.strength(1, p.Passes[0], pass)
		if err != nil {
			t.Fatal(err)
		}
		return strength.NeckBendingMPa
	}
	if none := of(0, 0); none != 0 {
		t.Fatalf("%.1f MPa at the neck without a bending force", none)
	}
	// By hand: 500 kN on (2800 − 1780)/2 mm of arm, 32M/(πd³) with d 420 and the
	// factor of the fillet, 2.62.
	k, _, _, err := rollforce.Fillet(720, 420, rollforce.UsualFilletRadiusMM(420))
	if err != nil {
		t.Fatal(err)
	}
	want := k * 32 * 500e3 * 510 / (math.Pi * 420 * 420 * 420)
	for name, got := range map[string]float64{"of the stand": of(500, 0), "of the piece": of(0, 500), "of the piece before the stand's": of(100, 500)} {
		if math.Abs(got/want-1) > 1e-12 {
			t.Errorf("bending force %s: %.2f MPa at the neck, want %.2f", name, got, want)
		}
	}
}

// A backup roll carries what the bending of its work roll adds: 15 MN and twice
// 500 kN are as 16 MN without; the bearings turn under it too.
func TestBackupRollCarriesTheBendingToo(t *testing.T) {
	s, plain := full(t), full(t)
	s.stand.BendingForceKN = 500
	for _, one := range []*Stand{s, plain} {
		for _, c := range one.mech.rolls {
			c.Neck.Friction = 0.01
		}
	}
	p := coil(1250, 15000).Passes[0]
	bent, err := s.strength(0, p, rollforce.Result{ForceN: 15e6})
	if err != nil {
		t.Fatal(err)
	}
	same, err := plain.strength(0, p, rollforce.Result{ForceN: 16e6})
	if err != nil {
		t.Fatal(err)
	}
	if bent != same || bent.NeckBendingMPa == 0 {
		t.Errorf("%+v with bending, want %+v", bent, same)
	}
	if x, y := s.drivenNM(1, p, rollforce.Result{ForceN: 15e6}), plain.drivenNM(1, p, rollforce.Result{ForceN: 16e6}); x != y || x == 0 {
		t.Errorf("friction takes %.0f N·m with bending, want %.0f", x, y)
	}
	// A force that bends the other way takes the load off, but no further than off.
	s.stand.BendingForceKN = -8000
	if lifted := s.pressedN(0, p, 15e6); lifted != 0 {
		t.Errorf("%.0f N on a backup roll that is lifted off", lifted)
	}
}

// The fillet's radius decides the stress at a neck; where none is entered a sharp
// one is taken, and that is said once.
func TestFilletRadiusDecidesTheNeck(t *testing.T) {
	neck := func(n Neck) (Strength, Load) {
		s := full(t)
		s.stand.BendingForceKN = 900
		for _, c := range s.mech.rolls {
			c.Neck = n
		}
		s.mech.necks = nil
		s.drawNecks()
		load := take(t, s, coil(1250, 15000))
		if again := take(t, s, coil(1250, 15000)); strings.Contains(said(again), "fillet") {
			t.Errorf("said twice: %q", again.Warnings)
		}
		return load.Strengths[1], load
	}
	sharp, load := neck(Neck{})
	if !strings.Contains(said(load), "F6: no fillet radius was entered") {
		t.Errorf("warnings %q, want that no fillet radius was entered", load.Warnings)
	}
	usual, load := neck(Neck{FilletRadiusMM: 21}) // 5 % of 420
	if usual != sharp || strings.Contains(said(load), "fillet") {
		t.Errorf("radius 21 mm: %+v, want %+v; said %q", usual, sharp, load.Warnings)
	}
	round, _ := neck(Neck{FilletRadiusMM: 60})
	drawn, _ := neck(Neck{FilletRadiusMM: 60, FilletBending: 3, FilletTorsion: 2})
	if !(round.Margin > sharp.Margin && drawn.Margin < sharp.Margin) || round.Where != "neck" {
		t.Errorf("margins %.3f sharp, %.3f round, %.3f by the drawing, at the %s", sharp.Margin, round.Margin, drawn.Margin, round.Where)
	}
	if _, load := neck(Neck{FilletRadiusMM: 2}); !strings.Contains(said(load), "outside the range") {
		t.Errorf("radius 2 mm: said %q", load.Warnings)
	}
}

// By hand: 15 MN on an arc of √(360·0.7) mm has half of that as lever arm on each
// roll; the bearings of backup rolls with 900 mm necks take μFd/2·(720/1480) each.
func TestTorqueAgainstTheLimitOfTheStand(t *testing.T) {
	s := full(t)
	rolling := 2 * 15e6 * math.Sqrt(360*0.7) / 2 / 1e6
	if got := take(t, s, coil(1250, 15000)).TorqueKNM; math.Abs(got/rolling-1) > 1e-12 {
		t.Errorf("torque %.3f kNm, want %.3f", got, rolling)
	}
	for _, c := range s.mech.rolls {
		c.Neck.Friction = 0.004
	}
	friction := 2 * 0.004 * 15e6 * 900 / 2 * 720 / 1480 / 1e6
	s.stand.MaxTorqueKNM = rolling + friction + 0.001
	load := take(t, s, coil(1250, 15000))
	if math.Abs(load.TorqueKNM/(rolling+friction)-1) > 1e-12 || strings.Contains(said(load), "torque") {
		t.Errorf("torque %.4f kNm, want %.4f with friction; said %q", load.TorqueKNM, rolling+friction, load.Warnings)
	}
	s.stand.MaxTorqueKNM -= 0.002
	if load = take(t, s, coil(1250, 15000)); !strings.Contains(said(load), "F6: the torque worked out from the force measured, 264 kNm, is over the limit of 264 kNm") {
		t.Errorf("said %q, want the torque over its limit", load.Warnings)
	}
	// Friction loads the neck too, and a weak drive end governs.
	s.mech.rolls[1].Neck.DriveEnd = rollforce.DriveEnd{WobblerDiameterMM: 250}
	strength := take(t, s, coil(1250, 15000)).Strengths[1]
	if want := 1 - math.Sqrt(3)*(rolling+friction)/2*1e6/(0.07*250*250*250)/150; strength.Where != "drive end" || math.Abs(strength.Margin-want) > 1e-9 {
		t.Errorf("%+v, want %.4f at the drive end", strength, want)
	}
}

func predicted(t *testing.T, kind mill.Kind, material string, of func(string) Material, pass mill.Pass) Load {
	t.Helper()
	s := full(t)
	s.mech.m.Kind, s.mech.m.Material = kind, of
	pass.Stand = "F6"
	return take(t, s, mill.Piece{ID: "C", MassT: 10, Material: material, Passes: []mill.Pass{pass}})
}

var (
	slab  = mill.Pass{EntryThicknessMM: 250, ExitThicknessMM: 225, WidthMM: 1500, SpeedMPerS: 2, TemperatureC: 1100}
	sheet = mill.Pass{EntryThicknessMM: 0.8, ExitThicknessMM: 0.792, WidthMM: 1200, SpeedMPerS: 10}
	strip = mill.Pass{EntryThicknessMM: 3.5, ExitThicknessMM: 2.8, WidthMM: 1250, SpeedMPerS: 2, TemperatureC: 950}
)

// What the force model says of a pass is passed on, and its force is doubted the
// more.
func TestForceModelIsHeard(t *testing.T) {
	for _, c := range []struct {
		name string
		kind mill.Kind
		pass mill.Pass
		says string
	}{
		{"gap wider than long", mill.Plate, slab, "the force is underrated"},
		{"elastic arcs", mill.Temper, sheet, "the elastic arcs, which are left out"},
		{"cold piece", mill.Cogging, mill.Pass{EntryThicknessMM: 60, ExitThicknessMM: 50, WidthMM: 300, SpeedMPerS: 2, TemperatureC: 700}, "temperature_c 700 is outside ekelund's range"},
		{"below the transformation", mill.HotStrip, mill.Pass{EntryThicknessMM: 3.5, ExitThicknessMM: 2.8, WidthMM: 1250, SpeedMPerS: 9, TemperatureC: 800}, "below 859 °C the steel is no longer all austenite and turns softer: at 800 °C the estimate is about 1.4 times too high"},
	} {
		load := predicted(t, c.kind, "", nil, c.pass)
		if !strings.Contains(said(load), "F6: ") || !strings.Contains(said(load), c.says) || len(load.Doubts) == 0 || load.ForceDoubt != outsideDoubt || !strings.Contains(said(load), "give or take 25 %") {
			t.Errorf("%s: said %q, doubts %q, doubt %g", c.name, load.Warnings, load.Doubts, load.ForceDoubt)
		}
	}
	if load := predicted(t, mill.HotStrip, "", nil, strip); load.ForceDoubt != predictedDoubt || len(load.Doubts) != 0 || !strings.Contains(said(load), "give or take 10 %") {
		t.Errorf("an ordinary pass: said %q, doubt %g", load.Warnings, load.ForceDoubt)
	}
}

// The material of a piece changes its force: by its analysis inside the range of
// the expression, by the factor of the practice outside it.
func TestMaterialChangesTheForce(t *testing.T) {
	of := func(name string) Material {
		return map[string]Material{
			"S700":  {CarbonPct: 0.08, ManganesePct: 1.8, Analysed: true, FlowFactor: 1.4},
			"C60":   {CarbonPct: 0.6, ManganesePct: 0.75, Analysed: true},
			"18-8":  {FlowFactor: 1.7},
			"18Cr8": {CarbonPct: 0.05, ChromiumPct: 18, Analysed: true},
			"DX":    {ColdFlowStressMPa: 450},
		}[name]
	}
	plain := predicted(t, mill.HotStrip, "", of, strip)
	for name, want := range map[string]float64{"18-8": 1.7, "S700": 0} {
		got := predicted(t, mill.HotStrip, name, of, strip)
		if ratio := got.ForceKN / plain.ForceKN; want > 0 && math.Abs(ratio-want) > 1e-9 || want == 0 && (ratio < 1.3 || ratio > 1.5) {
			t.Errorf("%s: %.3f times the force of plain steel", name, ratio)
		}
	}
	if c60 := predicted(t, mill.HotStrip, "C60", of, strip); !(c60.ForceKN > 1.02*plain.ForceKN) || strings.Contains(said(c60), "carbon") {
		t.Errorf("C60: %.0f kN against %.0f; said %q", c60.ForceKN, plain.ForceKN, c60.Warnings)
	}
	// Ekelund takes manganese too: (1.4+C+Mn+0.3Cr).
	bar := mill.Pass{EntryThicknessMM: 20, ExitThicknessMM: 14, WidthMM: 1000, SpeedMPerS: 0.001, TemperatureC: 1000}
	a, b := predicted(t, mill.Bar, "", of, bar), predicted(t, mill.Bar, "C60", of, bar)
	if ratio, want := b.ForceKN/a.ForceKN, (1.4+0.6+0.75)/(1.4+0.15+0.6); math.Abs(ratio/want-1) > 2e-3 {
		t.Errorf("bar of C60: %.4f times the force, want %.4f", ratio, want)
	}
	if c := predicted(t, mill.Bar, "18-8", of, bar); math.Abs(c.ForceKN/a.ForceKN-1.7) > 1e-9 || math.Abs(c.TorqueKNM/a.TorqueKNM-1.7) > 1e-9 {
		t.Errorf("bar of 18-8: %.4f times the force, %.4f the torque, want 1.7", c.ForceKN/a.ForceKN, c.TorqueKNM/a.TorqueKNM)
	}
	// Outside the range without a factor it is said; a name nobody knows too.
	if load := predicted(t, mill.HotStrip, "18Cr8", of, strip); !strings.Contains(said(load), "chromium_pct 18 is outside the hot flow stress's range") {
		t.Errorf("said %q", load.Warnings)
	}
	if load := predicted(t, mill.HotStrip, "X1", of, strip); !strings.Contains(said(load), "no practice knows the material X1") || load.ForceKN != plain.ForceKN {
		t.Errorf("said %q, %.0f kN", load.Warnings, load.ForceKN)
	}
	soft, usual := predicted(t, mill.ColdTandem, "DX", of, mill.Pass{EntryThicknessMM: 2, ExitThicknessMM: 1.5, WidthMM: 1200}), predicted(t, mill.ColdTandem, "", of, mill.Pass{EntryThicknessMM: 2, ExitThicknessMM: 1.5, WidthMM: 1200})
	if !(soft.ForceKN < 0.8*usual.ForceKN) || strings.Contains(said(soft), "flow stress") {
		t.Errorf("cold: %.0f kN soft, %.0f usual; said %q", soft.ForceKN, usual.ForceKN, soft.Warnings)
	}
}

// A mill of a kind nobody knows has no force model, and the answer says so.
func TestUnknownKindOfMillPredictsNothing(t *testing.T) {
	load := predicted(t, "foil", "", nil, strip)
	if load.ForceKN != 0 || !strings.Contains(said(load), `no force model is known for a mill of kind "foil"`) {
		t.Errorf("%.0f kN, said %q", load.ForceKN, load.Warnings)
	}
}
