package roll_test

import (
	"math"
	"reflect"
	"testing"

	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
	"barrelbook/domain/roll"
)

func same(t interface {
	Helper()
	Fatalf(string, ...any)
}, got, want roll.State) {
	t.Helper()
	if len(got.Owed) == 0 && len(want.Owed) == 0 {
		got.Owed, want.Owed = nil, nil
	}
	if len(got.Failed) == 0 && len(want.Failed) == 0 {
		got.Failed, want.Failed = nil, nil
	}
	if !reflect.DeepEqual(got, want) {
		t.Fatalf("states differ:\n got %+v\nwant %+v", got, want)
	}
}

func and(steps []step, more ...step) []step { return append(steps[:len(steps):len(steps)], more...) }

// TestWhatMayNotFollow is the table of everything a book refuses, each with the
// entry that is in the way, or the field that is at fault.
func TestWhatMayNotFollow(t *testing.T) {
	scrapped := and(ready(), step{3, unpaired("A"), ""}, step{4, roll.Scrapped{Why: roll.ByEconomy}, "no partner"})
	held := and(ready(), step{2.5, roll.Held{}, "soft spot"})
	twoCampaigns := mounted()
	twoCampaigns.CampaignsBetweenGrinds = 2
	elsewhere, below := withdrawn(), withdrawn()
	elsewhere.Stand, below.Position = "F2", mill.BottomWork
	otherSet := mounted()
	otherSet.Set = "B"
	for name, c := range map[string]struct {
		before   []step
		entry    step
		inTheWay int64
		field    string
		words    []string
	}{
		"an entry in an empty book":       {nil, step{1, reground(750_000, 749_000), ""}, 0, "", []string{"before the roll's receipt"}},
		"received twice":                  {ready(), step{5, received(), ""}, 1, "", []string{"open already", "never used again"}},
		"received twice, the second late": {ready(), step{-5, received(), ""}, 1, "", []string{"open already", "never used again"}},
		"before the receipt":              {ready(), step{-1, reground(750_000, 749_000), ""}, 1, "", []string{"before the roll's receipt of 2026-01-05 06:00", "check the moment"}},
		"anything after scrapping":        {scrapped, step{5, reground(749_000, 748_000), ""}, 5, "", []string{"scrapped on 2026-01-09 06:00", "check the roll number"}},
		"an incident after scrapping":     {scrapped, step{5, incident(roll.Bruise), ""}, 5, "", []string{"scrapped on"}},
		"broken after scrapping":          {scrapped, step{5, unpaired("A"), ""}, 5, "", []string{"scrapped on"}},

		"ground while mounted":             {inStand(), step{4, reground(749_000, 748_500), ""}, 4, "", []string{"in F1 since 2026-01-08 06:00", "recordChange stand=F1"}},
		"ground while held":                {held, step{3, reground(749_000, 748_500), ""}, 4, "", []string{"held: soft spot", "releaseRoll roll=W-101"}},
		"the same regrind twice":           {ready(), step{2.1, reground(750_000, 749_000), ""}, 2, "", []string{"same regrind", "2026-01-06 06:00", "nothing need be done"}},
		"found above last ground":          {ready(), step{3, reground(749_021, 748_900), ""}, 0, "found_mm", []string{"749.021", "749.000", "gauge's uncertainty", "measure again"}},
		"ground above found":               {ready(), step{3, reground(748_900, 748_901), ""}, 0, "ground_mm", []string{"748.901", "748.900", "check both"}},
		"ground above last ground":         {ready(), step{3, reground(749_020, 749_010), ""}, 0, "ground_mm", []string{"749.010", "749.000", "measure again"}},
		"more wear than plausible":         {ready(), step{3, reground(740_999, 740_900), ""}, 0, "found_mm", []string{"8.001", "unit", "confirm it with a reason", "confirm="}},
		"more stock than plausible":        {ready(), step{3, reground(748_900, 740_899), ""}, 0, "ground_mm", []string{"8.001", "unit", "confirm it with a reason", "confirm="}},
		"below the scrap limit unasked":    {and(ready(), step{3, confirmed(reground(749_000, 695_000)), ""}), step{4, reground(694_500, 689_999), ""}, 0, "ground_mm", []string{"689.999", "690.000", "shell depth", "then scrapped"}},
		"paired while in a set":            {ready(), step{3, paired("B"), ""}, 3, "", []string{"set A with W-102", "breakSet set=A"}},
		"paired while held":                {[]step{{0, cameGround(), ""}, {1, roll.Held{}, "crack?"}}, step{2, paired("A"), ""}, 2, "", []string{"held: crack?", "releaseRoll roll=W-101"}},
		"paired new":                       {[]step{{0, received(), ""}}, step{2, paired("A"), ""}, 1, "", []string{"not been ground to profile", "recordRegrind roll=W-101"}},
		"paired worn":                      {and(worn(), step{4, unpaired("A"), ""}), step{5, paired("B"), ""}, 5, "", []string{"not been ground since it came out on 2026-01-09 06:00", "recordRegrind roll=W-101"}},
		"paired in a stand":                {inStand(), step{5, paired("B"), ""}, 3, "", []string{"in set A"}},
		"broken in a stand":                {inStand(), step{5, unpaired("A"), ""}, 4, "", []string{"set A is in F1", "take it out first"}},
		"broken out of another set":        {ready(), step{5, unpaired("B"), ""}, 3, "", []string{"not in set B"}},
		"broken twice":                     {and(ready(), step{3, unpaired("A"), ""}), step{5, unpaired("A"), ""}, 0, "", []string{"not in set A"}},
		"mounted alone":                    {and(ready(), step{3, unpaired("A"), ""}), step{4, mounted(), ""}, 0, "", []string{"not in a set", "buildSet"}},
		"mounted in a set it is not in":    {ready(), step{4, otherSet, ""}, 3, "", []string{"in set A, not in set B"}},
		"mounted twice":                    {inStand(), step{4, mounted(), ""}, 4, "", []string{"in F1 since 2026-01-08 06:00", "withdrawal"}},
		"mounted held":                     {held, step{4, mounted(), ""}, 4, "", []string{"held: soft spot", "take another set", "releaseRoll roll=W-101"}},
		"mounted worn":                     {worn(), step{6, mounted(), ""}, 5, "", []string{"1 campaign since it was ground", "allows 1", "adviseRegrind roll=W-101"}},
		"mounted worn a third time":        {and(ready(), step{3, twoCampaigns, ""}, step{4, withdrawn(), ""}, step{5, twoCampaigns, ""}, step{6, withdrawn(), ""}), step{7, twoCampaigns, ""}, 7, "", []string{"2 campaigns since it was ground", "allows 2"}},
		"mounted warm":                     {worn()[:5], step{4.49, twoCampaigns, ""}, 5, "", []string{"came out on 2026-01-09 06:00", "warm within the 12 h", "may go in from 2026-01-09 18:00"}},
		"mounted with a test owed":         {and(ready(), step{2.5, incident(roll.Bruise), ""}), step{3, mounted(), ""}, 4, "", []string{"visual test is owed since the bruise of 2026-01-07 18:00", "recordInspection roll=W-101 tests.test=visual"}},
		"mounted with a result not known":  {and(ready(), step{2.5, looked(roll.Ultrasonic, roll.Unknown), ""}), step{3, mounted(), ""}, 4, "", []string{"ultrasonic test has no known result", "test of 2026-01-07 18:00", "recordInspection roll=W-101"}},
		"mounted with a failed test":       {and(ready(), step{2.5, looked(roll.EddyCurrent, roll.Failed), ""}), step{3, mounted(), ""}, 4, "", []string{"eddy current test failed on 2026-01-07 18:00", "test again"}},
		"mounted received below its limit": {[]step{{0, small(), ""}, {1, paired("A"), ""}}, step{3, mounted(), ""}, 1, "", []string{"689.000", "690.000", "shell depth", "scrapRoll roll=W-101"}},

		"withdrawn from no stand":           {ready(), step{4, withdrawn(), ""}, 0, "", []string{"not in a stand", "check the stand"}},
		"withdrawn twice":                   {worn(), step{5, withdrawn(), ""}, 5, "", []string{"not in a stand"}},
		"withdrawn from another stand":      {inStand(), step{5, elsewhere, ""}, 4, "", []string{"in F1 (top_work), not in F2 (top_work)"}},
		"withdrawn from another place":      {inStand(), step{5, below, ""}, 4, "", []string{"in F1 (top_work), not in F1 (bottom_work)"}},
		"tested in a stand":                 {inStand(), step{5, looked(roll.EddyCurrent, roll.Passed), ""}, 4, "", []string{"in F1 since 2026-01-08 06:00", "no eddy current test", "moment the test was made"}},
		"held twice":                        {held, step{3, roll.Held{}, "again"}, 4, "", []string{"held already: soft spot", "leave it held"}},
		"held without a reason":             {ready(), step{3, roll.Held{}, " "}, 0, "reason", []string{"\"held\" needs a reason"}},
		"released unheld":                   {ready(), step{3, roll.Released{}, "fine"}, 0, "", []string{"not held"}},
		"released without a reason":         {held, step{3, roll.Released{}, ""}, 0, "reason", []string{"\"released\" needs a reason"}},
		"released with an unknown result":   {and(ready(), step{2.2, looked(roll.Ultrasonic, roll.Unknown), ""}, step{2.5, roll.Held{}, "echo"}), step{3, roll.Released{}, "busy"}, 4, "", []string{"ultrasonic test has no known result", "not a pass", "record it as failed"}},
		"regraded in a stand":               {inStand(), step{5, roll.Regraded{Stands: []string{"F2"}}, "old"}, 4, "", []string{"in F1 since", "take it out"}},
		"regraded in a set":                 {ready(), step{5, roll.Regraded{Stands: []string{"F2"}}, "old"}, 3, "", []string{"in set A", "breakSet set=A"}},
		"regraded without a reason":         {[]step{{0, received(), ""}}, step{5, roll.Regraded{Stands: []string{"F2"}}, ""}, 0, "reason", []string{"needs a reason"}},
		"scrapped in a stand":               {inStand(), step{5, roll.Scrapped{Why: roll.BySpall}, "spall"}, 4, "", []string{"in F1 since", "take it out"}},
		"scrapped in a set":                 {ready(), step{5, roll.Scrapped{Why: roll.BySpall}, "spall"}, 3, "", []string{"in set A", "breakSet set=A"}},
		"scrapped without a reason":         {[]step{{0, received(), ""}}, step{5, roll.Scrapped{Why: roll.BySpall}, ""}, 0, "reason", []string{"needs a reason"}},
		"received into another roll's book": {nil, step{0, anothers(), ""}, 0, "number", nil},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, c.before...)
			entries, state := len(b.entries), b.state
			err := b.write(c.entry)
			if name == "received into another roll's book" { // nothing more can be advised than the two numbers
				if err == nil {
					t.Fatal("taken")
				}
				return
			}
			refused(t, err, c.inTheWay, c.field, c.words...)
			if len(b.entries) != entries {
				t.Fatal("the book has grown")
			}
			same(t, b.state, state)
			replays(t, b)
		})
	}
}

