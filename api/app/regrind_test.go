package app_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/release"
	"barrelbook/domain/roll"
)

// TestRegrindsRefused is the list of what a grinder hand may get wrong. FREE
// was received with 715.000 mm.
func TestRegrindsRefused(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	with := func(in record.RegrindInput, change func(*record.RegrindInput)) record.RegrindInput {
		change(&in)
		return in
	}
	at := func(in record.RegrindInput, at time.Time) record.RegrindInput {
		return with(in, func(in *record.RegrindInput) { in.At = at })
	}
	good := grind(714_900, 714_500)
	now := start.Add(48 * time.Hour)
	for name, c := range map[string]struct {
		number string
		in     record.RegrindInput
		kind   port.Kind
		field  string
		words  []string
	}{
		"of a roll nobody knows":      {"F-999", good, port.NotFound, "", []string{"F-999", "listRolls"}},
		"of a mounted roll":           {"OLD-T", grind(719_900, 719_500), port.Conflicting, "", []string{"in F5 since 2031-03-04 06:00", "recordChange stand=F5"}},
		"of a held roll":              {"HELD", good, port.Conflicting, "", []string{"held: soft spot", "releaseRoll roll=HELD"}},
		"of a scrapped roll":          {"GONE", good, port.Conflicting, "", []string{"scrapped on 2031-03-04", "check the roll number"}},
		"found above last ground":     {"FREE", grind(715_021, 714_500), port.Impossible, "found_mm", []string{"715.021", "715.000"}},
		"ground above found":          {"FREE", grind(714_500, 714_900), port.Impossible, "ground_mm", []string{"714.900", "714.500", "check both"}},
		"a radius":                    {"FREE", grind(357_450, 357_250), port.Impossible, "found_mm", []string{"looks like a radius"}},
		"inches":                      {"FREE", grind(28_146, 28_130), port.Impossible, "found_mm", []string{"looks like inches"}},
		"a slipped decimal point":     {"FREE", grind(71_490, 71_450), port.Impossible, "found_mm", []string{"slipped decimal point"}},
		"two digits changed over":     {"FREE", grind(714_900, 174_500), port.Impossible, "ground_mm", []string{"two digits changed places"}},
		"more stock than plausible":   {"FREE", grind(714_900, 706_800), port.Impossible, "ground_mm", []string{"8.100", "confirm it with a reason", "confirm="}},
		"below the scrap limit":       {"FREE", with(grind(714_900, 639_000), func(in *record.RegrindInput) { in.Confirm = "" }), port.Impossible, "ground_mm", []string{"confirm it with a reason: the roll is then scrapped", "below its scrap limit 640.000 mm"}},
		"without a diameter":          {"FREE", record.RegrindInput{For: roll.ForWear}, port.Impossible, "found_mm ground_mm", nil},
		"with a taper that is NaN":    {"FREE", with(good, func(in *record.RegrindInput) { in.TaperUM = &nan }), port.Impossible, "taper_um", nil},
		"in the future":               {"FREE", at(good, now.Add(3*time.Minute)), port.Impossible, "at", []string{"future", "it is now 2031-03-05 06:00Z"}},
		"before the receipt":          {"FREE", at(good, start.Add(-time.Minute)), port.Conflicting, "", []string{"receipt of 2031-03-03 06:00"}},
		"late, while it was mounted":  {"OLD-T", at(grind(719_900, 719_500), start.Add(30*time.Hour)), port.Conflicting, "", []string{"in F5 since"}},
		"late, before it was held":    {"HELD", at(grind(714_900, 700_000), start.Add(2*time.Hour)), port.Impossible, "ground_mm", []string{"confirm it with a reason", "confirm="}},
		"late, after it was scrapped": {"GONE", at(good, start.Add(30*time.Hour)), port.Conflicting, "", []string{"scrapped"}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			w.refused(c.kind, c.field, c.words, func() error {
				_, err := w.RecordRegrind(w.ctx, engineer, c.number, c.in)
				return err
			})
		})
	}
}

