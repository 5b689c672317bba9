package release_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

var (
	kinds    = []mill.Kind{mill.Cogging, mill.Billet, mill.Bar, mill.Plate, mill.HotStrip, mill.ColdTandem, mill.Temper}
	roles    = []mill.Role{mill.Work, mill.Backup, mill.Intermediate}
	families = []string{"cast_steel", "forged_steel", "nodular_iron", "high_chromium_steel", "high_chromium_iron", "high_speed_steel", "semi_high_speed_steel",
		"indefinite_chill", "forged_chromium_steel", "chilled_iron"}
	ground = time.Date(2030, 5, 6, 8, 0, 0, 0, time.UTC)
)

func inForce(values map[practice.Key]float64, role mill.Role) practice.InForce {
	return practice.Resolve([]practice.Practice{{Name: "p", Version: 3, Values: values}}, practice.Scope{Role: role})
}

// whole is a ground roll of which everything that could be asked is there.
func whole(role mill.Role) roll.State {
	figure := 0.0
	um := func(v float64) *float64 { f := v; return &f }
	s := roll.State{
		Roll: roll.Roll{Number: "W-101", Role: role, Certificate: "C-1", Scrap: roll.ScrapLimits{Nominal: 640_000, ShellDepth: 645_000}},
		Mill: "M", Stage: roll.StageGround, Diameter: 700_000, GroundAt: ground, Regrinds: 1, LastRegrind: &roll.Reground{}, RoughnessUM: 0.8, Hardness: 78,
		Measured: roll.Measures{CrownUM: &figure, TaperUM: um(2), RunoutUM: um(3), RoundnessUM: um(2), RoughnessUM: um(0.8),
			Stations: []roll.Station{{AtMM: 100, Diameter: 700_000}, {AtMM: 900, Diameter: 700_000}, {AtMM: 1700, Diameter: 700_000}}},
		NewHardness: []roll.Reading{{AtMM: 100, Value: 78}, {AtMM: 900, Value: 78}, {AtMM: 1700, Value: 79}},
	}
	for _, name := range practice.TestNames {
		s.Tested = append(s.Tested, roll.Tested{Kind: roll.TestKind(name), Outcome: roll.Passed, Entry: 2, At: ground, Regrinds: 1})
	}
	return s
}

// parts are all that can be taken away from a whole roll, by the name under
// which a verdict misses it.
func parts() map[string]func(*roll.State) {
	take := map[string]func(*roll.State){
		"certificate":             func(s *roll.State) { s.Roll.Certificate = "" },
		"certificate hardness":    func(s *roll.State) { s.NewHardness = s.NewHardness[:2] },
		"certificate shell depth": func(s *roll.State) { s.Roll.Scrap.ShellDepth = 0 },
		"measure stations":        func(s *roll.State) { s.Measured.Stations = s.Measured.Stations[:2] },
		"measure crown":           func(s *roll.State) { s.Measured.CrownUM = nil },
		"measure roughness":       func(s *roll.State) { s.Measured.RoughnessUM = nil },
		"measure taper":           func(s *roll.State) { s.Measured.TaperUM = nil },
		"measure roundness":       func(s *roll.State) { s.Measured.RoundnessUM = nil },
		"measure runout":          func(s *roll.State) { s.Measured.RunoutUM = nil },
	}
	for _, name := range practice.TestNames {
		kind := roll.TestKind(name)
		take["test "+name] = func(s *roll.State) {
			s.Tested = slices.DeleteFunc(slices.Clone(s.Tested), func(t roll.Tested) bool { return t.Kind == kind })
		}
	}
	return take
}

