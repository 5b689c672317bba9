package chock_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barrelbook/domain/chock"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

var start = time.Date(2030, 3, 4, 6, 0, 0, 0, time.UTC)

func at(hours float64) time.Time { return start.Add(time.Duration(hours * float64(time.Hour))) }

func book(bodies ...any) []chock.Entry {
	var entries []chock.Entry
	for i := 0; i+1 < len(bodies); i += 2 {
		entries = append(entries, chock.Entry{Chock: "K-1", Number: int64(len(entries) + 1), At: at(float64(bodies[i].(int))), Body: bodies[i+1].(chock.Body)})
	}
	return entries
}

var received = chock.Received{Chock: chock.Chock{Name: "K-1", Mill: "strip", Role: mill.Work, Bearing: "four-row taper 1", InspectEvery: 100 * time.Hour}}

// Worked by hand. On set A from hour 10 to 200: A is in a stand from 20 to 80
// (60 h, 3000 t) and from 120 to 180 (60 h, 2400 t). On set B from 210 on: B is
// in from 220, now is 250 (30 h, 900 t). Set A from 300 h on is another's. In
// all 150 h and 6300 t. A new bearing at hour 100: 90 h and 3300 t since. An
// inspection at 150, in the middle of a stay: 30 h of it and 30 h of B.
func TestHoursAndTonnesByHand(t *testing.T) {
	s, err := chock.Replay(book(0, received, 10, chock.Fitted{Set: "A", Place: chock.TopDrive}, 100, chock.Inspected{Outcome: roll.Passed, NewBearing: "four-row taper 2"},
		150, chock.Inspected{Outcome: roll.Passed}, 200, chock.TakenOff{}, 210, chock.Fitted{Set: "B", Place: chock.TopOperator}))
	if err != nil {
		t.Fatal(err)
	}
	stays := []chock.Stay{{"A", at(20), at(80), 3000, 6000}, {"A", at(120), at(180), 2400, 4800}, {"B", at(220), time.Time{}, 900, 1800}, {"A", at(205), at(208), 77, 154}}
	now := at(250)
	for _, c := range []struct {
		name      string
		since     time.Time
		hours, tn float64
	}{{"life", s.ReceivedAt, 150, 6300}, {"bearing", s.BearingSince, 90, 3300}, {"inspection", s.InspectedAt, 60, 2100}} {
		if b := s.Borne(stays, c.since, now); math.Abs(b.Hours-c.hours) > 1e-9 || math.Abs(b.TonnageT-c.tn) > 1e-9 || math.Abs(b.Revolutions-2*c.tn) > 1e-9 {
			t.Errorf("%s: %+v, want %g h, %g t and twice as many revolutions", c.name, b, c.hours, c.tn)
		}
	}
	if st := s.Standing(stays, now); st.Since.Hours != 60 || st.Owed || st.Failed {
		t.Errorf("%+v; want 60 of 100 h and nothing owed", st)
	}
	if st := s.Standing(stays, at(291)); st.Since.Hours != 101 || !st.Owed || !st.Overdue {
		t.Errorf("%+v; want 101 h and owed", st)
	}
}

// What was never looked at, is not known or is overdue by hours, tonnes or
// revolutions is owed; a failure is a failure.
func TestStanding(t *testing.T) {
	fitted := chock.Fitted{Set: "A", Place: chock.TopDrive}
	stays := []chock.Stay{{"A", at(20), at(80), 3000, 6000}}
	limits := func(hours, tonnes, turns float64) chock.Received {
		b := received
		b.Chock.InspectEvery, b.Chock.InspectEveryT, b.Chock.InspectEveryRevolutions = time.Duration(hours*float64(time.Hour)), tonnes, turns
		return b
	}
	passed := chock.Inspected{Outcome: roll.Passed}
	for _, c := range []struct {
		name  string
		book  []chock.Entry
		owed  bool
		fails bool
		says  string
	}{
		{"never inspected", book(0, limits(0, 0, 0), 10, fitted), true, false, "never been inspected"},
		{"not known", book(0, limits(0, 0, 0), 5, chock.Inspected{Outcome: roll.Unknown}, 10, fitted), true, false, "no known result"},
		{"failed", book(0, limits(0, 0, 0), 10, fitted, 90, chock.Inspected{Outcome: roll.Failed}), false, true, "failed its inspection"},
		{"in date", book(0, limits(60, 3000, 6000), 5, passed, 10, fitted), false, false, ""},
		{"overdue by hours", book(0, limits(59, 0, 0), 5, passed, 10, fitted), true, false, "60 h, 3000 t and 6000 revolutions since its inspection of 2030-03-04 11:00Z, and one is due every 59 h"},
		{"overdue by tonnes", book(0, limits(60, 2999, 0), 5, passed, 10, fitted), true, false, "every 2999 t"},
		{"overdue by revolutions", book(0, limits(60, 3000, 5999), 5, passed, 10, fitted), true, false, "every 5999 revolutions"},
	} {
		s, err := chock.Replay(c.book)
		if err != nil {
			t.Fatal(c.name, err)
		}
		if st := s.Standing(stays, at(100)); st.Owed != c.owed || st.Failed != c.fails || !strings.Contains(st.Why, c.says) || (c.says == "") != (st.Why == "") {
			t.Errorf("%s: %+v", c.name, st)
		}
	}
}

