package app_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/doubt"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// questionsOf are the names of the questions that an error asks.
func questionsOf(err error) string {
	var open *doubt.Open
	if !errors.As(err, &open) {
		return ""
	}
	var names []string
	for _, q := range open.Questions {
		names = append(names, string(q.Name))
	}
	return strings.Join(names, " ")
}

// unasked is a regrind as it is typed, with no question answered.
func unasked(in record.RegrindInput) record.RegrindInput {
	in.Confirmed = nil
	return in
}

// TestQuestionsOfARegrind: a figure that can be and looks like a slip is asked
// about, nothing is recorded, and the same with the questions' names is taken and
// stands in the book with them. OLD-T of 720 mm bore 50 coils; FREE of 715 mm
// never ran.
func TestQuestionsOfARegrind(t *testing.T) {
	t.Parallel()
	with := func(in record.RegrindInput, change func(*record.RegrindInput)) record.RegrindInput {
		change(&in)
		return in
	}
	for name, c := range map[string]struct {
		number string
		in     record.RegrindInput
		asked  string
		says   []string
	}{
		"as worn":              {"OLD-T", grind(719_950, 719_850), "", nil},
		"a digit of found":     {"OLD-T", grind(717_950, 717_780), "wear", []string{"2.050 mm below", "what was rolled accounts for about"}},
		"a digit of ground":    {"OLD-T", grind(719_950, 719_250), "stock", []string{"is 0.700 mm", "was advised"}},
		"nothing taken off":    {"OLD-T", grind(719_950, 719_950), "stock", []string{"nothing was taken off"}},
		"nothing rolled":       {"FREE", grind(715_000, 714_950), "nothing_rolled", []string{"has rolled nothing since it was received"}},
		"worn without rolling": {"FREE", with(grind(714_800, 714_750), func(in *record.RegrindInput) { in.For = roll.ForProfile }), "nothing_rolled", []string{"0.200 mm below"}},
		"new to profile":       {"FREE", with(grind(715_000, 714_950), func(in *record.RegrindInput) { in.For = roll.ForIncoming }), "", nil},
		"ground off its own stations": {"OLD-T", with(grind(719_950, 719_850), func(in *record.RegrindInput) {
			in.Stations = []roll.Station{{AtMM: 100, Diameter: 718_780}, {AtMM: 900, Diameter: 718_790}}
		}), "stations", []string{"lies outside the diameters along the barrel"}},
		"two at once": {"OLD-T", grind(718_950, 717_780), "wear stock", nil},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			w.practice("worn", practice.Scope{Role: mill.Work}, map[practice.Key]float64{practice.WearRateUMPerKM: 1})
			w.rollCoils(1, 50, "F5")
			w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", Why: roll.Wear})
			w.pass(24 * time.Hour)
			before := w.entries(c.number)
			in := unasked(c.in)
			_, err := w.RecordRegrind(w.ctx, engineer, c.number, in)
			if got := questionsOf(err); got != c.asked {
				t.Fatalf("asked %q (%v), want %q", got, err, c.asked)
			}
			if c.asked == "" {
				return
			}
			if !port.IsKind(err, port.Doubtful) || w.entries(c.number) != before {
				t.Errorf("%v, and the book has %d entries, not %d", err, w.entries(c.number), before)
			}
			for _, words := range c.says {
				if !strings.Contains(err.Error(), words) {
					t.Errorf("%q does not say %q", err, words)
				}
			}
			names := strings.Fields(c.asked)
			in.Confirmed = append([]string{"alike"}, names...) // one that nobody asked is not kept
			_, err = w.RecordRegrind(w.ctx, engineer, c.number, in)
			w.must(err)
			if got := w.lastGrind(c.number).Confirmed; !slices.Equal(got, names) {
				t.Errorf("the book says that %q were confirmed, want %q", got, names)
			}
			w.sound()
		})
	}
}

// TestPartnersAgree: the second roll of a set is ground to what the first was.
func TestPartnersAgree(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.practice("worn", practice.Scope{Role: mill.Work}, map[practice.Key]float64{practice.WearRateUMPerKM: 1})
	w.rollCoils(1, 50, "F5")
	w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", Why: roll.Wear})
	w.pass(24 * time.Hour)
	in := grind(719_950, 718_000)
	in.For, in.Confirm = roll.ForIncident, "a pinch mark 0.8 mm deep"
	_, err := w.RecordRegrind(w.ctx, engineer, "OLD-T", in)
	w.must(err)
	if got := w.lastGrind("OLD-T").Confirmed; !slices.Equal(got, []string{"stock"}) {
		t.Errorf("a reason answered %q, want the stock", got)
	}
	other := unasked(grind(719_950, 718_030))
	other.For = roll.ForIncident
	_, err = w.RecordRegrind(w.ctx, dryRun(), "OLD-B", other)
	w.must(err) // as much was taken off, and the partner says why
	other.Ground = 718_530
	if _, err = w.RecordRegrind(w.ctx, engineer, "OLD-B", other); questionsOf(err) != "pair stock" {
		t.Errorf("asked %q (%v) of a roll half a millimetre from its partner", questionsOf(err), err)
	}
}