// asked are the names of all that common practice asks of a case. It is what
// handbook 4.1 of the trade says, written down a second time.
func asked(kind mill.Kind, role mill.Role, family string, grooved bool) []string {
	composite := slices.Contains([]string{"high_chromium_steel", "high_chromium_iron", "high_speed_steel", "semi_high_speed_steel", "indefinite_chill"}, family)
	list := []string{"test visual", "test hardness", "certificate", "certificate hardness", "measure runout"}
	if role != mill.Backup && slices.Contains([]mill.Kind{mill.HotStrip, mill.ColdTandem, mill.Temper}, kind) {
		list = append(list, "test eddy_current")
	}
	if role == mill.Backup || composite {
		list = append(list, "test ultrasonic")
	}
	if composite {
		list = append(list, "certificate shell depth")
	}
	if !grooved && !slices.Contains([]mill.Kind{mill.Cogging, mill.Billet, mill.Bar}, kind) {
		list = append(list, "measure stations", "measure crown", "measure roughness", "measure taper", "measure roundness")
	}
	return list
}

// TestNothingIsFitWithAnythingMissing goes through every mill, role and family
// of grade, grooved and plain, and through every subset of what is asked: the
// whole roll is fit, and every other is not released and names exactly what is
// missing. Cases that ask the same are gone through once.
func TestNothingIsFitWithAnythingMissing(t *testing.T) {
	done := map[string]bool{}
	take := parts()
	cases, verdicts := 0, 0
	for _, kind := range kinds {
		for _, role := range roles {
			for _, family := range families {
				for _, grooved := range []bool{false, true} {
					cases++
					want := asked(kind, role, family, grooved)
					slices.Sort(want)
					c := release.Case{Kind: kind, Role: role, Family: family, Grooved: grooved}
					c.Composite = release.CaseOf(kind, roll.Roll{Role: role}, family).Composite
					key := fmt.Sprint(want, role)
					if done[key] {
						// The asks themselves are still compared.
						s := whole(role)
						for _, name := range want {
							take[name](&s)
						}
						v := release.Judge(release.Subject{State: s, Practice: inForce(nil, role), Case: c, Now: ground})
						slices.Sort(v.Missing)
						if v.Word != release.NotReleased || !slices.Equal(v.Missing, want) {
							t.Fatalf("%s %s %s: %s misses %v, want %v", kind, role, family, v.Word, v.Missing, want)
						}
						continue
					}
					done[key] = true
					for subset := range 1 << len(want) {
						s := whole(role)
						var missing []string
						for i, name := range want {
							if subset&(1<<i) != 0 {
								take[name](&s)
								missing = append(missing, name)
							}
						}
						v := release.Judge(release.Subject{State: s, Practice: inForce(nil, role), Case: c, Now: ground})
						verdicts++
						slices.Sort(v.Missing)
						switch {
						case (v.Word == release.Fit) != (subset == 0), v.Word == release.NotFit, v.MayGoIn() != (subset == 0), !slices.Equal(v.Missing, missing):
							t.Fatalf("%s %s %s grooved %v without %v: %s, misses %v: %v", kind, role, family, grooved, missing, v.Word, v.Missing, v.Reasons)
						case subset != 0 && strings.Contains(strings.Join(v.Reasons, " "), "within the limits"):
							t.Fatalf("not released and within the limits: %v", v.Reasons)
						}
					}
				}
			}
		}
	}
	t.Logf("%d cases, %d different asks, %d verdicts", cases, len(done), verdicts)
}