// TestLateRegrindBetweenContradictingOnes: FREE is ground twice; a third grind
// between the two must fit both.
func TestLateRegrindBetweenContradictingOnes(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.regrind("FREE", 714_900, 714_000)
	w.pass(48 * time.Hour)
	w.regrind("FREE", 713_500, 713_000)
	between := w.clock.now.Add(-24 * time.Hour)
	for _, c := range []struct {
		found, ground quantity.Micrometre
		field         string
		words         []string
	}{
		{714_900, 713_900, "found_mm", []string{"714.900", "714.000"}},             // above the first
		{713_900, 713_100, "", []string{"contradict", "found 713.500", "entry 3"}}, // below what the second found
	} {
		kind := port.Impossible
		if c.field == "" {
			kind = port.Conflicting
		}
		w.refused(kind, c.field, c.words, func() error {
			in := grind(c.found, c.ground)
			in.At = between
			_, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
			return err
		})
	}
	in := grind(713_900, 713_600)
	in.At = between
	a, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
	w.must(err)
	if a.LastGround != 714_000 || a.Wear != 100 || a.Stock != 300 || a.Entry != 4 {
		t.Errorf("the late grind answers last ground %s, wear %s, stock %s, entry %d", a.LastGround, a.Wear, a.Stock, a.Entry)
	}
	v, err := w.Roll(w.ctx, "FREE")
	w.must(err)
	if v.State.Diameter != 713_000 || v.State.Regrinds != 3 {
		t.Errorf("after it: %s in %d grinds", v.State.Diameter, v.State.Regrinds)
	}
	w.sound()
}

func TestRegrindConfirmed(t *testing.T) {
	t.Parallel()
	w := shop(t)
	in := grind(714_900, 700_000)
	in.Confirm = "spall ground right out"
	a, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
	w.must(err)
	if a.Stock != 14_900 || a.Fitness.Word != release.Fit {
		t.Errorf("stock %s, %+v", a.Stock, a.Fitness)
	}
	in = grind(699_900, 639_000)
	in.Confirm = "crack went deeper than the stock"
	if a, err = w.RecordRegrind(w.ctx, engineer, "FREE", in); err != nil || a.Fitness.Word != release.NotFit || a.StockLeft != -1_000 {
		t.Errorf("%v: fitness %+v, stock left %s", err, a.Fitness, a.StockLeft)
	}
	if !says(a.Cautions, "below its scrap limit 640.000 mm", "take the regrind back") || fmt.Sprint(a.Next) != fmt.Sprintf("[correctEntry entry=%d roll=FREE]", a.Entry) {
		t.Errorf("cautions %q and the next step %v do not tell that the roll is scrapped and how to take it back", a.Cautions, a.Next)
	}
	if v, _ := w.Roll(w.ctx, "FREE"); v.State.Stage != roll.StageScrapped {
		t.Errorf("stage %s after a grind below the scrap limit", v.State.Stage)
	}
	w.sound()
}

// TestScrappedByAGrindInItsSet: the set can still be broken, and the partner
// goes on.
func TestScrappedByAGrindInItsSet(t *testing.T) {
	t.Parallel()
	w := shop(t)
	in := grind(714_900, 639_000)
	in.Confirm = "crack"
	_, err := w.RecordRegrind(w.ctx, engineer, "NEXT-T", in)
	w.must(err)
	call := engineer
	call.IfVersion = 1
	_, err = w.BreakSet(w.ctx, call, "NEXT", time.Time{}, "top is scrap")
	w.must(err)
	if v, _ := w.Roll(w.ctx, "NEXT-B"); v.State.Stage != roll.StageGround || v.State.Set != "" {
		t.Errorf("the partner is %s in set %q", v.State.Stage, v.State.Set)
	}
	w.sound()
}