func dryRun() port.Call {
	call := engineer
	call.DryRun = true
	return call
}

// TestAgainWithinMinutes: nobody grinds a roll twice in a quarter of an hour.
func TestAgainWithinMinutes(t *testing.T) {
	t.Parallel()
	w := shop(t)
	in := grind(715_000, 714_900)
	in.For = roll.ForIncoming
	_, err := w.RecordRegrind(w.ctx, engineer, "FREE", in)
	w.must(err)
	in = unasked(in)
	in.Found, in.Ground, in.For = 714_900, 714_800, roll.ForProfile
	for _, want := range []string{"again", ""} {
		w.pass(15 * time.Minute)
		if _, err := w.RecordRegrind(w.ctx, dryRun(), "FREE", in); questionsOf(err) != want {
			t.Errorf("%s: asked %q (%v), want %q", w.clock.now, questionsOf(err), err, want)
		}
	}
}

// TestACorrectionIsAskedOfWhatItChanges: what was confirmed stays confirmed, and
// the new figure is asked about.
func TestACorrectionIsAskedOfWhatItChanges(t *testing.T) {
	t.Parallel()
	w := shop(t)
	w.regrind("FREE", 714_900, 714_850)
	if got := w.lastGrind("FREE").Confirmed; !slices.Equal(got, []string{"nothing_rolled"}) {
		t.Fatalf("confirmed %q", got)
	}
	w.pass(time.Hour)
	correct := func(change func(*record.RegrindInput)) error {
		_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: "FREE", Entry: w.entries("FREE"), Reason: "misread", Regrind: change})
		return err
	}
	w.must(correct(func(in *record.RegrindInput) { in.Grinder = "G3" }))
	err := correct(func(in *record.RegrindInput) { in.Ground = 713_850 })
	if questionsOf(err) != "stock" || !strings.Contains(err.Error(), "the stock") {
		t.Fatalf("asked %q (%v), want the stock alone", questionsOf(err), err)
	}
	w.must(correct(func(in *record.RegrindInput) { in.Ground, in.Confirmed = 713_850, []string{"stock"} }))
	if got := w.lastGrind("FREE").Confirmed; !slices.Equal(got, []string{"nothing_rolled", "stock"}) {
		t.Errorf("confirmed %q after the correction", got)
	}
	w.sound()
}

// TestNumbersAlike: a number in another case is the same number, and one that
// looks like another is asked about.
func TestNumbersAlike(t *testing.T) {
	t.Parallel()
	w := shop(t)
	receive := func(number string, confirmed ...string) error {
		_, err := w.ReceiveRoll(w.ctx, engineer, time.Time{}, roll.Received{Mill: "hot", Diameter: 720_000, Confirmed: confirmed,
			Roll: roll.Roll{Number: number, Role: mill.Work, Grade: "steel", NewDiameter: 720_000, BarrelLength: 1_780_000, Scrap: roll.ScrapLimits{Nominal: 640_000}}})
		return err
	}
	w.must(receive("CW-110"))
	w.refused(port.Conflicting, "", []string{"there is a book of roll CW-110 already"}, func() error { return receive("cw-110") })
	for _, like := range []string{"CW110", "CW-11O", "cw-IIO"} {
		if err := receive(like); questionsOf(err) != "alike" || !strings.Contains(err.Error(), "looks like roll CW-110") {
			t.Errorf("%s: %v", like, err)
		}
	}
	w.must(receive("CW-111"))
	w.must(receive("CW110", "alike"))
	w.sound()
}

// TestHardnessFarOff: a hardness typed in another scale is asked about.
func TestHardnessFarOff(t *testing.T) {
	t.Parallel()
	w := shop(t)
	inspect := func(shoreC float64, confirmed ...string) error {
		_, err := w.RecordHappening(w.ctx, engineer, record.Happening{Number: "FREE", Body: roll.Inspected{Tests: []roll.Test{{Kind: roll.HardnessTest, Outcome: roll.Passed, Hardness: shoreC}}, Confirmed: confirmed}})
		return err
	}
	w.must(inspect(78))
	w.must(inspect(82))
	if err := inspect(58); questionsOf(err) != "hardness" {
		t.Errorf("58 after 82 Shore C: %v", err)
	}
	w.must(inspect(58, "hardness"))
	w.sound()
}
