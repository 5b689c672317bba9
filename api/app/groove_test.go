package app_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/finish"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

// bars is a bar mill with one finishing stand and two sets of rolls with four
// grooves 8 mm deep, 340 mm in diameter. A groove is given 100 t and wears by
// 1.5 mm on diameter per 1000 t.
func bars(t testing.TB) *works {
	w := newWorks(t)
	_, err := w.CreateMill(w.ctx, engineer, mill.Mill{Name: "bar", Kind: mill.Bar})
	w.must(err)
	_, err = w.CreateStand(w.ctx, engineer, mill.Stand{Name: "BF1", Mill: "bar", Order: 1, Arrangement: mill.TwoHigh})
	w.must(err)
	w.practice("grooves", practice.Scope{Mill: "bar"}, map[practice.Key]float64{practice.MaxGrooveT: 100, practice.GrooveWearUMPerKT: 1500, practice.RedressMarginUM: 500})
	for _, set := range []string{"FA", "FB"} {
		for _, side := range []string{"T", "B"} {
			_, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, grooved(set+"-"+side, 4))
			w.must(err)
		}
		_, err := w.BuildSet(w.ctx, engineer, record.SetInput{Name: set, Top: set + "-T", Bottom: set + "-B"})
		w.must(err)
	}
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "BF1", Role: mill.Work, SetIn: "FA"})
	return w
}

func grooved(number string, n int) roll.Received {
	r := roll.Roll{Number: number, Role: mill.Work, Grade: "steel", NewDiameter: 340_000, BarrelLength: 650_000, Scrap: roll.ScrapLimits{Nominal: 295_000}}
	for i := range n {
		r.Grooves = append(r.Grooves, roll.Groove{Number: i + 1, Depth: 8_000, Title: "round 16"})
	}
	return roll.Received{Roll: r, Mill: "bar", Diameter: r.NewDiameter, Ground: true}
}

// billet is 2 t through one groove.
func billet(id string, groove int) mill.Piece {
	return mill.Piece{ID: id, Mill: "bar", MassT: 2, WidthMM: 20, EntryThicknessMM: 20,
		Passes: []mill.Pass{{Stand: "BF1", ExitThicknessMM: 15, ForceKN: 80, SpeedMPerS: 12, Groove: groove}}}
}

func (w *works) rollBars(n, groove int) {
	w.t.Helper()
	var pieces []mill.Piece
	for range n {
		w.pass(time.Minute)
		p := billet(fmt.Sprintf("b-%d", w.clock.now.Unix()), groove)
		p.Source, p.RolledAt = "level2", w.clock.now.Add(-time.Second) // before what is done next
		pieces = append(pieces, p)
	}
	for _, a := range w.importAll(pieces...) {
		if a.Status != record.PieceStored {
			w.t.Fatalf("a bar was %s: %v", a.Status, a.Err)
		}
	}
}

// A groove's life by hand: 30 billets of 2 t through groove 1 and 10 through
// groove 2 are 60 and 20 t, 90 and 30 µm on diameter. The roll goes out and back
// without a redress, takes 10 t more through groove 1 (70 t, 105 µm), and is
// redressed by 0.700 mm: 340.000 to 339.300 mm. All grooves are fresh then.
func TestGrooveLifeAcrossMountings(t *testing.T) {
	t.Parallel()
	w := bars(t)
	w.practice("twice", practice.Scope{Mill: "bar"}, map[practice.Key]float64{practice.CampaignsBetweenGrind: 3})
	w.rollBars(30, 1)
	w.rollBars(10, 2)
	w.change(record.ChangeInput{Stand: "BF1", Role: mill.Work, SetIn: "FB"})
	w.pass(24 * time.Hour)
	w.change(record.ChangeInput{Stand: "BF1", Role: mill.Work, SetIn: "FA"})
	w.rollBars(5, 1)
	w.change(record.ChangeInput{Stand: "BF1", Role: mill.Work})
	v := w.view("FA-T")
	want := []struct{ tonnes, worn float64 }{{70, 105}, {20, 30}, {0, 0}, {0, 0}}
	for i, g := range v.Grooves {
		if g.Number != i+1 || round(g.Borne.Tonnes) != want[i].tonnes || round(g.Borne.WornUM) != want[i].worn || g.Limit.Number != 100 {
			t.Errorf("groove %d: %+v, want %g t, %g µm, limit 100 t", i+1, g, want[i].tonnes, want[i].worn)
		}
	}
	if len(v.Grooves) != 4 {
		t.Fatalf("%d grooves, want 4", len(v.Grooves))
	}
	advice, err := w.AdviseRegrind(w.ctx, "FA-T", plan.AdviceInput{Found: 340_000})
	w.must(err)
	if advice.Stock != 605 || !strings.Contains(advice.Rule, "deepest worn groove") {
		t.Errorf("advised %s (%s), want the 105 µm of groove 1 and a margin of 500", advice.Stock, advice.Rule)
	}
	answer, err := w.RecordRegrind(w.ctx, engineer, "FA-T", record.RegrindInput{Found: 340_000, Ground: 339_300, For: roll.ForRedress, Confirmed: lookedAt()})
	w.must(err)
	if answer.Ground != 339_300 || answer.Stock != 700 {
		t.Errorf("redress answer %+v", answer)
	}
	for i, g := range w.view("FA-T").Grooves {
		if g.Borne.Tonnes != 0 || g.Borne.WornUM != 0 {
			t.Errorf("groove %d after the redress: %+v, want fresh", i+1, g)
		}
	}
	w.sound()
}

func TestGroovePiecesRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*mill.Piece)
		field  string
		says   string
	}{
		"a groove that is not on the roll": {func(p *mill.Piece) { p.Passes[0].Groove = 5 }, "passes/0/groove", "has 4"},
		"strip":                            {func(p *mill.Piece) { p.Passes[0].Groove = 0 }, "passes/0/groove", "belongs to another mill"},
		"one groove twice at once": {func(p *mill.Piece) {
			p.Passes = append(p.Passes, p.Passes[0])
			p.Passes[1].ExitThicknessMM = 14
		}, "passes/1/groove", "used twice at once"},
	} {
		t.Run(name, func(t *testing.T) {
			w := bars(t)
			w.rollBars(1, 1)
			p := billet("bad", 1)
			p.Source, p.RolledAt = "level2", w.clock.now.Add(-time.Second)
			c.change(&p)
			before := w.everything()
			a := w.importAll(p)[0]
			if a.Status != record.PieceRefused {
				t.Fatalf("the piece was %s, want refused", a.Status)
			}
			fields := refusal.FieldsOf(a.Err)
			if len(fields) != 1 || fields[0].Path != c.field || !strings.Contains(a.Err.Error(), c.says) {
				t.Errorf("refused for %v, want field %s and words %q", a.Err, c.field, c.says)
			}
			if w.everything() != before {
				t.Error("something of the refused piece was stored")
			}
		})
	}
}

// Two grooves of one stand side by side are what a looping mill does, and a
// groove on a plain barrel is not.
func TestGroovesSideBySideAndOnPlainBarrels(t *testing.T) {
	t.Parallel()
	w := bars(t)
	p := billet("loop", 1)
	p.Passes = append(p.Passes, mill.Pass{Stand: "BF1", ExitThicknessMM: 12, Groove: 2})
	p.Source, p.RolledAt = "level2", w.clock.now
	if a := w.importAll(p)[0]; a.Status != record.PieceStored {
		t.Errorf("two grooves side by side: %s, %v", a.Status, a.Err)
	}
	if v := w.view("FA-T"); v.Totals.TonnageT != 2 || v.Grooves[0].Borne.Tonnes != 2 || v.Grooves[1].Borne.Tonnes != 2 {
		t.Errorf("the roll bore %g t and its grooves %+v; want 2 t, and 2 t in each of two grooves", v.Totals.TonnageT, v.Grooves[:2])
	}
	w = finishing(t)
	strip := rolled("s", w.clock.now, "F5", "F6")
	strip.Passes[1].Groove = 1
	if a := w.importAll(strip)[0]; a.Status != record.PieceRefused || !strings.Contains(fmt.Sprint(a.Err), "plain barrel") {
		t.Errorf("a groove on a plain barrel: %s, %v", a.Status, a.Err)
	}
}

func TestRedressRefused(t *testing.T) {
	t.Parallel()
	w := bars(t)
	w.rollBars(40, 1) // 80 t: 120 µm
	w.change(record.ChangeInput{Stand: "BF1", Role: mill.Work})
	redress := func(number string, in record.RegrindInput) func() error {
		return func() error { _, err := w.RecordRegrind(w.ctx, engineer, number, in); return err }
	}
	w.refused(port.Impossible, "ground_mm", []string{"deepest groove is worn by 0.120 mm"}, redress("FA-T", record.RegrindInput{Found: 340_000, Ground: 339_881, For: roll.ForRedress, Confirmed: lookedAt()}))
	measured := 300.0
	w.refused(port.Impossible, "ground_mm", []string{"0.300 mm"}, redress("FA-T", record.RegrindInput{Found: 340_000, Ground: 339_701, For: roll.ForRedress, GrooveWornUM: &measured}))
	w.refused(port.Impossible, "purpose", []string{"turns them all"}, redress("FA-T", record.RegrindInput{Found: 340_000, Ground: 339_500, For: roll.ForWear}))
	w.roll("PLAIN", mill.Work, 715)
	w.refused(port.Impossible, "purpose", []string{"plain barrel"}, redress("PLAIN", record.RegrindInput{Found: 715_000, Ground: 714_500, For: roll.ForRedress, Confirmed: lookedAt()}))
	// Exactly as deep as the wear is enough.
	if _, err := w.RecordRegrind(w.ctx, engineer, "FA-T", record.RegrindInput{Found: 340_000, Ground: 339_880, For: roll.ForRedress, Confirmed: lookedAt()}); err != nil {
		t.Errorf("a redress as deep as the wear: %v", err)
	}
	// Correcting it to a shallower one is held to the wear of then.
	v := w.view("FA-T")
	w.refused(port.Impossible, "regrind/ground_mm", []string{"deepest groove is worn by 0.120 mm"}, func() error {
		_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "FA-T", Entry: v.Version(), Reason: "misread", Regrind: instead(record.RegrindInput{Found: 340_000, Ground: 339_950, For: roll.ForRedress, Confirmed: lookedAt()})})
		return err
	})
}

