package store

import (
	"bytes"
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// filled draws a value of T with every field, found by reflection: a field
// that is added to the domain and forgotten here is drawn too, and its loss
// shows.
func filled[T any](t *rapid.T, label string) T {
	moments := rapid.Custom(func(t *rapid.T) time.Time {
		// The years 1 to 9999, whole microseconds; the zero time now and then.
		if rapid.IntRange(0, 9).Draw(t, "zero") == 0 {
			return time.Time{}
		}
		return time.UnixMicro(rapid.Int64Range(-62135596800000000, 253402300799999999).Draw(t, "us")).UTC()
	})
	bodies := rapid.Custom(func(t *rapid.T) roll.Body {
		if rapid.Bool().Draw(t, "withdrawn") {
			return nil
		}
		return rapid.SampledFrom(kinds()).Draw(t, "kind")(t)
	})
	finite := rapid.Float64Range(-1e300, 1e300)
	return rapid.MakeCustom[T](rapid.MakeConfig{Types: map[reflect.Type]*rapid.Generator[any]{
		reflect.TypeFor[time.Time](): moments.AsAny(),
		reflect.TypeFor[roll.Body](): bodies.AsAny(),
		reflect.TypeFor[float64]():   finite.AsAny(),
	}}).Draw(t, label)
}

// kinds draw a body of each kind but a correction.
func kinds() []func(*rapid.T) roll.Body {
	return []func(*rapid.T) roll.Body{
		draw[roll.Received], draw[roll.Inspected], draw[roll.Reground], draw[roll.Paired], draw[roll.Unpaired], draw[roll.Mounted],
		draw[roll.Withdrawn], draw[roll.Incident], draw[roll.Conceded], draw[roll.Held], draw[roll.Released], draw[roll.Regraded], draw[roll.Scrapped],
	}
}

func draw[B roll.Body](t *rapid.T) roll.Body { return filled[B](t, "body") }

// alike compares what was stored with what came back: a nil list is an empty
// one.
func alike(a, b any) string { return cmp.Diff(a, b, cmpopts.EquateEmpty()) }

func TestBodiesSurvive(t *testing.T) {
	for _, kind := range append(kinds(), draw[roll.Corrected]) {
		rapid.Check(t, func(t *rapid.T) {
			body := kind(t)
			text, err := encodeBody(body)
			if err != nil {
				t.Fatalf("encode %#v: %v", body, err)
			}
			back, err := decodeBody(body.Kind(), text)
			if err != nil {
				t.Fatalf("decode %s: %v", text, err)
			}
			if diff := alike(body, back); diff != "" {
				t.Fatalf("%s through %s:\n%s", body.Kind(), text, diff)
			}
			again, err := encodeBody(back)
			if err != nil || !bytes.Equal(text, again) {
				t.Fatalf("encoded again: %s, then %s, %v", text, again, err)
			}
		})
	}
}

func TestStatesSurvive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		state := filled[roll.State](t, "state")
		text, err := encodeState(state)
		if err != nil {
			t.Fatal(err)
		}
		back, err := decodeState(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if diff := alike(state, back); diff != "" {
			t.Fatalf("through %s:\n%s", text, diff)
		}
	})
}

func TestUsagesAndPiecesSurvive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		usage := filled[duty.Usage](t, "usage")
		text, err := encodeUsage(usage)
		if err != nil {
			t.Fatal(err)
		}
		back, err := decodeUsage(text)
		if diff := alike(usage, back); err != nil || diff != "" {
			t.Fatalf("%v through %s:\n%s", err, text, diff)
		}
		piece := filled[mill.Piece](t, "piece")
		row, err := newPieceRow(piece)
		if err != nil {
			t.Fatal(err)
		}
		again, err := row.piece()
		if diff := alike(piece, again); err != nil || diff != "" {
			t.Fatalf("%v through %s:\n%s", err, row.Doc, diff)
		}
	})
}

// TestUnknownBodies wants what a later version wrote refused and not half read.
func TestUnknownBodies(t *testing.T) {
	for _, c := range []struct {
		kind roll.Kind
		text string
	}{
		{"remelted", "{}"},
		{roll.KindHeld, `{"until":"2027-01-01"}`},
		{roll.KindHeld, `{} {}`},
		{roll.KindHeld, ``},
		{roll.KindPaired, `{"set":1}`},
		{roll.KindCorrected, `{"entry":1,"kind":"remelted","with":{}}`},
	} {
		if b, err := decodeBody(c.kind, []byte(c.text)); err == nil {
			t.Errorf("%s %s was read as %#v", c.kind, c.text, b)
		}
	}
}
