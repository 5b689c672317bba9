package practice_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/refusal"
)

func cooling(name string, scope practice.Scope, hours float64) practice.Practice {
	return practice.Practice{Name: name, Scope: scope, Version: 2, Values: map[practice.Key]float64{practice.CoolingH: hours}}
}

// TestTheMostParticularScopeRules: stand before grade before role before mill,
// however many of the weaker ones are named.
func TestTheMostParticularScopeRules(t *testing.T) {
	case0 := practice.Scope{Mill: "strip", Stand: "F1", Role: mill.Work, Grade: "hss"}
	ladder := []practice.Practice{ // from general to particular
		cooling("any", practice.Scope{}, 1),
		cooling("mill", practice.Scope{Mill: "strip"}, 2),
		cooling("role", practice.Scope{Role: mill.Work}, 3),
		cooling("mill-role", practice.Scope{Mill: "strip", Role: mill.Work}, 4),
		cooling("grade", practice.Scope{Grade: "hss"}, 5),
		cooling("mill-role-grade", practice.Scope{Mill: "strip", Role: mill.Work, Grade: "hss"}, 6),
		cooling("stand", practice.Scope{Stand: "F1"}, 7),
		cooling("stand-grade", practice.Scope{Stand: "F1", Grade: "hss"}, 8),
		cooling("all", case0, 9),
	}
	others := []practice.Practice{
		cooling("other-mill", practice.Scope{Mill: "plate"}, 100), cooling("other-stand", practice.Scope{Stand: "F2"}, 100),
		cooling("other-role", practice.Scope{Role: mill.Backup}, 100), cooling("other-grade", practice.Scope{Stand: "F1", Grade: "ic"}, 100),
	}
	for n := 1; n <= len(ladder); n++ {
		all := append(slices.Clone(others), ladder[:n]...)
		got := practice.Resolve(all, case0).Value(practice.CoolingH)
		want := ladder[n-1]
		if got.Number != want.Values[practice.CoolingH] || got.Source != "practice "+want.Name+" v2" || !got.Set {
			t.Errorf("with %d practices: %+v, want that of %s", n, got, want.Name)
		}
	}
}

// TestMaterialHasAPracticeOfItsOwn: what is known of a metal goes before what the
// stand assumes, for that metal alone; and such a practice holds nothing else.
func TestMaterialHasAPracticeOfItsOwn(t *testing.T) {
	steel := func(name string, scope practice.Scope, carbon float64) practice.Practice {
		return practice.Practice{Name: name, Scope: scope, Values: map[practice.Key]float64{practice.CarbonPct: carbon}}
	}
	all := []practice.Practice{steel("mill", practice.Scope{Mill: "strip"}, 0.1), steel("stand", practice.Scope{Mill: "strip", Stand: "F1"}, 0.2), steel("C60", practice.Scope{Material: "C60"}, 0.6)}
	for material, want := range map[string]float64{"": 0.2, "S355": 0.2, "C60": 0.6} {
		if got := practice.Resolve(all, practice.Scope{Mill: "strip", Stand: "F1", Role: mill.Work, Material: material}).Number(practice.CarbonPct); got != want {
			t.Errorf("carbon of %q is %g %%, want %g", material, got, want)
		}
	}
	if v := practice.Resolve(all, practice.Scope{Mill: "plate"}).Value(practice.CarbonPct); v.Set {
		t.Errorf("carbon of a mill without a practice: %+v", v)
	}
	p := steel("C60", practice.Scope{Material: "C60"}, 0.6)
	if err := p.Check(); err != nil {
		t.Error(err)
	}
	p.Values[practice.MaxWearUM] = 300
	if f := refusal.FieldsOf(p.Check()); len(f) != 1 || f[0].Path != "values/max_wear_um" {
		t.Errorf("a wear limit of a metal: %v", f)
	}
}

func TestDefaults(t *testing.T) {
	for _, c := range []struct {
		role mill.Role
		want float64
	}{{mill.Work, 12}, {mill.Intermediate, 12}, {mill.Backup, 24}} {
		got := practice.Resolve(nil, practice.Scope{Role: c.role}).Value(practice.CoolingH)
		if got.Number != c.want || got.Source != "default" || !got.Set {
			t.Errorf("cooling of a %s roll: %+v, want %g h by default", c.role, got, c.want)
		}
	}
	f := practice.Resolve(nil, practice.Scope{Role: mill.Work})
	for _, k := range []practice.Key{practice.MaxCampaignKM, practice.RoughnessMinUM, "no_such_setting"} {
		if got := f.Value(k); got.Set || got.Number != 0 || got.Source != "" {
			t.Errorf("%s: %+v, want none", k, got)
		}
	}
}