func TestGroovesAtReceipt(t *testing.T) {
	t.Parallel()
	w := bars(t)
	for name, c := range map[string]struct {
		change func(*roll.Received)
		field  string
	}{
		"a gap in the numbers": {func(r *roll.Received) { r.Roll.Grooves[1].Number = 3 }, "grooves/1/number"},
		"one number twice":     {func(r *roll.Received) { r.Roll.Grooves[1].Number = 1 }, "grooves/1/number"},
		"deeper than the roll": {func(r *roll.Received) { r.Roll.Grooves[0].Depth = 147_500 }, "grooves/0/depth_mm"},
		"below nothing":        {func(r *roll.Received) { r.Roll.Grooves[0].Depth = -1 }, "grooves/0/depth_mm"},
	} {
		t.Run(name, func(t *testing.T) {
			r := grooved("NEW", 2)
			c.change(&r)
			w.refused(port.Impossible, c.field, nil, func() error { _, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, r); return err })
		})
	}
}

// A programme of strip is not loaded for a bar mill.
func TestStripProgrammeForABarMill(t *testing.T) {
	t.Parallel()
	w := bars(t)
	p := mill.Programme{Name: "strip", Mill: "bar", Pieces: []mill.Piece{billet("a", 1), billet("b", 0)}}
	w.refused(port.Impossible, "pieces/1/passes/0/groove", []string{"belongs to another mill"}, func() error { _, err := w.LoadCampaign(w.ctx, engineer, p); return err })
}

// 80 t through groove 1 and a programme of 15 billets: the 11th (102 t) passes
// the 100 t. The plan needs no roll change and says which groove to go to.
func TestGrooveInPlanAndFinish(t *testing.T) {
	t.Parallel()
	w := bars(t)
	w.rollBars(40, 1)
	p := mill.Programme{Name: "next", Mill: "bar"}
	for i := range 15 {
		p.Pieces = append(p.Pieces, billet(fmt.Sprintf("n-%02d", i+1), 1))
	}
	_, err := w.LoadCampaign(w.ctx, engineer, p)
	w.must(err)
	a := w.finish(plan.FinishInput{Campaign: "next"})
	s := a.Stands[0]
	if s.Verdict != finish.No || s.Limiting.Criterion != "groove_tonnage" || s.Limiting.Groove != 1 || s.Limiting.Reached.Piece != 11 {
		t.Errorf("%s: %s, limiting %+v; want no at piece 11 by groove 1", s.Verdict, s.Sentence, s.Limiting)
	}
	// Other rolls before the first piece cost no stop, a groove later costs one, and
	// other rolls then cost their change as well.
	at := func(what finish.What) int {
		return slices.IndexFunc(s.Remedies, func(m finish.Remedy) bool { return m.What == what })
	}
	if set, groove, piece := at(finish.OtherSet), at(finish.ChangeGroove), at(finish.ChangeAtPiece); set != 0 || groove != 1 || s.Remedies[1].Groove != 2 || piece != 2 {
		t.Errorf("remedies %+v, want another set first, then groove 2, then another set at a piece", s.Remedies)
	}
	answer, err := w.PlanChanges(w.ctx, plan.PlanInput{Campaign: "next"})
	w.must(err)
	if !answer.Feasible || len(answer.Stops) != 0 || !strings.Contains(strings.Join(answer.Notes, "\n"), "BF1: go to groove 2 before piece 11 (n-11), without a roll change") {
		t.Errorf("plan with %d stops, notes %q; want none and groove 2 before piece 11", len(answer.Stops), answer.Notes)
	}
}

