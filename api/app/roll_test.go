package app_test

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

func receipt(number string) roll.Received {
	return roll.Received{Mill: "hot", Diameter: 715_000, Roll: roll.Roll{Number: number, Role: mill.Work, Grade: "steel", NewDiameter: 715_000,
		BarrelLength: 1_780_000, BearingSpan: 2_800_000, NeckDiameter: 400_000, Scrap: roll.ScrapLimits{Nominal: 640_000, ShellDepth: 650_000}}}
}

func TestReceiptsRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		at     float64
		change func(*roll.Received)
		kind   port.Kind
		field  string
		words  []string
	}{
		"a number in use":                           {48, func(r *roll.Received) { r.Roll.Number = "FREE" }, port.Conflicting, "", []string{"book of roll FREE already", "never used again"}},
		"the number of a scrapped":                  {48, func(r *roll.Received) { r.Roll.Number = "GONE" }, port.Conflicting, "", []string{"book of roll GONE already", "never used again"}},
		"the number of a scrapped, as of before it": {-5, func(r *roll.Received) { r.Roll.Number = "GONE" }, port.Conflicting, "", []string{"never used again"}},
		"in the future":                             {49, func(*roll.Received) {}, port.Impossible, "at", []string{"in the future"}},
		"of a grade nobody knows":                   {48, func(r *roll.Received) { r.Roll.Grade = "xx" }, port.Impossible, "grade", []string{"not known", "createGrade"}},
		"for a mill nobody knows":                   {48, func(r *roll.Received) { r.Mill = "xx" }, port.Impossible, "mill", []string{"not known", "createMill"}},
		"for a stand nobody knows":                  {48, func(r *roll.Received) { r.Stands = []string{"F5", "F9"} }, port.Impossible, "stands/1", []string{"F9", "listStands"}},
		"at the scrap limit":                        {48, func(r *roll.Received) { r.Diameter = 650_000 }, port.Impossible, "diameter_mm", []string{"650.000", "shell depth", "unit"}},
		"with a radius for a diameter":              {48, func(r *roll.Received) { r.Diameter = 357_500 }, port.Impossible, "diameter_mm neck_diameter_mm", []string{"above the scrap limit"}},
		"with a neck above the barrel":              {48, func(r *roll.Received) { r.Roll.NeckDiameter = 715_000 }, port.Impossible, "neck_diameter_mm", nil},
		"with bearings on the barrel":               {48, func(r *roll.Received) { r.Roll.BearingSpan = 1_780_000 }, port.Impossible, "bearing_span_mm", nil},
		"with four things wrong":                    {48, func(r *roll.Received) { r.Roll.Grade, r.Mill, r.Diameter = "xx", "xx", 600_000 }, port.Impossible, "grade mill diameter_mm", nil},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			r := receipt("N1")
			c.change(&r)
			if c.field == "diameter_mm neck_diameter_mm" {
				r.Roll.NeckDiameter = 357_500
			}
			w.refused(c.kind, c.field, c.words, func() error {
				_, err := w.ReceiveRoll(w.ctx, engineer, at(c.at), r)
				return err
			})
		})
	}
}

