package roll_test

import (
	"fmt"
	"strings"
	"testing"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// limits is a practice under which the rolls of this test are judged.
func limits(values map[practice.Key]float64) practice.InForce {
	return practice.Resolve([]practice.Practice{{Name: "p", Version: 3, Values: values}}, practice.Scope{Role: mill.Work})
}

func TestAssess(t *testing.T) {
	measured := func(crown, taper, runout, rough float64) roll.Reground {
		b := reground(750_000, 749_000)
		b.CrownUM, b.TaperUM, b.RunoutUM, b.RoughnessUM = &crown, &taper, &runout, &rough
		return b
	}
	groundAs := func(b roll.Reground) []step { return []step{{0, received(), ""}, {1, b, ""}, {2, paired("A"), ""}} }
	for name, c := range map[string]struct {
		steps   []step
		now     float64
		values  map[practice.Key]float64
		partner func(*roll.State)
		verdict roll.Verdict
		reason  string
		next    string
	}{
		"ready":              {ready(), 3, nil, nil, roll.Fit, "within the limits entered", ""},
		"ground, alone":      {ready()[:2], 3, nil, nil, roll.Fit, "no partner yet", "buildSet"},
		"new":                {ready()[:1], 3, nil, nil, roll.NotFit, "not been ground to profile", "recordRegrind roll=W-101"},
		"mounted":            {inStand(), 3.5, nil, nil, roll.Fit, "in F1", ""},
		"worn":               {worn(), 9, nil, nil, roll.NotFit, "not been ground since it came out on 2026-01-09 06:00", "adviseRegrind roll=W-101"},
		"worn, two allowed":  {worn(), 9, map[practice.Key]float64{practice.CampaignsBetweenGrind: 2}, nil, roll.Fit, "within the limits", ""},
		"warm":               {worn(), 4.4, map[practice.Key]float64{practice.CampaignsBetweenGrind: 2}, nil, roll.NotFit, "still warm", "from 2026-01-09 18:00"},
		"cool at the moment": {worn(), 4.5, map[practice.Key]float64{practice.CampaignsBetweenGrind: 2}, nil, roll.Fit, "within the limits", ""},
		"held":               {and(ready(), step{3, roll.Held{}, "soft spot"}), 4, nil, nil, roll.NotFit, "held: soft spot", "releaseRoll roll=W-101"},
		"scrapped":           {and(ready()[:2], step{3, roll.Scrapped{Why: roll.BySpall}, "spall"}), 4, nil, nil, roll.NotFit, "scrapped on 2026-01-08 06:00Z: spall", ""},
		"test owed":          {and(ready(), step{3, incident(roll.Cobble), ""}), 4, nil, nil, roll.NotFit, "eddy current test is owed since the cobble", "tests.test=eddy_current"},
		"result not known":   {and(ready(), step{3, incident(roll.Cobble), ""}, step{3, looked(roll.EddyCurrent, roll.Unknown), ""}), 4, nil, nil, roll.FitnessUnknown, "eddy current test has no known result", "tests.test=eddy_current"},
		"unknown and held":   {and(ready(), step{3, looked(roll.EddyCurrent, roll.Unknown), ""}, step{3, roll.Held{}, "echo"}), 4, nil, nil, roll.NotFit, "no known result", "releaseRoll"},
		"failed":             {and(ready(), step{3, looked(roll.Ultrasonic, roll.Failed), ""}), 4, nil, nil, roll.NotFit, "ultrasonic test failed on 2026-01-08 06:00", "test again"},
		"watched, not due":   {and(ready(), step{3, incident(roll.Cobble), ""}, step{3, looked(roll.EddyCurrent, roll.Passed), ""}), 4, nil, nil, roll.Fit, "within the limits", ""},
		"below its limit":    {[]step{{0, small(), ""}}, 4, nil, nil, roll.NotFit, "689.000 mm is below the scrap limit 690.000 mm (shell depth)", "scrapRoll roll=W-101"},

		"taper at the limit":     {groundAs(measured(0, -20, 0, 1)), 3, nil, nil, roll.Fit, "within", ""},
		"taper over":             {groundAs(measured(0, -20.1, 0, 1)), 3, nil, nil, roll.NotFit, "taper 20.1 µm is over its limit 20 µm (default)", "grind it again"},
		"runout over":            {groundAs(measured(0, 0, 6, 1)), 3, map[practice.Key]float64{practice.RunoutToleranceUM: 5}, nil, roll.NotFit, "runout 6 µm is over its limit 5 µm (practice p v3)", "grind it again"},
		"crown as aimed at":      {groundAs(measured(-245, 0, 0, 1)), 3, map[practice.Key]float64{practice.CrownUM: -250}, nil, roll.Fit, "within", ""},
		"crown off":              {groundAs(measured(-239, 0, 0, 1)), 3, map[practice.Key]float64{practice.CrownUM: -250}, nil, roll.NotFit, "crown error 11 µm", "grind it again"},
		"crown not measured":     {ready(), 3, map[practice.Key]float64{practice.CrownUM: -250}, nil, roll.Fit, "within", ""},
		"too smooth":             {groundAs(measured(0, 0, 0, 0.5)), 3, map[practice.Key]float64{practice.RoughnessMinUM: 0.6}, nil, roll.NotFit, "Ra 0.5 µm is under its limit 0.6", "dress it again"},
		"too rough":              {groundAs(measured(0, 0, 0, 1.3)), 3, map[practice.Key]float64{practice.RoughnessMaxUM: 1.2}, nil, roll.NotFit, "Ra 1.3 µm is over its limit 1.2", "dress it again"},
		"too soft":               {ready(), 3, map[practice.Key]float64{practice.HardnessMinShoreC: 80}, nil, roll.NotFit, "78 Shore C is under its limit 80", ""},
		"partner at the limit":   {ready(), 3, nil, func(p *roll.State) { p.Diameter = 748_850 }, roll.Fit, "within", ""},
		"partner reground since": {ready(), 3, nil, func(p *roll.State) { p.Diameter = 748_849 }, roll.NotFit, "differs from its partner W-102 by 0.151 mm; the tolerance is 0.150 mm", "break set A"},
	} {
		t.Run(name, func(t *testing.T) {
			s := open(t, c.steps...).state
			var partner *roll.State
			if s.Set != "" {
				other := half("W-102", s.Diameter)
				if c.partner != nil {
					c.partner(&other)
				}
				partner = &other
			}
			f := roll.Assess(s, partner, limits(c.values), day(c.now))
			if f.Verdict != c.verdict {
				t.Errorf("verdict %s, want %s: %v", f.Verdict, c.verdict, f.Reasons)
			}
			if !strings.Contains(strings.Join(f.Reasons, "\n"), c.reason) || !strings.Contains(fmt.Sprint(f.Next), c.next) {
				t.Errorf("reasons %q, next %v; want %q and %q", f.Reasons, f.Next, c.reason, c.next)
			}
			if f.Verdict != roll.Fit && strings.Contains(strings.Join(f.Reasons, "\n"), "within the limits") {
				t.Errorf("not fit and within the limits: %q", f.Reasons)
			}
		})
	}
}

// TestFitRollsGoOut ties the two together: what Assess calls fit and is in a
// set, the book lets out, and what it does not, the book keeps in.
func TestFitRollsGoOut(t *testing.T) {
	p := limits(nil)
	for name, steps := range map[string][]step{
		"ready": ready(), "worn": worn(), "held": and(ready(), step{3, roll.Held{}, "x"}),
		"owed": and(ready(), step{3, incident(roll.Bruise), ""}), "unknown": and(ready(), step{3, looked(roll.Ultrasonic, roll.Unknown), ""}),
		"failed": and(ready(), step{3, looked(roll.Ultrasonic, roll.Failed), ""}), "warm": and(worn(), step{4.1, reground(748_900, 748_500), ""}),
		"below": {{0, small(), ""}, {1, paired("A"), ""}}, "ground again": and(worn(), step{4.1, reground(748_900, 748_500), ""}, step{4.45, looked(roll.Visual, roll.Passed), ""}),
	} {
		for _, at := range []float64{4.49, 4.5} {
			b := open(t, steps...)
			m := mounted()
			m.Cooling = p.Hours(practice.CoolingH)
			other := half("W-102", b.state.Diameter)
			fit := roll.Assess(b.state, &other, p, day(at))
			if err := b.write(step{at, m, ""}); (err == nil) != (fit.Verdict == roll.Fit) {
				t.Errorf("%s at day %g: assessed %s %v, the book says %v", name, at, fit.Verdict, fit.Reasons, err)
			}
		}
	}
}
