package finish

import (
	"math"
	"slices"
	"strings"
	"testing"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
)

// TestFatigueIsThatOfTheStand: the damage expected at the end of a programme is
// what a stand of duty leaves in the layers when it rolls the pieces.
func TestFatigueIsThatOfTheStand(t *testing.T) {
	in := input(60)
	mechanics(&in)
	before, err := fatigue.NewField(41, fatigue.DefaultLayers, 0.66)
	if err != nil {
		t.Fatal(err)
	}
	for i := range before.Damage {
		before.Damage[i] = 1e-5 * float64(i%7)
	}
	in.Work.Rolls[0].Damage = before
	m := margin(t, check(t, in), "W-1a", "fatigue")

	var rolls []duty.Roll
	var conditions []*duty.Condition
	for _, r := range append(append([]Roll(nil), in.Work.Rolls...), in.Backup.Rolls...) {
		c := r.Condition
		rolls, conditions = append(rolls, r.Roll), append(conditions, &c)
	}
	conditions[0].Damage = before.Clone()
	stand, err := duty.NewStand(in.Stand, in.DensityKGPerM3, rolls)
	if err != nil {
		t.Fatal(err)
	}
	stand.Use(*in.Models, conditions)
	for _, p := range in.Pieces {
		load, err := stand.Take(p, 0)
		if err != nil {
			t.Fatal(err)
		}
		stand.Rest(in.MinutesPerPiece - duty.RollingMin(p.Passes[0], load.Rolls[0].RolledKM))
	}
	stand.Settle()
	want := conditions[0].Damage.Worst().Damage
	if math.Abs(m.AtEnd/want-1) > 1e-6 {
		t.Errorf("damage at the end %.9g, the stand leaves %.9g", m.AtEnd, want)
	}
	if now := before.Worst().Damage; m.Now != now {
		t.Errorf("damage now %g, want %g: the check must not change what it is given", m.Now, now)
	}
}

// TestStrengthBars: a roll whose stress passes what its grade is allowed bars
// the programme, a predicted force does not.
func TestStrengthBars(t *testing.T) {
	in := input(30)
	mechanics(&in)
	wearLimits(&in, 2000)
	in.Limits.(standing.Given)[practice.OverloadMarginMin] = entered(0.1)
	for i := range in.Backup.Rolls {
		in.Backup.Rolls[i].Condition.AllowableMPa = 60
	}
	a := check(t, in)
	if a.Verdict != Blocked || !strings.Contains(a.Sentence, "margin of strength") {
		t.Fatalf("verdict %s: %s", a.Verdict, a.Sentence)
	}
	for i := range in.Pieces {
		in.Pieces[i].Passes[0].ForceKN = 0
	}
	a = check(t, in)
	if a.Verdict == Blocked {
		t.Errorf("a predicted force bars: %s", a.Sentence)
	}
	if said := strings.Join(a.Unknowns, "\n"); !strings.Contains(said, "30 passes of the programme have no force: it is predicted") ||
		!strings.Contains(said, "30 of the forces predicted lie outside what their method was made for; first of piece C-001: F6: strain rate 119 is outside") {
		t.Errorf("unknowns %q, want the predicted forces named", a.Unknowns)
	}
	if said := strings.Join(a.Unknowns, "\n"); !strings.Contains(said, "under the forces predicted "+in.Backup.Rolls[0].Number+" has a margin of strength of") || !strings.Contains(said, "below the 10 % entered") {
		t.Errorf("unknowns %q, want the margin under predicted forces", a.Unknowns)
	}
	if m := margin(t, a, "W-1a", "wear"); m.AtEnd <= 0 {
		t.Errorf("no wear under predicted forces: %+v", m)
	}
}

// TestStrengthNotCheckedIsSaid: a roll that lacks what its strength hangs on is
// named where the practice asks for a margin, and only there.
func TestStrengthNotCheckedIsSaid(t *testing.T) {
	in := input(5)
	mechanics(&in)
	in.Work.Rolls[0].Condition.AllowableMPa, in.Work.Rolls[0].Condition.NeckDiameterMM = 0, 0
	in.Backup.Rolls[0].Condition.Neck.FilletRadiusMM = 100
	in.Work.Rolls[1].Condition.Neck.DriveEnd.WobblerDiameterMM = 380
	if said := strings.Join(check(t, in).Unknowns, "\n"); strings.Contains(said, "strength") || strings.Contains(said, "fillet") {
		t.Errorf("no margin is asked for, yet %q", said)
	}
	in.Limits.(standing.Given)[practice.OverloadMarginMin] = entered(0.1)
	said := strings.Join(check(t, in).Unknowns, "\n")
	for _, want := range []string{
		in.Work.Rolls[0].Number + ": its strength is not checked, as the stress allowed for its grade and its neck diameter was not entered",
		"no fillet radius was entered for the necks of " + in.Work.Rolls[1].Number + ", " + in.Backup.Rolls[1].Number + ": they",
	} {
		if !strings.Contains(said, want) {
			t.Errorf("unknowns %q, want %q", said, want)
		}
	}
	if strings.Contains(said, "drive ends") {
		t.Errorf("unknowns %q: the one drive end that counts is known", said)
	}
	in.Work.Rolls[1].Condition.Neck.DriveEnd.WobblerDiameterMM = 0
	if said := strings.Join(check(t, in).Unknowns, "\n"); !strings.Contains(said, "the drive ends of "+in.Work.Rolls[1].Number+" are not checked") {
		t.Errorf("unknowns %q, want the drive end", said)
	}
}