func confirmed(b roll.Reground) roll.Reground {
	b.Confirm = "spall ground right out"
	return b
}

func cameGround() roll.Received {
	r := received()
	r.Ground = true
	return r
}

func small() roll.Received {
	r := cameGround()
	r.Diameter = 689_000
	return r
}

func anothers() roll.Received {
	r := received()
	r.Roll.Number = "W-999"
	return r
}

func TestWhatMayFollow(t *testing.T) {
	later := mounted()
	later.CampaignsBetweenGrinds = 2
	for name, c := range map[string]struct {
		steps []step
		check func(roll.State) bool
	}{
		"a new roll is ground": {[]step{{0, received(), ""}, {1, reground(750_000, 749_000), ""}}, func(s roll.State) bool {
			return s.Stage == roll.StageGround && s.Diameter == 749_000 && s.Regrinds == 1
		}},
		"one that comes ground is paired":   {[]step{{0, cameGround(), ""}, {1, paired("A"), ""}}, func(s roll.State) bool { return s.Stage == roll.StagePaired && s.Partner == "W-102" }},
		"found as high as the gauge allows": {and(ready(), step{3, reground(749_020, 749_000), ""}), func(s roll.State) bool { return s.Diameter == 749_000 }},
		"as much as is plausible":           {and(ready(), step{3, reground(741_000, 733_000), ""}), func(s roll.State) bool { return s.Diameter == 733_000 }},
		"more, confirmed":                   {and(ready(), step{3, confirmed(reground(735_000, 720_000)), ""}), func(s roll.State) bool { return s.Diameter == 720_000 && s.StockRemoved == 30_000 }},
		"a second look at the same figures, confirmed": {and(ready(), step{3, reground(749_000, 749_000), ""}, step{3.1, confirmed(reground(749_000, 749_000)), ""}),
			func(s roll.State) bool { return s.Regrinds == 3 }},
		"the same figures after a campaign": {and(ready(), step{2.1, reground(749_000, 749_000), ""}, step{3, mounted(), ""}, step{4, withdrawn(), ""}, step{5, reground(749_000, 749_000), ""}),
			func(s roll.State) bool { return s.Regrinds == 3 && s.Stage == roll.StagePaired }},
		"ground to the scrap limit": {and(ready(), step{3, confirmed(reground(749_000, 690_000)), ""}), func(s roll.State) bool { return s.Stage == roll.StagePaired && s.StockLeft() == 0 }},
		"ground below it, confirmed": {and(ready(), step{3, confirmed(reground(749_000, 689_999)), ""}),
			func(s roll.State) bool {
				return s.Stage == roll.StageScrapped && s.ScrapWhy == roll.ByDiameter && s.ScrappedAt.Equal(day(3))
			}},
		"the set of a roll scrapped by a grind is broken": {and(ready(), step{3, confirmed(reground(749_000, 689_999)), ""}, step{4, unpaired("A"), ""}),
			func(s roll.State) bool {
				return s.Stage == roll.StageScrapped && s.Set == "" && s.ScrappedAt.Equal(day(3))
			}},
		"a set stays a set through a campaign": {worn(), func(s roll.State) bool {
			return s.Stage == roll.StageWorn && s.Set == "A" && s.Campaigns == 1 && s.Stand == ""
		}},
		"a set broken worn":                     {and(worn(), step{5, unpaired("A"), ""}), func(s roll.State) bool { return s.Stage == roll.StageWorn && s.Set == "" }},
		"two campaigns where practice allows":   {and(ready(), step{3, later, ""}, step{4, withdrawn(), ""}, step{4.5, later, ""}), func(s roll.State) bool { return s.Stage == roll.StageMounted && s.CampaignsSinceGrind == 1 }},
		"in at the moment it has cooled":        {and(worn(), step{4.2, reground(748_900, 748_500), ""}, step{4.5, mounted(), ""}), func(s roll.State) bool { return s.Stage == roll.StageMounted }},
		"held in a stand":                       {and(inStand(), step{3.5, roll.Held{}, "noise"}), func(s roll.State) bool { return s.HeldFor == "noise" && s.Stage == roll.StageMounted }},
		"held and released":                     {and(ready(), step{3, roll.Held{}, "noise"}, step{4, roll.Released{}, "bearing changed"}), func(s roll.State) bool { return s.HeldFor == "" }},
		"released with a failed test, to grind": {and(ready(), step{3, looked(roll.EddyCurrent, roll.Failed), ""}, step{3, roll.Held{}, "crack"}, step{4, roll.Released{}, "to the grinder"}), func(s roll.State) bool { return s.HeldFor == "" && len(s.Failed) == 1 }},
		"looked at in a stand":                  {and(inStand(), step{3.5, incident(roll.Bruise), ""}, step{3.6, looked(roll.Visual, roll.Passed), ""}), func(s roll.State) bool { return len(s.Owed) == 0 }},
		"regraded":                              {[]step{{0, received(), ""}, {1, roll.Regraded{Mill: "plate", Stands: []string{"P1"}}, "trial"}}, func(s roll.State) bool { return s.Mill == "plate" && s.Serves(mill.Stand{Name: "P1", Mill: "plate"}) }},
		"scrapped":                              {[]step{{0, received(), ""}, {1, roll.Scrapped{Why: roll.ByNeck}, "neck crack"}}, func(s roll.State) bool { return s.Stage == roll.StageScrapped && s.ScrapWhy == roll.ByNeck }},
		"three things at one moment, in the order written": {and(worn(), step{5, reground(748_900, 748_500), ""}, step{5, roll.Held{}, "check"}, step{5, roll.Released{}, "checked"}),
			func(s roll.State) bool { return s.HeldFor == "" && s.Entries == 8 }},
	} {
		t.Run(name, func(t *testing.T) {
			b := open(t, c.steps...)
			if !c.check(b.state) {
				t.Errorf("state %+v", b.state)
			}
			replays(t, b)
		})
	}
}