// TestSettingsAreWhole: each setting has a meaning, a range, and defaults that
// lie in it and are told in its meaning.
func TestSettingsAreWhole(t *testing.T) {
	list := practice.Settings()
	if len(list) < 30 || !slices.IsSortedFunc(list, func(a, b practice.Named) int { return strings.Compare(string(a.Key), string(b.Key)) }) {
		t.Fatalf("%d settings, or not by name", len(list))
	}
	for _, s := range list {
		if s.Meaning == "" || s.Low >= s.High {
			t.Errorf("%s: meaning %q, range %g to %g", s.Key, s.Meaning, s.Low, s.High)
		}
		if s.NoDefault {
			continue
		}
		for _, d := range []float64{s.Work, s.Backup} {
			if d < s.Low || d > s.High {
				t.Errorf("%s: default %g outside %g to %g", s.Key, d, s.Low, s.High)
			}
		}
		said := fmt.Sprintf("Defaults to %s", refusal.Number(s.Work))
		if s.Work != s.Backup {
			said += ", backup " + refusal.Number(s.Backup)
		}
		if !strings.Contains(s.Meaning, said) {
			t.Errorf("%s: %q does not say %q", s.Key, s.Meaning, said)
		}
	}
}

func TestValuesRefused(t *testing.T) {
	for name, c := range map[string]struct {
		values map[practice.Key]float64
		want   []string
	}{
		"nothing":                {nil, nil},
		"at both ends":           {map[practice.Key]float64{practice.CoolingH: 0, practice.EdgeWearFactor: 2}, nil},
		"below its range":        {map[practice.Key]float64{practice.CoolingH: -1}, []string{"values/cooling_h -1 must lie between 0 and 240"}},
		"above its range":        {map[practice.Key]float64{practice.CampaignsBetweenGrind: 21}, []string{"values/campaigns_between_grinds 21 must lie between 1 and 20"}},
		"NaN":                    {map[practice.Key]float64{practice.CrownUM: math.NaN()}, []string{"values/crown_um NaN must be a finite number"}},
		"1e400":                  {map[practice.Key]float64{practice.CrownUM: math.Inf(1)}, []string{"values/crown_um +Inf must be a finite number"}},
		"unknown":                {map[practice.Key]float64{"cooling_hours": 3}, []string{"values/cooling_hours is not a setting; see the settings that there are"}},
		"roughness turned round": {map[practice.Key]float64{practice.RoughnessMinUM: 1.2, practice.RoughnessMaxUM: 0.6}, []string{"values/roughness_min_um 1.2 must not be above roughness_max_um 0.6"}},
		"a no above the yes":     {map[practice.Key]float64{practice.FinishNoProbability: 0.8, practice.FinishYesProbability: 0.7}, []string{"values/finish_no_probability 0.8 must not be above"}},
		"two, by name":           {map[practice.Key]float64{practice.RunoutToleranceUM: -1, practice.CoolingH: -1}, []string{"values/cooling_h", "values/runout_tolerance_um"}},
	} {
		t.Run(name, func(t *testing.T) {
			got := refusal.FieldsOf(practice.Practice{Name: "p", Values: c.values}.Check())
			if len(got) != len(c.want) {
				t.Fatalf("got %v, want %q", got, c.want)
			}
			for i, f := range got {
				if !strings.HasPrefix(f.String(), c.want[i]) {
					t.Errorf("refusal %d is %q, want %q", i, f, c.want[i])
				}
			}
		})
	}
}

func TestUnits(t *testing.T) {
	f := practice.Resolve([]practice.Practice{{Name: "p", Values: map[practice.Key]float64{
		practice.CoolingH: 1.5, practice.PairToleranceUM: 49.6, practice.MaxPlausibleStockMM: 0.0295}}}, practice.Scope{})
	if h, um, mm := f.Hours(practice.CoolingH), f.Micrometres(practice.PairToleranceUM), f.Millimetres(practice.MaxPlausibleStockMM); h != 90*time.Minute || um != 50 || mm != 30 {
		t.Errorf("1.5 h is %s, 49.6 µm is %d µm, 0.0295 mm is %d µm; want 1h30m, 50, 30", h, um, mm)
	}
}

