package finish

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/duty"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
	"barrelbook/domain/wear"
)

// bars are n billets of 2 t through groove 1 of a two-high stand of four
// grooves, of which groove 1 has had 70 t, worked by hand below.
func bars(n int) Input {
	roll := func(name string, p mill.Position) Roll {
		return Roll{Roll: duty.Roll{Number: name, Position: p, DiameterMM: 340, BarrelLengthMM: 650, ElasticModulusMPa: 170000, PoissonRatio: 0.28,
			GrooveDepthMM: []float64{8, 8, 8, 8}, GrooveUMPerKT: 1500}, Limits: standing.Given{practice.MaxGrooveT: entered(100)}, SinceGrind: through(70, 0, 0, 55)}
	}
	in := Input{Stand: mill.Stand{Name: "BF1", Mill: "bar", Order: 1, Arrangement: mill.TwoHigh}, DensityKGPerM3: 7850, YesFrom: 0.95, NoBelow: 0.5, LengthCV: 0.03, ForceCV: 0.05,
		Work: Set{Name: "FR-1", Role: mill.Work, Mounted: true, Rolls: []Roll{roll("FR-1a", mill.TopWork), roll("FR-1b", mill.BottomWork)}, Costs: Costs{Stop: 1000, PlannedStop: 100, Change: 400}}}
	for i := range n {
		in.Pieces = append(in.Pieces, mill.Piece{ID: string(rune('a' + i)), MassT: 2, WidthMM: 30, EntryThicknessMM: 30,
			Passes: []mill.Pass{{Stand: "BF1", EntryThicknessMM: 30, ExitThicknessMM: 22, WidthMM: 30, ForceKN: 150, SpeedMPerS: 5, Groove: 1}}})
	}
	return in
}

// through is what has been borne by so many tonnes through each groove.
func through(t ...float64) (u duty.Usage) {
	for i, v := range t {
		u.Grooves = append(u.Grooves, duty.GrooveUse{Number: i + 1, TonnageT: v})
	}
	return u
}

// 70 t so far and 20 pieces of 2 t are 110 t of 100: the 16th piece (72, 74 …
// 102 t) passes the limit, so the change to groove 2 comes before it, and groove
// 2 then bears 5 pieces, 10 t. Groove 4 is used and no spare. At 340 − 2·8 =
// 324 mm and 5 m/s the roll turns at 60·5/(π·0.324) = 294.73 rpm.
func TestGrooveByHand(t *testing.T) {
	in := bars(20)
	in.Stand.MaxRPM = 400
	in.Stops = []mill.PlannedStop{{BeforePiece: 16, Name: "size setting"}}
	a := check(t, in)
	m := margin(t, a, "FR-1b", limit.GrooveTonnage)
	if m.Groove != 1 || m.Now != 70 || m.AtEnd != 110 || m.Reached == nil || m.Reached.Piece != 16 || a.Verdict != No {
		t.Fatalf("groove margin %+v, verdict %s; want groove 1 from 70 to 110 t, passed by piece 16", m, a.Verdict)
	}
	if !strings.Contains(a.Sentence, "groove 1 of FR-1a reaches its 100 t at piece 16") {
		t.Errorf("sentence %q", a.Sentence)
	}
	if len(a.Remedies) == 0 {
		t.Fatal("no remedy; want a change of groove")
	}
	r := a.Remedies[0]
	if r.What != ChangeGroove || r.Groove != 2 || r.BeforePiece != 16 || r.Verdict != Yes || r.Cost != 100 || r.Set != "" {
		t.Errorf("first remedy %+v, want a change to groove 2 before piece 16 at the planned stop (100), a yes", r)
	}
	// With a planned stop before piece 9 the spare groove can be taken up there,
	// at its cost, and without one an unplanned stop is needed at piece 16.
	in.Stops = []mill.PlannedStop{{BeforePiece: 9, Name: "size setting"}}
	early := check(t, in).Remedies
	if len(early) < 2 || early[0].BeforePiece != 9 || early[0].Cost != 100 || early[1].BeforePiece != 16 || early[1].Cost != 1000 {
		t.Errorf("remedies %+v, want groove 2 before piece 9 for 100, then before piece 16 for 1000", early)
	}
	if m := margin(t, a, "FR-1a", "speed_high"); math.Abs(m.AtEnd-294.73) > 0.01 {
		t.Errorf("turns %.3f rpm, want 294.73 at the bottom of the groove", m.AtEnd)
	}
	if a.More.Pieces != 15 {
		t.Errorf("can roll %d more, want 15", a.More.Pieces)
	}
}

// Without spares left only rolls can be changed.
func TestNoSpareGrooveNoGrooveRemedy(t *testing.T) {
	in := bars(20)
	for i := range in.Work.Rolls {
		in.Work.Rolls[i].SinceGrind = through(70, 3, 2, 55)
	}
	for _, r := range check(t, in).Remedies {
		if r.What == ChangeGroove {
			t.Errorf("remedy %+v with no spare groove", r)
		}
	}
}

// Tonnes are conserved: whatever groove a piece goes through, the sum over the
// grooves is the tonnage of the programme.
func TestGrooveTonnesConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := bars(rapid.IntRange(1, 20).Draw(t, "pieces"))
		total := 0.0
		for i := range in.Pieces {
			in.Pieces[i].MassT = rapid.Float64Range(0.1, 5).Draw(t, "mass")
			in.Pieces[i].Passes[0].Groove = rapid.IntRange(1, 4).Draw(t, "groove")
			total += in.Pieces[i].MassT
		}
		a, err := Check(in)
		if err != nil {
			t.Fatal(err)
		}
		added := 0.0
		for _, m := range a.Margins {
			if m.Criterion == limit.GrooveTonnage && m.Roll == "FR-1a" {
				added += m.AtEnd - m.Now
			}
		}
		if math.Abs(added-total) > 1e-9*total {
			t.Fatalf("grooves take %v t of %v t", added, total)
		}
	})
}