func TestHappeningsRefused(t *testing.T) {
	t.Parallel()
	tested := func(kind roll.TestKind, outcome roll.Outcome) roll.Inspected {
		return roll.Inspected{Tests: []roll.Test{{Kind: kind, Outcome: outcome}}}
	}
	for name, c := range map[string]struct {
		in    record.Happening
		kind  port.Kind
		field string
		words []string
	}{
		"of a roll nobody knows":         {record.Happening{Number: "F-9", Body: roll.Held{}, Reason: "why"}, port.NotFound, "", []string{"F-9"}},
		"a hold of a held roll":          {record.Happening{Number: "HELD", Body: roll.Held{}, Reason: "why"}, port.Conflicting, "", []string{"held already: soft spot"}},
		"a hold without a reason":        {record.Happening{Number: "FREE", Body: roll.Held{}}, port.Impossible, "reason", nil},
		"a release of a free roll":       {record.Happening{Number: "FREE", Body: roll.Released{}, Reason: "why"}, port.Conflicting, "", []string{"not held"}},
		"a test in a stand":              {record.Happening{Number: "OLD-T", Body: tested(roll.Ultrasonic, roll.Passed)}, port.Conflicting, "", []string{"in F5 since", "moment the test was made"}},
		"a look at a scrapped roll":      {record.Happening{Number: "GONE", Body: tested(roll.Visual, roll.Passed)}, port.Conflicting, "", []string{"scrapped"}},
		"a scrapping in a stand":         {record.Happening{Number: "OLD-T", Body: roll.Scrapped{Why: roll.BySpall}, Reason: "spall"}, port.Conflicting, "", []string{"in F5 since", "recordChange stand=F5"}},
		"a scrapping in a set":           {record.Happening{Number: "NEXT-T", Body: roll.Scrapped{Why: roll.BySpall}, Reason: "spall"}, port.Conflicting, "", []string{"in set NEXT", "breakSet set=NEXT"}},
		"a move to a mill nobody knows":  {record.Happening{Number: "FREE", Body: roll.Regraded{Mill: "xx"}, Reason: "why"}, port.Impossible, "mill", []string{"not known"}},
		"a move to a stand nobody knows": {record.Happening{Number: "FREE", Body: roll.Regraded{Stands: []string{"F9"}}, Reason: "why"}, port.Impossible, "stands/0", []string{"F9"}},
		"in the future":                  {record.Happening{Number: "FREE", Body: roll.Held{}, Reason: "why", At: at(49)}, port.Impossible, "at", []string{"future"}},
		"before the receipt":             {record.Happening{Number: "FREE", Body: roll.Held{}, Reason: "why", At: at(-1)}, port.Conflicting, "", []string{"receipt of 2031-03-03 06:00"}},
		"a hold before it went in":       {record.Happening{Number: "OLD-T", Body: roll.Held{}, Reason: "why", At: at(12)}, port.Conflicting, "", []string{`contradict the entry "mounted" of 2031-03-04 06:00`, "entry 3"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			w.refused(c.kind, c.field, c.words, func() error {
				_, err := w.RecordHappening(w.ctx, engineer, c.in)
				return err
			})
		})
	}
	w := shop(t)
	call := engineer
	call.IfVersion = 1
	w.refused(port.Stale, "", []string{"version 1, it is now 2", "getRoll roll=HELD"}, func() error {
		_, err := w.RecordHappening(w.ctx, call, record.Happening{Number: "HELD", Body: roll.Released{}, Reason: "why"})
		return err
	})
}

// TestUnknownIsNotReleasable: held for a result that is not known, a roll is
// released neither to the stand nor from its hold.
func TestUnknownIsNotReleasable(t *testing.T) {
	t.Parallel()
	w := shop(t)
	v := w.happens("HELD", "", roll.Inspected{Tests: []roll.Test{{Kind: roll.Ultrasonic, Outcome: roll.Unknown}}})
	if v.Fitness.Word == release.Fit {
		t.Errorf("%+v", v.Fitness)
	}
	release := func() error {
		_, err := w.RecordHappening(w.ctx, engineer, record.Happening{Number: "HELD", Body: roll.Released{}, Reason: "needed"})
		return err
	}
	w.refused(port.Conflicting, "", []string{"ultrasonic test has no known result", "not a pass"}, release)
	w.happens("HELD", "", roll.Inspected{Tests: []roll.Test{{Kind: roll.Ultrasonic, Outcome: roll.Passed}}})
	w.must(release())
	w.sound()
}

func TestSetsRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		before func(*works)
		in     record.SetInput
		kind   port.Kind
		field  string
		words  []string
	}{
		"of one roll twice":        {nil, record.SetInput{Top: "FREE", Bottom: "FREE"}, port.Conflicting, "", []string{"one roll twice"}},
		"of a roll nobody knows":   {nil, record.SetInput{Top: "FREE", Bottom: "F-9"}, port.NotFound, "", []string{"F-9"}},
		"of a roll in another set": {nil, record.SetInput{Top: "FREE", Bottom: "NEXT-T"}, port.Conflicting, "", []string{"roll NEXT-T", "in set NEXT with NEXT-B", "breakSet set=NEXT"}},
		"of a mounted roll":        {nil, record.SetInput{Top: "OLD-T", Bottom: "FREE"}, port.Conflicting, "", []string{"tolerance"}},
		"of a held roll":           {nil, record.SetInput{Top: "FREE", Bottom: "HELD"}, port.Conflicting, "", []string{"held: soft spot"}},
		"of a scrapped roll":       {nil, record.SetInput{Top: "FREE", Bottom: "GONE"}, port.Conflicting, "", []string{"scrapped"}},
		"of two roles":             {nil, record.SetInput{Top: "FREE", Bottom: "BU-T"}, port.Conflicting, "", []string{"FREE is a work roll and BU-T a backup roll"}},
		"out of tolerance":         {func(w *works) { w.regrind("LONE", 714_900, 714_849) }, record.SetInput{Top: "FREE", Bottom: "LONE"}, port.Conflicting, "", []string{"differ by 0.151 mm", "tolerance is 0.150 mm", "grind FREE by at least 0.001 mm"}},
		"of a new roll": {func(w *works) {
			_, err := w.ReceiveRoll(w.ctx, engineer, w.clock.now, receipt("NEW"))
			w.must(err)
		}, record.SetInput{Top: "FREE", Bottom: "NEW"}, port.Conflicting, "", []string{"new and has not been ground", "recordRegrind roll=NEW"}},
		"of worn rolls": {func(w *works) {
			w.change(record.ChangeInput{Stand: "F5", Role: mill.Work})
			w.breakSet("OLD")
		}, record.SetInput{Top: "OLD-T", Bottom: "OLD-B"}, port.Conflicting, "", []string{"not been ground since it came out", "recordRegrind roll=OLD-T"}},
		"under a name that is taken": {nil, record.SetInput{Name: "NEXT", Top: "FREE", Bottom: "LONE"}, port.Conflicting, "", []string{"a set NEXT already"}},
		"in the future":              {nil, record.SetInput{Top: "FREE", Bottom: "LONE", At: at(49)}, port.Impossible, "at", []string{"future"}},
		"before a receipt":           {nil, record.SetInput{Top: "FREE", Bottom: "LONE", At: at(-1)}, port.Conflicting, "", []string{"receipt"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			if c.before != nil {
				c.before(w)
			}
			w.refused(c.kind, c.field, c.words, func() error {
				_, err := w.BuildSet(w.ctx, engineer, c.in)
				return err
			})
		})
	}
	w := shop(t)
	broke := func(name string, version int64) func() error {
		return func() error {
			call := engineer
			call.IfVersion = version
			_, err := w.BreakSet(w.ctx, call, name, time.Time{}, "why")
			return err
		}
	}
	w.refused(port.Conflicting, "", []string{"set OLD is in F5", "recordChange stand=F5"}, broke("OLD", 2))
	w.refused(port.NotFound, "", []string{"XX"}, broke("XX", 1))
	w.breakSet("NEXT")
	w.refused(port.Conflicting, "", []string{"was broken on"}, broke("NEXT", 2))
}