// TestTestsGoOutOfDate: a test is good for as many grinds as the practice says.
func TestTestsGoOutOfDate(t *testing.T) {
	c := release.Case{Kind: mill.HotStrip, Role: mill.Work, Family: "high_speed_steel", Composite: true}
	for _, k := range []struct {
		name  string
		kind  roll.TestKind
		ago   int // grinds since the last one
		below float64
		word  release.Word
		says  string
	}{
		{"visual of this grind", roll.Visual, 0, 0, release.Fit, ""},
		{"visual of the grind before", roll.Visual, 1, 0, release.NotReleased, "not checked since the grind of 2030-05-06"},
		{"eddy current of the grind before", roll.EddyCurrent, 1, 0, release.NotReleased, "asked after each grind (common practice)"},
		{"hardness 4 grinds ago", roll.HardnessTest, 4, 0, release.Fit, ""},
		{"hardness 5 grinds ago", roll.HardnessTest, 5, 0, release.NotReleased, "overdue: the hardness test is asked every 5 grinds"},
		{"ultrasonic 9 grinds ago", roll.Ultrasonic, 9, 0, release.Fit, ""},
		{"ultrasonic 10 grinds ago", roll.Ultrasonic, 10, 0, release.NotReleased, "10 grinds ago"},
		{"ultrasonic 1 grind ago, above the diameter", roll.Ultrasonic, 1, 699, release.Fit, ""},
		{"ultrasonic 1 grind ago, below the diameter", roll.Ultrasonic, 1, 701, release.NotReleased, "asked after each grind"},
	} {
		s := whole(mill.Work)
		s.Regrinds = 20
		for i := range s.Tested {
			s.Tested[i].Regrinds = 20
			if s.Tested[i].Kind == k.kind {
				s.Tested[i].Regrinds -= k.ago
			}
		}
		values := map[practice.Key]float64{}
		if k.below > 0 {
			values[practice.BelowMM(string(k.kind))] = k.below
		}
		v := release.Judge(release.Subject{State: s, Practice: inForce(values, mill.Work), Case: c, Now: ground})
		if v.Word != k.word || !strings.Contains(strings.Join(v.Reasons, "\n"), k.says) {
			t.Errorf("%s: %s %v", k.name, v.Word, v.Reasons)
		}
	}
}

// TestWords: found wrong rules over missing, and what the practice asks for
// itself rules over common practice.
func TestWords(t *testing.T) {
	c := release.Case{Kind: mill.HotStrip, Role: mill.Work, Family: "forged_steel"}
	over, deep := 30.0, roll.Defect{Kind: roll.EddyCurrent, DepthUM: 400, At: ground}
	for _, k := range []struct {
		name   string
		change func(*roll.State)
		values map[practice.Key]float64
		word   release.Word
		says   string
	}{
		{"whole", func(*roll.State) {}, nil, release.Fit, "everything asked was looked at and is within the limits entered"},
		{"no roughness asked", func(s *roll.State) { s.Measured.RoughnessUM = nil }, map[practice.Key]float64{practice.AskMeasure("roughness"): 0}, release.Fit, ""},
		{"penetrant asked of it", func(s *roll.State) { s.Tested = s.Tested[:5] }, map[practice.Key]float64{practice.EveryGrinds("dye_penetrant"): 1}, release.NotReleased, "dye penetrant test is asked (practice p v3)"},
		{"crown as ground before", func(s *roll.State) { s.Measured.CrownUM = nil }, nil, release.NotReleased, "not checked: crown since the grind of 2030-05-06 08:00Z; the figure shown is as ground before"},
		{"unknown result", func(s *roll.State) { s.Tested[1].Outcome = roll.Unknown }, nil, release.NotReleased, "has no known result"},
		{"taper over and crown missing", func(s *roll.State) { s.Measured.CrownUM, s.Measured.TaperUM = nil, &over }, nil, release.NotFit, "taper 30 µm is over its limit 20 µm"},
		{"roundness over", func(s *roll.State) { s.Measured.RoundnessUM = &over }, nil, release.NotFit, "roundness 30 µm is over its limit 10 µm"},
		{"failed", func(s *roll.State) {
			s.Failed = []roll.Failure{{Kind: roll.EddyCurrent, At: ground}}
			s.Defects = []roll.Defect{deep}
		}, nil, release.NotFit, "failed on 2030-05-06 08:00Z: 400 µm deep on radius"},
		{"called passed with a crack in an old book", func(s *roll.State) { s.Defects = []roll.Defect{deep} }, nil, release.NotFit, "400 µm on radius is left; 0 µm is allowed"},
		{"a crack within what is allowed", func(s *roll.State) { s.Defects = []roll.Defect{deep} }, map[practice.Key]float64{practice.MaxCrackUM: 400}, release.Fit, ""},
		{"owed after a mishap", func(s *roll.State) { s.Owed = []roll.Owed{{Kind: roll.EddyCurrent, Due: true, Why: "cobble of today"}} }, nil, release.NotFit, "owed since the cobble"},
		{"held", func(s *roll.State) { s.HeldFor = "soft spot" }, nil, release.NotFit, "held: soft spot"},
		{"one soft place", func(s *roll.State) { s.HardnessAlong = []roll.Reading{{Value: 78}, {Value: 70}} }, map[practice.Key]float64{practice.HardnessMinShoreC: 72}, release.NotFit, "hardness 70 Shore C is under its limit 72"},
	} {
		s := whole(mill.Work)
		k.change(&s)
		v := release.Judge(release.Subject{State: s, Practice: inForce(k.values, mill.Work), Case: c, Now: ground})
		if v.Word != k.word || !strings.Contains(strings.Join(v.Reasons, "\n"), k.says) {
			t.Errorf("%s: %s %v, want %s: %s", k.name, v.Word, v.Reasons, k.word, k.says)
		}
	}
}