// A textured roll of Ra 3.0 tending to 0.8 over 320 km is at 0.8 + 2.2·e^(−1) =
// 1.609335 after 320 km; it comes down to 1.9 after 320·ln 2 = 221.807 km.
func TestRoughnessByHand(t *testing.T) {
	in := input(15)
	wearLimits(&in, 1e5)
	for i := range in.Work.Rolls {
		r := &in.Work.Rolls[i]
		r.Roughness, lim(r)[practice.RoughnessLimitUM] = wear.Roughness{StartUM: 3, FloorUM: 0.8, ScaleKM: 320}, entered(1.9)
		r.SinceGrind.RolledKM = 215
	}
	// Nine pieces of 0.8271975 km lead to 222.445 km, eight to 221.618 km.
	m := margin(t, check(t, in), "W-1a", "roughness")
	if m.Reached == nil || m.Reached.Piece != 9 {
		t.Errorf("Ra 1.9 reached at %+v, want piece 9", m.Reached)
	}
	if want := 0.8 + 2.2*math.Exp(-(215+15*0.8271975)/320); math.Abs(m.AtEnd-want) > 1e-6 {
		t.Errorf("Ra at the end %.6f, want %.6f", m.AtEnd, want)
	}
	if want := cdf(math.Log(6.80710/(15*0.8271975)) / limit.LogSD(in.LengthCV)); math.Abs(m.Probability-want) > 1e-4 {
		t.Errorf("probability %.6f, want %.6f", m.Probability, want)
	}
}

// 28 µm a piece: 100 pieces since the grind and 15 to come are 3220 µm; 3200 is
// passed by the 15th.
func TestFireCracksByHand(t *testing.T) {
	in := input(15)
	wearLimits(&in, 1e5)
	for i := range in.Work.Rolls {
		r := &in.Work.Rolls[i]
		lim(r)[practice.FireCrackUMPerPiece], lim(r)[practice.MaxFireCrackUM], r.SinceGrind.Pieces = entered(28), entered(3200), 100
	}
	a := check(t, in)
	m := margin(t, a, "W-1a", "fire_crack")
	if m.AtEnd != 3220 || m.Reached == nil || m.Reached.Piece != 15 || a.Probability != 0 {
		t.Errorf("fire cracks %+v with probability %v, want 3220 µm passed by piece 15", m, a.Probability)
	}
}

// What the last grind left, or a test measured after 40 of the pieces, comes
// before what grows: 200 µm and 60 and 15 pieces of 28 µm are 2300.
func TestFireCracksLeftByHand(t *testing.T) {
	in := input(15)
	wearLimits(&in, 1e5)
	for i := range in.Work.Rolls {
		r := &in.Work.Rolls[i]
		lim(r)[practice.FireCrackUMPerPiece], lim(r)[practice.MaxFireCrackUM], r.SinceGrind.Pieces = entered(28), entered(3200), 100
		r.FireCracks = standing.FireCracks{LeftUM: 200, Counted: 40}
	}
	if m := margin(t, check(t, in), "W-1a", "fire_crack"); m.Now != 1880 || m.AtEnd != 2300 {
		t.Errorf("fire cracks %+v, want 1880 µm now and 2300 at the end", m)
	}
}

// Common practice, no source: a temper mill reduces by up to 4 %.
func TestTemperReduction(t *testing.T) {
	for _, c := range []struct {
		out     float64
		blocked bool
	}{{0.99, false}, {0.96, false}, {0.9599, true}} {
		in := input(3)
		wearLimits(&in, 1e5)
		in.Limits.(standing.Given)[practice.MaxReductionPct] = entered(4)
		for i := range in.Pieces {
			for k := range in.Pieces[i].Passes {
				in.Pieces[i].Passes[k].EntryThicknessMM, in.Pieces[i].Passes[k].ExitThicknessMM = 1, c.out
			}
		}
		if a := check(t, in); (a.Verdict == Blocked) != c.blocked {
			t.Errorf("reduction of %.4g %%: %s (%v), want blocked %v", 100*(1-c.out), a.Verdict, a.Blocks, c.blocked)
		}
	}
}

// Gears laid out for 340 and 340 mm: rolls of 338 beside 340 mm are off by
// 0.588 %.
func TestDriveBlockRatio(t *testing.T) {
	for _, c := range []struct {
		tolerance float64
		blocked   bool
	}{{0.6, false}, {0.5, true}} {
		in := bars(3)
		in.Stand.ReferenceWork = 340_000
		for i := range in.Work.Rolls {
			in.Work.Rolls[i].DiameterMM = 338
		}
		in.Limits = standing.Given{practice.DriveRatioTolerancePct: entered(c.tolerance)}
		in.Drive = &Drive{Block: "finishing", Neighbours: []Neighbour{{Stand: mill.Stand{Name: "BF2", ReferenceWork: 340_000}, DiameterMM: 340}}}
		a := check(t, in)
		m := margin(t, a, "FR-1a", "drive_ratio")
		if math.Abs(m.AtEnd-100*2.0/340) > 1e-9 || (a.Verdict == Blocked) != c.blocked {
			t.Errorf("deviation %.6f %% of %g: %s, want %.6f and blocked %v", m.AtEnd, c.tolerance, a.Verdict, 100*2.0/340, c.blocked)
		}
	}
}