func TestCorrectionsOfTheBook(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.regrind("FREE", 714_900, 714_500) // entry 2
	w.pass(time.Hour)
	correct := func(entry int64, to *record.RegrindInput) error {
		c := record.Correction{Number: "FREE", Entry: entry, Reason: "misread"}
		if to != nil {
			c.Regrind = instead(*to)
		}
		_, err := w.CorrectEntry(w.ctx, engineer, c)
		return err
	}
	in := grind(714_900, 714_950)
	w.refused(port.Impossible, "regrind/ground_mm", []string{"714.950"}, func() error { return correct(2, &in) })
	w.refused(port.NotFound, "", []string{"no entry 3", "book has 2"}, func() error { return correct(3, nil) })
	w.refused(port.Conflicting, "", []string{"entry 1 (received)"}, func() error { return correct(1, nil) })
	w.refused(port.Impossible, "reason", nil, func() error {
		_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "FREE", Entry: 2})
		return err
	})
	future := grind(714_900, 714_400)
	future.At = w.clock.now.Add(time.Hour)
	w.refused(port.Impossible, "regrind/at", []string{"future"}, func() error { return correct(2, &future) })

	moment := w.clock.now.Add(-time.Hour)
	in = grind(714_900, 714_400)
	w.must(correct(2, &in)) // entry 3
	w.pass(time.Hour)
	in = grind(714_900, 714_300)
	w.must(correct(3, &in)) // entry 4: the moment is still that of the grind
	v, err := w.Roll(w.ctx, "FREE")
	w.must(err)
	if v.State.Diameter != 714_300 || !v.State.GroundAt.Equal(moment) || v.State.Regrinds != 1 {
		t.Errorf("%s ground %v in %d grinds, want 714.300 at %v in 1", v.State.Diameter, v.State.GroundAt, v.State.Regrinds, moment)
	}
	w.refused(port.Conflicting, "", []string{"entry 2 has been corrected already", "entry 4"}, func() error { return correct(2, &in) })
	w.must(correct(4, nil)) // entry 5
	w.refused(port.Conflicting, "", []string{"entry 5 withdrew another"}, func() error { return correct(5, nil) })
	for number, entry := range map[string]int64{"OLD-T": 3, "NEXT-T": 2} {
		w.refused(port.Conflicting, "", []string{"entry"}, func() error {
			_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: number, Entry: entry, Reason: "misread"})
			return err
		})
	}
	w.refused(port.Conflicting, "", []string{`is "held", not a regrind`}, func() error {
		_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "HELD", Entry: 2, Reason: "misread", Regrind: instead(in)})
		return err
	})
	if v, _ := w.Roll(w.ctx, "FREE"); v.State.Diameter != 715_000 || v.State.Regrinds != 0 {
		t.Errorf("withdrawn: %s in %d grinds", v.State.Diameter, v.State.Regrinds)
	}
	w.sound()
}

