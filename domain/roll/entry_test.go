package roll_test

import (
	"testing"
	"time"

	"barrelbook/domain/roll"
)

func TestDigest(t *testing.T) {
	e := roll.Entry{Roll: "W-101", Number: 2, At: day(1), RecordedAt: day(2), By: "ann", Reason: "why", Body: looked(roll.Visual, roll.Passed)}
	body := []byte(`{"tests":[]}`)
	want := roll.Digest("before", e, body)
	if again := roll.Digest("before", e, body); again != want || len(want) != 64 {
		t.Fatalf("%q then %q", want, again)
	}
	local := e
	local.At = e.At.In(time.FixedZone("elsewhere", 3*3600))
	if roll.Digest("before", local, body) != want {
		t.Error("the same moment in another zone gives another digest")
	}
	seen := map[string]string{want: "the entry itself"}
	tamper := func(what, previous string, body []byte, change func(*roll.Entry)) {
		t.Helper()
		other := e
		change(&other)
		got := roll.Digest(previous, other, body)
		if like, twice := seen[got]; twice {
			t.Errorf("%s gives the digest of %s", what, like)
		}
		seen[got] = what
	}
	nothing := func(*roll.Entry) {}
	tamper("another entry before", "Before", body, nothing)
	tamper("no entry before", "", body, nothing)
	tamper("another body", "before", []byte(`{"tests":[1]}`), nothing)
	tamper("another roll", "before", body, func(e *roll.Entry) { e.Roll = "W-102" })
	tamper("another number", "before", body, func(e *roll.Entry) { e.Number = 3 })
	tamper("another kind", "before", body, func(e *roll.Entry) { e.Body = roll.Held{} })
	tamper("a microsecond later", "before", body, func(e *roll.Entry) { e.At = e.At.Add(time.Microsecond) })
	tamper("recorded later", "before", body, func(e *roll.Entry) { e.RecordedAt = e.RecordedAt.Add(time.Microsecond) })
	tamper("both moments changed over", "before", body, func(e *roll.Entry) { e.At, e.RecordedAt = e.RecordedAt, e.At })
	tamper("another hand", "before", body, func(e *roll.Entry) { e.By = "bob" })
	tamper("another reason", "before", body, func(e *roll.Entry) { e.Reason = "" })
	tamper("text moved from one field to the next", "before", body, func(e *roll.Entry) { e.By, e.Reason = "annwhy", "" })
	tamper("a reason that looks like what follows it", "before", body, func(e *roll.Entry) { e.By, e.Reason = "ann\n3:why", "" })
}