// A cogging ingot goes through the same stand again and again: its tonnes count
// once, its length each time.
func TestReversingCountsTonnesOnce(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	_, err := w.CreateMill(w.ctx, engineer, mill.Mill{Name: "cog", Kind: mill.Cogging})
	w.must(err)
	_, err = w.CreateStand(w.ctx, engineer, mill.Stand{Name: "CG1", Mill: "cog", Order: 1, Arrangement: mill.TwoHigh, Reversing: true})
	w.must(err)
	for _, n := range []string{"C-T", "C-B"} {
		_, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, roll.Received{Mill: "cog", Diameter: 1_000_000, Ground: true,
			Roll: roll.Roll{Number: n, Role: mill.Work, Grade: "steel", NewDiameter: 1_000_000, BarrelLength: 2_600_000, Scrap: roll.ScrapLimits{Nominal: 900_000}}})
		w.must(err)
	}
	_, err = w.BuildSet(w.ctx, engineer, record.SetInput{Name: "C", Top: "C-T", Bottom: "C-B"})
	w.must(err)
	w.change(record.ChangeInput{Stand: "CG1", Role: mill.Work, SetIn: "C"})
	w.pass(time.Hour)
	ingot := mill.Piece{Source: "level2", ID: "i", Mill: "cog", RolledAt: w.clock.now, MassT: 7, WidthMM: 660, EntryThicknessMM: 660,
		Passes: []mill.Pass{{Stand: "CG1", ExitThicknessMM: 610, ForceKN: 8000}, {Stand: "CG1", ExitThicknessMM: 560, ForceKN: 8000, Reverse: true}}}
	if a := w.importAll(ingot)[0]; a.Status != record.PieceStored {
		t.Fatalf("%s: %v", a.Status, a.Err)
	}
	u := w.view("C-T").Totals
	if km := 7000 / (7850 * 0.66 * 0.61) / 1000 * (1 + 0.61/0.56); u.Pieces != 1 || u.TonnageT != 7 || round(u.RolledKM) != round(km) {
		t.Errorf("%d pieces, %g t, %.6f km; want 1, 7 and %.6f", u.Pieces, u.TonnageT, u.RolledKM, km)
	}
}

// Rolls whose grooves do not face each other are no set.
func TestGroovesMustFaceEachOther(t *testing.T) {
	t.Parallel()
	w := bars(t)
	for number, n := range map[string]int{"G3": 3, "G4": 4} {
		_, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, grooved(number, n))
		w.must(err)
	}
	w.refused(port.Conflicting, "", []string{"G4 has 4 grooves and G3 has 3"}, func() error {
		_, err := w.BuildSet(w.ctx, engineer, record.SetInput{Name: "G", Top: "G4", Bottom: "G3"})
		return err
	})
}

// Two stands on one motor, geared for 340 and 345 mm. Rolls of 340 mm in both are
// off that ratio by 1/(345/340) − 1 = −1.4493 %, seen from the second; 0.5 % is
// the default.
func TestDriveBlockInFinish(t *testing.T) {
	t.Parallel()
	w := bars(t)
	old, err := w.Stand(w.ctx, "BF1")
	w.must(err)
	old.Stand.DriveBlock, old.Stand.ReferenceWork = "finishing", 340_000
	call := engineer
	call.IfVersion = old.Stand.Version
	_, err = w.ReplaceStand(w.ctx, call, old.Stand)
	w.must(err)
	_, err = w.CreateStand(w.ctx, engineer, mill.Stand{Name: "BF2", Mill: "bar", Order: 2, Arrangement: mill.TwoHigh, DriveBlock: "finishing", ReferenceWork: 345_000})
	w.must(err)
	w.change(record.ChangeInput{Stand: "BF2", Role: mill.Work, SetIn: "FB"})
	p := billet("a", 1)
	p.Passes = append(p.Passes, mill.Pass{Stand: "BF2", ExitThicknessMM: 12, Groove: 1, ForceKN: 60, SpeedMPerS: 14})
	_, err = w.LoadCampaign(w.ctx, engineer, mill.Programme{Name: "next", Mill: "bar", Pieces: []mill.Piece{p}})
	w.must(err)
	for _, s := range w.finish(plan.FinishInput{Campaign: "next"}).Stands {
		found := false
		for _, m := range s.Margins {
			if m.Criterion == "drive_ratio" {
				found = true
				// Seen from BF1 the ratio is the other way up: 345/340 − 1.
				want := map[string]float64{"BF2": 100 * 5.0 / 345, "BF1": 100 * 5.0 / 340}[s.Stand]
				if round(m.AtEnd) != round(want) {
					t.Errorf("%s: off by %.6f %%, want %.6f", s.Stand, m.AtEnd, want)
				}
			}
		}
		if !found || s.Verdict != finish.Blocked {
			t.Errorf("%s: %s, drive ratio told %v; want it to block", s.Stand, s.Sentence, found)
		}
	}
}