// TestConcession covers what it names, and nothing that is wrong or not known.
func TestConcession(t *testing.T) {
	c := release.Case{Kind: mill.HotStrip, Role: mill.Work, Family: "forged_steel"}
	judge := func(s roll.State, chocks ...chock.Standing) release.Verdict {
		return release.Judge(release.Subject{State: s, Practice: inForce(nil, mill.Work), Case: c, Chocks: chocks, Now: ground})
	}
	s := whole(mill.Work)
	s.Measured.RoughnessUM = nil
	v := judge(s)
	if want := []string{"measure roughness"}; !slices.Equal(v.Concedable(), want) || v.MayGoIn() {
		t.Fatalf("concedable %v, may go in %v", v.Concedable(), v.MayGoIn())
	}
	s.Concession = &roll.Concession{By: "E. Ngineer", At: ground, Reason: "gauge out for repair.", Missing: v.Concedable()}
	if v = judge(s); v.Word != release.NotReleased || !v.MayGoIn() || !strings.Contains(strings.Join(v.Reasons, "\n"), "released by concession of E. Ngineer on 2030-05-06 08:00Z: gauge out for repair") {
		t.Errorf("conceded: %+v", v)
	}
	owes := chock.Standing{Chock: "K1", Owed: true, Why: "overdue: chock K1"}
	if v = judge(s, owes); v.MayGoIn() || !strings.Contains(strings.Join(v.Reasons, "\n"), "does not cover: chock K1") {
		t.Errorf("a chock came to owe since: %+v", v)
	}
	wrong := s
	wrong.HeldFor = "bruise"
	if v = judge(wrong); v.MayGoIn() || v.Word != release.NotFit || v.Concedable() != nil {
		t.Errorf("held: %+v", v)
	}
	unknown := s
	unknown.Tested = slices.Clone(s.Tested)
	unknown.Tested[0].Outcome = roll.Unknown
	if v = judge(unknown); v.MayGoIn() || v.Concedable() != nil {
		t.Errorf("unknown is never a pass: %+v", v)
	}
	// Of a set, one concession does not let the other roll go out.
	other := whole(mill.Work)
	other.Measured.CrownUM = nil
	if both := release.Both(judge(s), judge(other), "A", "B"); both.MayGoIn() || both.Word != release.NotReleased {
		t.Errorf("a set with one concession of two: %+v", both)
	}
	if both := release.Both(judge(s), judge(whole(mill.Work)), "A", "B"); !both.MayGoIn() {
		t.Errorf("a set with the one concession it needs: %+v", both)
	}
}

func TestAfterIncident(t *testing.T) {
	if got := release.AfterIncident(inForce(nil, mill.Work), roll.Cobble); got != nil {
		t.Errorf("common practice is the book's own: %v", got)
	}
	p := inForce(map[practice.Key]float64{practice.AfterIncident("ultrasonic", "cobble"): 1, practice.AfterIncident("eddy_current", "cobble"): 6}, mill.Work)
	want := []roll.AskedTest{{Kind: roll.EddyCurrent, Campaigns: 5}, {Kind: roll.Ultrasonic}}
	for _, what := range []roll.What{roll.Cobble, roll.Pinch} {
		if got := release.AfterIncident(p, what); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	if got := release.AfterIncident(p, roll.Bruise); got != nil {
		t.Errorf("a bruise: %v", got)
	}
}