func TestRefusals(t *testing.T) {
	fit := chock.Fitted{Set: "A", Place: chock.TopDrive}
	for _, c := range []struct {
		name string
		book []chock.Entry
		says string
	}{
		{"twice received", book(0, received, 1, received), "open already"},
		{"no receipt", book(0, fit), "no such book"},
		{"on two sets", book(0, received, 1, fit, 2, chock.Fitted{Set: "B", Place: chock.TopDrive}), "on set A"},
		{"off without on", book(0, received, 1, chock.TakenOff{}), "on no set"},
		{"failed and fitted", book(0, received, 1, chock.Inspected{Outcome: roll.Failed}, 2, fit), "failed its inspection"},
		{"out of order", book(5, received, 1, fit), "dated before"},
	} {
		_, err := chock.Replay(c.book)
		var conflict *chock.Conflict
		if !errors.As(err, &conflict) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want a conflict that says %q", c.name, err, c.says)
		}
	}
}

// However a chock goes from set to set, the hours before and after any moment
// add up to the whole, and no more hours run than have passed.
func TestHoursAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries, hour := book(0, received), 0
		var stays []chock.Stay
		for i := range rapid.IntRange(0, 6).Draw(t, "rounds") {
			set := fmt.Sprintf("S%d", rapid.IntRange(0, 2).Draw(t, "set"))
			on := hour + rapid.IntRange(1, 50).Draw(t, "on")
			in := on + rapid.IntRange(0, 20).Draw(t, "in")
			out := in + rapid.IntRange(1, 90).Draw(t, "out")
			hour = out + rapid.IntRange(0, 9).Draw(t, "off")
			entries = append(entries, chock.Entry{Chock: "K-1", Number: int64(2*i + 2), At: at(float64(on)), Body: chock.Fitted{Set: set, Place: chock.BottomDrive}},
				chock.Entry{Chock: "K-1", Number: int64(2*i + 3), At: at(float64(hour)), Body: chock.TakenOff{}})
			stays = append(stays, chock.Stay{Set: set, From: at(float64(in)), To: at(float64(out)), TonnageT: rapid.Float64Range(0, 5000).Draw(t, "t")})
		}
		s, err := chock.Replay(entries)
		if err != nil {
			t.Fatal(err)
		}
		now := at(float64(hour + 1))
		whole := s.Borne(stays, s.ReceivedAt, now)
		cut := at(float64(rapid.IntRange(0, hour+1).Draw(t, "cut")))
		before, after := s.Borne(stays, s.ReceivedAt, cut), s.Borne(stays, cut, now)
		if math.Abs(before.Hours+after.Hours-whole.Hours) > 1e-6 {
			t.Fatalf("%v h before and %v h after %v, %v h in all", before.Hours, after.Hours, cut, whole.Hours)
		}
		if whole.Hours > now.Sub(start).Hours()+1e-6 {
			t.Fatalf("%v h run in %v h", whole.Hours, now.Sub(start).Hours())
		}
		sum := 0.0
		for _, stay := range stays {
			sum += stay.TonnageT
		}
		if math.Abs(whole.TonnageT-sum) > 1e-6*(1+sum) {
			t.Fatalf("%v t borne of %v t", whole.TonnageT, sum)
		}
	})
}

func Example() {
	s, _ := chock.Replay([]chock.Entry{
		{Chock: "K-1", Number: 1, At: start, Body: received},
		{Chock: "K-1", Number: 2, At: start.Add(time.Hour), Body: chock.Fitted{Set: "CW-3", Place: chock.TopDrive}},
	})
	stays := []chock.Stay{{Set: "CW-3", From: start.Add(4 * time.Hour), To: start.Add(16 * time.Hour), TonnageT: 2500}}
	fmt.Println(s.Borne(stays, s.BearingSince, start.Add(24*time.Hour)))
	// Output: 12 h, 2500 t and 0 revolutions
}