func TestFiguresThatNoRollHas(t *testing.T) {
	nan, inf, minus := math.NaN(), math.Inf(1), -1.0
	figure := func(change func(*roll.Reground)) roll.Body {
		b := reground(749_000, 748_500)
		change(&b)
		return b
	}
	broken := received()
	broken.CrownUM = nan
	nothing := received()
	nothing.Diameter = 0
	for path, c := range map[string]struct {
		before []step
		body   roll.Body
	}{
		"crown_um":                 {nil, broken},
		"diameter_mm":              {nil, nothing},
		"taper_um":                 {ready(), figure(func(b *roll.Reground) { b.TaperUM = &nan })},
		"runout_um":                {ready(), figure(func(b *roll.Reground) { b.RunoutUM = &minus })},
		"roughness_um":             {ready(), figure(func(b *roll.Reground) { b.RoughnessUM = &inf })},
		"temperature_above_shop_k": {ready(), figure(func(b *roll.Reground) { b.AboveShopK = inf })},
		"found_mm":                 {ready(), figure(func(b *roll.Reground) { b.Found = 0 })},
		"ground_mm":                {ready(), figure(func(b *roll.Reground) { b.Ground = -5; b.Confirm = "really" })},
		"tests/0/crack_depth_um":   {ready(), roll.Inspected{Tests: []roll.Test{{Kind: roll.EddyCurrent, Outcome: roll.Failed, CrackDepthUM: nan}}}},
		"tests/0/hardness_shore_c": {ready(), figure(func(b *roll.Reground) {
			b.Tests = []roll.Test{{Kind: roll.HardnessTest, Outcome: roll.Passed, Hardness: minus}}
		})},
	} {
		t.Run(path, func(t *testing.T) {
			err := open(t, c.before...).write(step{5, c.body, ""})
			fields := refusal.FieldsOf(err)
			if len(fields) != 1 || fields[0].Path != path {
				t.Errorf("got %v, want a refusal of %s alone", err, path)
			}
		})
	}
}

func TestAppendTakesOnlyTheNextNumber(t *testing.T) {
	b := open(t, ready()...)
	for _, wrong := range []int64{0, 3, 5} {
		e := roll.Entry{Roll: number, Number: wrong, At: day(5), Body: looked(roll.Visual, roll.Passed)}
		if _, err := roll.Append(b.state, e, nil); err == nil {
			t.Errorf("entry %d was taken after entry 3", wrong)
		}
	}
	if _, err := roll.Replay(append(b.entries[:1:1], b.entries[2])); err == nil {
		t.Error("a book with an entry torn out was read")
	}
}