// TestOrderOfStoringDoesNotMatter: the answer is the same whichever way the
// practices come, and it is that of one of those whose scope covers the case.
func TestOrderOfStoringDoesNotMatter(t *testing.T) {
	part := func(t *rapid.T, name string, of ...string) string {
		return rapid.SampledFrom(append(of, "")).Draw(t, name)
	}
	rapid.Check(t, func(t *rapid.T) {
		scope := func(i int) practice.Scope {
			return practice.Scope{Mill: part(t, "mill", "a", "b"), Stand: part(t, "stand", "1", "2"), Role: mill.Role(part(t, "role", "work", "backup")), Grade: part(t, "grade", "x", "y")}
		}
		var all []practice.Practice
		for i := range rapid.IntRange(0, 8).Draw(t, "count") {
			all = append(all, cooling(fmt.Sprintf("p%d", i), scope(i), float64(i)))
		}
		c := practice.Scope{Mill: "a", Stand: "1", Role: mill.Work, Grade: "x"}
		got := practice.Resolve(all, c).Value(practice.CoolingH)
		shuffled := rapid.Permutation(all).Draw(t, "shuffled")
		if again := practice.Resolve(shuffled, c).Value(practice.CoolingH); again != got {
			t.Fatalf("%+v one way, %+v another", got, again)
		}
		fits := func(own, asked string) bool { return own == "" || own == asked }
		covered := false
		for _, p := range all {
			s := p.Scope
			if fits(s.Mill, c.Mill) && fits(s.Stand, c.Stand) && fits(string(s.Role), string(c.Role)) && fits(s.Grade, c.Grade) {
				covered = true
				if p.Scope == c && got.Number != p.Values[practice.CoolingH] && countExact(all, c) == 1 {
					t.Fatalf("%s names the very case and %+v was taken", p.Name, got)
				}
			} else if got.Source == "practice "+p.Name+" v2" {
				t.Fatalf("%s does not cover the case and was taken", p.Name)
			}
		}
		if (got.Source == "default") == covered {
			t.Fatalf("covered by a practice: %v, taken %+v", covered, got)
		}
	})
}

func countExact(all []practice.Practice, c practice.Scope) int {
	n := 0
	for _, p := range all {
		if p.Scope == c {
			n++
		}
	}
	return n
}

// The mill's own figure for a stand goes before its figure for a role, and
// both before the default; each says where it comes from.
func Example() {
	all := []practice.Practice{
		{Name: "finishing-work", Version: 3, Scope: practice.Scope{Role: mill.Work}, Values: map[practice.Key]float64{practice.PairToleranceUM: 120, practice.CoolingH: 16}},
		{Name: "last-stand", Version: 1, Scope: practice.Scope{Stand: "F6"}, Values: map[practice.Key]float64{practice.PairToleranceUM: 60}},
	}
	p := practice.Resolve(all, practice.Scope{Mill: "strip", Stand: "F6", Role: mill.Work})
	for _, k := range []practice.Key{practice.PairToleranceUM, practice.CoolingH, practice.GaugeUncertaintyUM} {
		fmt.Println(k, p.Number(k), p.Value(k).Source)
	}
	// Output:
	// pair_tolerance_um 60 practice last-stand v1
	// cooling_h 16 practice finishing-work v3
	// gauge_uncertainty_um 20 default
}

// An intermediate roll is like a work roll but for its wear, which other rolls do.
func TestIntermediateRollsWearAsBackupRollsDo(t *testing.T) {
	of := func(r mill.Role, k practice.Key) float64 {
		return practice.Resolve(nil, practice.Scope{Mill: "M", Role: r}).Number(k)
	}
	if a, b := of(mill.Intermediate, practice.WearRateUMPerKM), of(mill.Backup, practice.WearRateUMPerKM); a != b || a >= of(mill.Work, practice.WearRateUMPerKM) {
		t.Errorf("rate %g of an intermediate roll, %g of a backup roll", a, b)
	}
	if a, b := of(mill.Intermediate, practice.PairToleranceUM), of(mill.Work, practice.PairToleranceUM); a != b {
		t.Errorf("tolerance %g of an intermediate pair, %g of a work pair", a, b)
	}
}
