// Package storetest is the one conformance suite of the store: what the use
// cases may count on, whichever database is underneath.
package storetest

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"barrelbook/api/app/port"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// Store is what is tested: the port, and the check of the books.
type Store interface {
	port.Store
	Verify(ctx context.Context) error
}

// Run tests the stores that open gives, one fresh store for each test.
func Run(t *testing.T, open func(testing.TB) Store) {
	for name, test := range map[string]func(*testing.T, Store){
		"names":        testNames,
		"names alike":  testNamesAlike,
		"stands":       testStands,
		"practices":    testPractices,
		"pages":        testPages,
		"cursors":      testCursors,
		"books":        testBooks,
		"append":       testAppend,
		"filters":      testFilters,
		"sets":         testSets,
		"mountings":    testMountings,
		"places":       testPlaces,
		"usage":        testUsage,
		"undo":         testUndo,
		"late":         testLate,
		"happenings":   testHappenings,
		"pieces":       testPieces,
		"campaigns":    testCampaigns,
		"tokens":       testTokens,
		"audit":        testAudit,
		"answers":      testAnswers,
		"transactions": testTransactions,
		"snapshot":     testSnapshot,
		"locks":        testLocks,
		"concurrency":  testConcurrency,
		"linearizable": testLinearizable,
		"non-finite":   testNonFinite,
		"verify":       testVerify,
		"grinds":       testGrinds,
		"wear rates":   testWearRates,
		"forecasts":    testForecasts,
		"damage":       testDamage,
		"chocks":       testChocks,
		"orders":       testOrders,
		"grooves":      testGrooves,
		"settings":     testSettings,
		"stamps":       testStamps,
		"states":       testStates,
		"events":       testEvents,
		"follow":       testFollow,
		"forget":       testForgetEvents,
		"webhooks":     testWebhooks,
		"scope":        testScope,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			test(t, open(t))
		})
	}
}

// day is a moment with microseconds, in a zone that is not UTC: all comes back
// in UTC.
var day = time.Date(2026, 3, 4, 5, 6, 7, 891_234_000, time.FixedZone("", -8*3600))

func hours(h float64) time.Time { return day.Add(time.Duration(h * float64(time.Hour))) }

func write(t testing.TB, s port.Store, fn func(port.Writer) error) {
	t.Helper()
	if err := s.Write(t.Context(), fn); err != nil {
		t.Fatalf("write: %v", err)
	}
}

func read(t testing.TB, s port.Store, fn func(port.Reader) error) {
	t.Helper()
	if err := s.Read(t.Context(), fn); err != nil {
		t.Fatalf("read: %v", err)
	}
}

// refused runs fn in a transaction of its own and wants its error to be of the
// kind.
func refused(t testing.TB, s port.Store, kind port.Kind, fn func(port.Writer) error) {
	t.Helper()
	err := s.Write(t.Context(), fn)
	if !port.IsKind(err, kind) {
		t.Errorf("got error %v, want one of kind %s", err, kind)
		return
	}
	if err.Error() == "" {
		t.Errorf("an error of kind %s without a word", kind)
	}
}

// same compares what was stored with what came back: moments as moments, a nil
// list as an empty one.
func same(t testing.TB, what string, got, want any) {
	t.Helper()
	if diff := cmp.Diff(want, got, cmpopts.EquateEmpty(), cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) })); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
	for _, at := range timesIn(got) {
		if at.Location() != time.UTC {
			t.Errorf("%s: %v came back in zone %v, want UTC", what, at, at.Location())
		}
	}
}

func timesIn(v any) (times []time.Time) {
	switch v := v.(type) {
	case port.SetRow:
		times = []time.Time{v.BuiltAt, v.BrokenAt}
	case port.Stay:
		times = []time.Time{v.MountedAt, v.WithdrawnAt}
	case roll.Entry:
		times = []time.Time{v.At, v.RecordedAt}
	case port.RollRow:
		times = []time.Time{v.State.ReceivedAt, v.State.LastAt, v.State.GroundAt, v.State.MountedAt}
	case mill.Piece:
		times = []time.Time{v.RolledAt}
	}
	return times
}

// works is a mill with two stands and a grade, which most tests begin with.
func works(t testing.TB, s port.Store) {
	t.Helper()
	write(t, s, func(w port.Writer) error {
		return errors.Join(
			w.CreateMill(mill.Mill{Name: "HSM", Kind: mill.HotStrip, Title: "Hot strip"}),
			w.CreateMill(mill.Mill{Name: "BAR", Kind: mill.Bar}),
			w.CreateStand(mill.Stand{Name: "F1", Mill: "HSM", Order: 1, Arrangement: mill.FourHigh, MaxForceKN: 40000}),
			w.CreateStand(mill.Stand{Name: "F2", Mill: "HSM", Order: 2, Arrangement: mill.FourHigh}),
			w.CreateStand(mill.Stand{Name: "B1", Mill: "BAR", Order: 1, Arrangement: mill.TwoHigh}),
			w.CreateGrade(port.Grade{Name: "HCR", Family: "high_chrome", ElasticModulusMPa: 210000}))
	})
}

// receipt opens a book of a work roll that comes ground.
func receipt(number string) roll.Received {
	return roll.Received{Roll: roll.Roll{Number: number, Role: mill.Work, Grade: "HCR", NewDiameter: 740_000, BarrelLength: 2_000_000,
		Scrap: roll.ScrapLimits{Nominal: 660_000}}, Mill: "HSM", Diameter: 740_000, Ground: true}
}

// enter appends an entry to a book, the first one when there is none, as the
// use cases do: lock, read, decide, append.
func enter(w port.Writer, number string, at time.Time, body roll.Body) (port.RollRow, error) {
	if err := w.LockRolls([]string{number}); err != nil {
		return port.RollRow{}, err
	}
	row, err := w.Roll(number)
	if err != nil && !port.IsKind(err, port.NotFound) {
		return port.RollRow{}, err
	}
	return follow(w, row, number, at, body)
}

// follow appends to the projection as it was read.
func follow(w port.Writer, row port.RollRow, number string, at time.Time, body roll.Body) (port.RollRow, error) {
	e := roll.Entry{Roll: number, Number: row.Version() + 1, At: at, RecordedAt: at.Add(time.Minute), By: "A. Grinder", Reason: "test \"ö\"", Body: body}
	after, err := roll.Append(row.State, e, func() ([]roll.Entry, error) { return w.Book(number) })
	if err != nil {
		return port.RollRow{}, err
	}
	return w.Append(row, e, after)
}

// received opens the books of rolls.
func received(t testing.TB, s port.Store, numbers ...string) {
	t.Helper()
	write(t, s, func(w port.Writer) error {
		for _, n := range numbers {
			if _, err := enter(w, n, day, receipt(n)); err != nil {
				return err
			}
		}
		return nil
	})
}

func looked() roll.Body {
	return roll.Inspected{Tests: []roll.Test{{Kind: roll.Visual, Outcome: roll.Passed}}}
}