func TestIncidentsRefused(t *testing.T) {
	t.Parallel()
	w := shop(t)
	for _, c := range []struct {
		in    record.IncidentInput
		kind  port.Kind
		field string
		words []string
	}{
		{record.IncidentInput{What: roll.Cobble}, port.Impossible, "stand", []string{"either the stand"}},
		{record.IncidentInput{What: roll.Cobble, Stand: "F5", Roll: "OLD-T"}, port.Impossible, "stand", []string{"either the stand"}},
		{record.IncidentInput{What: roll.Cobble, Stand: "F9"}, port.NotFound, "", []string{"F9"}},
		{record.IncidentInput{What: roll.Cobble, Roll: "F-9"}, port.NotFound, "", []string{"F-9"}},
		{record.IncidentInput{What: roll.Cobble, Stand: "F6"}, port.Conflicting, "", []string{"no roll was in F6"}},
		{record.IncidentInput{What: roll.Cobble, Stand: "F5", At: at(12)}, port.Conflicting, "", []string{"no roll was in F5"}},
		{record.IncidentInput{What: roll.Cobble, Stand: "F5", At: at(49)}, port.Impossible, "at", []string{"future"}},
		{record.IncidentInput{What: roll.Cobble, Roll: "GONE"}, port.Conflicting, "", []string{"scrapped"}},
	} {
		w.refused(c.kind, c.field, c.words, func() error {
			_, err := w.RecordIncident(w.ctx, engineer, c.in)
			return err
		})
	}
}

// TestLateIncident tells of a cobble when the rolls that bore it are out and
// others are in: it goes to those that were there, and stops only what comes.
func TestLateIncident(t *testing.T) {
	t.Parallel()
	w := shop(t)
	cobble := w.clock.now.Add(-time.Hour)
	w.outAndGround(13 * time.Hour)
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "OLD"})
	v, err := w.RecordIncident(w.ctx, engineer, record.IncidentInput{What: roll.Cobble, Stand: "F5", At: cobble})
	w.must(err)
	if len(v.Rolls) != 4 || len(v.Owed) != 4 {
		t.Errorf("hit %v, owed %q", v.Rolls, v.Owed)
	}
	for number, owed := range map[string]int{"OLD-T": 1, "OLD-B": 1, "BU-T": 1, "SPARE-T": 0} {
		r, err := w.Roll(w.ctx, number)
		w.must(err)
		if len(r.State.Owed) != owed || owed == 1 && (!r.State.Owed[0].Due || r.State.Stage != roll.StageMounted) {
			t.Errorf("%s is %s and owes %+v", number, r.State.Stage, r.State.Owed)
		}
	}
	w.sound()
	w.pass(time.Hour)
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work})
	w.pass(13 * time.Hour)
	w.regrind("OLD-T", 719_400, 719_000)
	w.regrind("OLD-B", 719_400, 719_000)
	w.refused(port.Conflicting, "", []string{"OLD-T", "eddy current test is owed since the cobble of 2031-03-05 05:00"}, func() error {
		_, err := w.RecordChange(w.ctx, engineer, record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "OLD"})
		return err
	})
}

func TestPracticesRefused(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.practice("p", practice.Scope{Mill: "hot"}, map[practice.Key]float64{practice.CoolingH: 10})
	for _, c := range []struct {
		p       practice.Practice
		version int64
		kind    port.Kind
		field   string
	}{
		{practice.Practice{Name: "p", Values: map[practice.Key]float64{practice.CoolingH: 8}}, 2, port.Stale, ""},
		{practice.Practice{Name: "q", Values: map[practice.Key]float64{practice.CoolingH: 8}}, 1, port.NotFound, ""},
		{practice.Practice{Name: "p", Values: map[practice.Key]float64{practice.CoolingH: 800}}, 1, port.Impossible, "values/cooling_h"},
		{practice.Practice{Name: "p", Scope: practice.Scope{Mill: "x", Stand: "y", Grade: "z"}}, 1, port.Impossible, "scope/mill scope/stand scope/grade"},
	} {
		w.refused(c.kind, c.field, nil, func() error {
			call := engineer
			call.IfVersion = c.version
			_, err := w.ReplacePractice(w.ctx, call, c.p)
			return err
		})
	}
	w.refused(port.Conflicting, "", []string{"p already"}, func() error {
		_, err := w.CreatePractice(w.ctx, engineer, practice.Practice{Name: "p"})
		return err
	})
	stand := mill.Stand{Name: "F5", Mill: "hot", Order: 5, Arrangement: mill.TwoHigh}
	call := engineer
	call.IfVersion = 1
	w.refused(port.Conflicting, "", []string{"F5 has rolls in it"}, func() error {
		_, err := w.ReplaceStand(w.ctx, call, stand)
		return err
	})
	call.IfVersion = 7
	stand.Arrangement = mill.FourHigh
	w.refused(port.Stale, "", nil, func() error {
		_, err := w.ReplaceStand(w.ctx, call, stand)
		return err
	})
}