// TestRegrindAnswers the first question after a campaign.
func TestRegrindAnswers(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.rollCoils(1, 50, "F5")
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", Why: roll.Wear})
	w.pass(24 * time.Hour)
	in := grind(719_880, 719_300)
	in.AboveShopK = 0
	a, err := w.RecordRegrind(w.ctx, engineer, "OLD-T", in)
	w.must(err)
	if a.LastGround != 720_000 || a.Wear != 120 || a.Stock != 580 || a.StockLeft != 79_300 || a.Entry != 5 || a.Version != 5 {
		t.Errorf("%+v", a)
	}
	// ρ·L·π(D₁²−D₂²)/4 for 719.880 and 719.300 mm, 1.78 m long, 7850 kg/m³: worked by hand.
	if want := 7850 * 1.78 * math.Pi / 4 * (0.71988*0.71988 - 0.7193*0.7193); math.Abs(a.RemovedKG-want) > 1e-9 || a.RemovedKG < 9 || a.RemovedKG > 9.3 {
		t.Errorf("removed %.4f kg, want %.4f", a.RemovedKG, want)
	}
	if a.Campaign == nil || a.Campaign.Usage.Pieces != 50 || a.Campaign.Set != "OLD" {
		t.Errorf("the campaign that wore it: %+v", a.Campaign)
	}
	if a.AdvisedStock == nil || *a.AdvisedStock < 50 {
		t.Errorf("advised stock %v", a.AdvisedStock)
	}
	if a.Partner != "OLD-B" || a.Mismatch != 650 || a.Tolerance != 150 || a.Fitness.Word != release.NotFit || !strings.Contains(strings.Join(a.Fitness.Reasons, " "), "OLD-B") {
		t.Errorf("partner %s off by %s of %s, fitness %+v", a.Partner, a.Mismatch, a.Tolerance, a.Fitness)
	}
	// Ground again without having run: no campaign wore it.
	if b := w.regrind("OLD-T", 719_300, 719_200); b.Campaign != nil || b.Wear != 0 {
		t.Errorf("the second grind names campaign %+v", b.Campaign)
	}
	w.sound()
}

// TestWarmReading: read 20 K above the shop a 715 mm roll of 12e-6/K measures
// 0.1716 mm more than it is: 8.6 µm per K, as the trade knows it.
func TestWarmReading(t *testing.T) {
	t.Parallel()
	w := shop(t)
	in := grind(715_050, 714_500)
	in.AboveShopK = 20
	a, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
	w.must(err)
	if a.Found != 714_878 || a.Wear != 122 || !strings.Contains(strings.Join(a.Notes, " "), "20 K above the shop") {
		t.Errorf("found %s, wear %s, notes %q; want 714.878", a.Found, a.Wear, a.Notes)
	}
}

// TestWearOfAllCampaignsSinceTheLastGrind: where the practice allows two, both
// wore the roll.
func TestWearOfAllCampaignsSinceTheLastGrind(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.practice("twice", practice.Scope{Role: mill.Work}, map[practice.Key]float64{practice.CampaignsBetweenGrind: 2, practice.WearRateUMPerKM: 5})
	advised := func() float64 {
		a, err := w.AdviseRegrind(w.ctx, "OLD-T", plan.AdviceInput{})
		w.must(err)
		return a.Parts[0].UM
	}
	if got := advised(); got != 0 {
		t.Errorf("advised for wear before it ran: %g µm", got)
	}
	w.rollCoils(1, 40, "F5")
	first := advised() // in the stand
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work})
	if out := advised(); out != first || out <= 0 {
		t.Errorf("in the stand %g µm, out of it %g", first, out)
	}
	w.pass(24 * time.Hour)
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "OLD"})
	w.rollCoils(100, 40, "F5")
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT"})
	if both := advised(); math.Abs(both-2*first) > 1e-9 {
		t.Errorf("after two like campaigns %g µm, want twice %g", both, first)
	}
	w.pass(24 * time.Hour)
	a := w.regrind("OLD-T", 719_800, 719_300)
	if got := *a.AdvisedStock; float64(got) < 2*first-200+50 {
		t.Errorf("advised stock %s", got)
	}
	if got := advised(); got != 0 {
		t.Errorf("advised for wear after the grind: %g µm", got)
	}
}