// TestPredictedForcesWidenTheDoubt: the forces that would be predicted, given, are
// surer than predicted ones: where a limit is near, less of a programme is sure.
func TestPredictedForcesWidenTheDoubt(t *testing.T) {
	in := input(30)
	mechanics(&in)
	for i := range in.Pieces {
		in.Pieces[i].Passes[0].ForceKN, in.Pieces[i].Passes[0].SpeedMPerS, in.Pieces[i].Passes[0].TemperatureC = 0, 5, 950
	}
	bodies := make([]duty.Roll, 0, 4)
	for _, set := range []*Set{&in.Work, &in.Backup} {
		for _, r := range set.Rolls {
			bodies = append(bodies, r.Roll)
		}
	}
	stand, err := duty.NewStand(in.Stand, in.DensityKGPerM3, bodies)
	if err != nil {
		t.Fatal(err)
	}
	stand.Use(*in.Models, make([]*duty.Condition, len(bodies)))
	given := in
	given.Pieces = slices.Clone(in.Pieces)
	for i := range given.Pieces {
		load, err := stand.Take(given.Pieces[i], 0)
		if err != nil || !load.Predicted || load.ForceDoubt != 0.10 {
			t.Fatalf("%+v, %v", load, err)
		}
		given.Pieces[i].Passes = slices.Clone(given.Pieces[i].Passes)
		given.Pieces[i].Passes[0].ForceKN = load.ForceKN
	}
	end := margin(t, check(t, given), "W-1a", "wear").AtEnd
	wearLimits(&in, 1.3*end)
	wearLimits(&given, 1.3*end)
	sure, unsure := margin(t, check(t, given), "W-1a", "wear"), margin(t, check(t, in), "W-1a", "wear")
	if math.Abs(sure.AtEnd/unsure.AtEnd-1) > 1e-9 || !(unsure.Probability < sure.Probability-0.002) || !(unsure.AtEndHigh > sure.AtEndHigh) {
		t.Errorf("given: %.4f sure, to %.1f µm; predicted: %.4f sure, to %.1f µm", sure.Probability, sure.AtEndHigh, unsure.Probability, unsure.AtEndHigh)
	}
}

// TestLikewiseWithMechanics: a candidate of another diameter and grade computed
// from the sums of the set it would replace, against the candidate piece by
// piece: the load lies a little differently along its barrel.
func TestLikewiseWithMechanics(t *testing.T) {
	in := input(90)
	mechanics(&in)
	in.FromPiece = 1
	other := workSet("W-2")
	for i := range other.Rolls {
		other.Rolls[i].Condition, lim(other.Rolls[i])[practice.MaxDamage] = in.Work.Rolls[i].Condition, entered(1)
		other.Rolls[i].DiameterMM, other.Rolls[i].ElasticModulusMPa = 700+float64(i), 195000
	}
	base, err := newRun(&in, &in.Work, &in.Backup)
	if err != nil {
		t.Fatal(err)
	}
	got, ok := base.likewise(&other, &in.Backup)
	if !ok {
		t.Fatal("the candidate is not like the set it replaces")
	}
	want, err := newRun(&in, &other, &in.Backup)
	if err != nil {
		t.Fatal(err)
	}
	if x, y := useOf(got, 2, "peak_pressure"), useOf(want, 2, "peak_pressure"); !(math.Abs(x/y-1) <= 0.02) {
		t.Fatalf("pressure %.2f from the sums, %.2f piece by piece", x, y)
	}
	for j := range got.rolls() {
		x, y := useOf(got, j, "fatigue"), useOf(want, j, "fatigue")
		if !(math.Abs(x/y-1) <= 0.1) {
			t.Errorf("roll %d: damage %.4g from the sums, %.4g piece by piece", j, x, y)
		}
	}
}
