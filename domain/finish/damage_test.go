package finish

import (
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
	"math"
	"strings"
	"testing"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
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
	if m := margin(t, a, "W-1a", "wear"); m.AtEnd <= 0 {
		t.Errorf("no wear under predicted forces: %+v", m)
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
