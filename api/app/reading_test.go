package app_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"barrelbook/api/app/plan"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/roll"
)

// says is true when one of the lines holds all the words.
func says(lines []string, words ...string) bool {
	for _, line := range lines {
		all := true
		for _, word := range words {
			all = all && strings.Contains(line, word)
		}
		if all {
			return true
		}
	}
	return false
}

// TestReadWarm: a diameter found on a roll that is warm by the practice is taken,
// and the answer says what that does. OLD-T of 720 mm bore 50 coils.
func TestReadWarm(t *testing.T) {
	t.Parallel()
	warm := grind(720_050, 719_300)
	warm.AboveShopK = 20
	for name, c := range map[string]struct {
		in     record.RegrindInput
		after  time.Duration
		doubts [][]string // each: the words of one caution
		silent string     // what no caution may say
	}{
		"cool":              {grind(719_880, 719_300), 24 * time.Hour, nil, "came out on"},
		"read warm":         {grind(719_880, 719_300), time.Hour, [][]string{{"No water on a hot roll"}, {"warm by the practice until", "8.6 µm too large"}}, "check the reading"},
		"read warm, and so": {warm, time.Hour, nil, "came out on"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := shop(t)
			w.practice("cooling", practice.Scope{Role: mill.Work}, map[practice.Key]float64{practice.CoolingH: 12})
			w.rollCoils(1, 50, "F5")
			w.change(record.ChangeInput{Stand: "F5", Role: mill.Work, SetIn: "NEXT", Why: roll.Wear})
			w.pass(c.after)
			a, err := w.RecordRegrind(w.ctx, engineer, "OLD-T", c.in)
			w.must(err)
			for _, words := range c.doubts {
				if !says(a.Cautions, words...) {
					t.Errorf("found %s: no caution says %q in %q", c.in.Found, words, a.Cautions)
				}
			}
			if step := fmt.Sprint(a.Next); (step == "[]") == (len(c.doubts) > 0) || len(c.doubts) > 0 && !strings.Contains(step, "correctEntry regrind=") {
				t.Errorf("found %s, with %d doubts: the next step is %s", c.in.Found, len(c.doubts), step)
			}
			if says(a.Cautions, c.silent) {
				t.Errorf("found %s: a caution says %q in %q", c.in.Found, c.silent, a.Cautions)
			}
		})
	}
}

// TestRollThatMayBeCracked: until the crack test that a mishap leaves owed is
// passed, whoever looks at the roll, or asks what to take off, is told.
func TestRollThatMayBeCracked(t *testing.T) {
	t.Parallel()
	w := shop(t)
	_, err := w.RecordIncident(w.ctx, engineer, record.IncidentInput{What: roll.Spall, Roll: "FREE"})
	w.must(err)
	cautions := func() (shown, advised []string) {
		v, err := w.Roll(w.ctx, "FREE")
		w.must(err)
		a, err := w.AdviseRegrind(w.ctx, "FREE", plan.AdviceInput{})
		w.must(err)
		return v.Cautions, a.Cautions
	}
	shown, advised := cautions()
	if !says(shown, "may be cracked", "behind a barrier", "test before grinding") {
		t.Errorf("owed: the roll shows %q", shown)
	}
	if !says(advised, "knows of no crack", "eddy current", "ultrasonic", "ask again") {
		t.Errorf("owed: the advice says %q", advised)
	}
	w.happens("FREE", "", roll.Inspected{Tests: []roll.Test{{Kind: roll.EddyCurrent, Outcome: roll.Failed}, {Kind: roll.Ultrasonic, Outcome: roll.Passed}}})
	if shown, advised = cautions(); !says(shown, "cracked or spalled roll can burst") || !says(advised, "knows of no crack", "eddy current test failed") || says(advised, "ultrasonic") {
		t.Errorf("failed: the roll shows %q, the advice says %q", shown, advised)
	}
	w.happens("FREE", "", roll.Inspected{Tests: []roll.Test{{Kind: roll.EddyCurrent, Outcome: roll.Passed}}})
	if shown, advised = cautions(); says(shown, "crack") || says(advised, "crack") {
		t.Errorf("passed: the roll shows %q, the advice says %q", shown, advised)
	}
}
