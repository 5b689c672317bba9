package app_test

import (
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

func (w *works) correctReceipt(number string, entry int64, to func(*roll.Received)) error {
	_, err := w.CorrectEntry(w.ctx, engineer, record.Correction{Number: number, Entry: entry, Reason: "typed wrong", Receipt: to})
	return err
}

func diameter(um quantity.Micrometre) func(*roll.Received) {
	return func(b *roll.Received) { b.Diameter, b.Roll.NewDiameter = um, um }
}

// TestReceiptTypedWrong: the first grind is refused because the receipt has two
// digits changed over; the receipt is corrected, twice, and the grind is taken.
func TestReceiptTypedWrong(t *testing.T) {
	t.Parallel()
	w := newWorks(t)
	w.stand("F6", 6)
	w.roll("W1", mill.Work, 702.5) // it should have been 720.5
	w.clock.now = w.clock.now.Add(time.Hour)
	first := func() error {
		_, err := w.RecordRegrind(w.ctx, engineer, "W1", record.RegrindInput{Found: 720_480, Ground: 720_100, For: roll.ForWear, Confirmed: lookedAt()})
		return err
	}
	if err := first(); !port.IsKind(err, port.Impossible) && !port.IsKind(err, port.Conflicting) {
		t.Fatalf("a grind found 18 mm above the receipt: %v", err)
	}
	w.must(w.correctReceipt("W1", 1, diameter(725_000)))
	w.must(w.correctReceipt("W1", 2, func(b *roll.Received) {
		diameter(720_500)(b)
		b.Roll.Scrap.ShellDepth = 660_000
	}))
	w.must(first())
	v := w.view("W1")
	if limit, name := v.State.ScrapLimit(); v.State.Diameter != 720_100 || v.State.Roll.NewDiameter != 720_500 || limit != 660_000 || !v.State.ReceivedAt.Equal(start) {
		t.Errorf("%s of %s new, scrap at %s (%s), received %v", v.State.Diameter, v.State.Roll.NewDiameter, limit, name, v.State.ReceivedAt)
	}
	entries, _, err := w.Entries(w.ctx, "W1", port.Page{Limit: 2})
	w.must(err)
	if entries[0].ReplacedBy != 2 || entries[1].ReplacedBy != 3 {
		t.Errorf("replaced by %d and %d, want 2 and 3", entries[0].ReplacedBy, entries[1].ReplacedBy)
	}
	w.must(w.store.Verify(w.ctx))
}

// TestReceiptContradicted: what cannot be, what happened later, and what sets and
// stands keep of the roll stand against a correction of the receipt.
func TestReceiptContradicted(t *testing.T) {
	t.Parallel()
	w := finishing(t)
	w.roll("W1", mill.Work, 720)
	w.roll("FREE", mill.Work, 720)
	w.clock.now = w.clock.now.Add(time.Hour)
	_, err := w.RecordRegrind(w.ctx, engineer, "W1", record.RegrindInput{Found: 719_900, Ground: 719_500, For: roll.ForWear, Confirmed: lookedAt()})
	w.must(err)
	for name, c := range map[string]struct {
		number string
		entry  int64
		to     func(*roll.Received)
		kind   port.Kind
	}{
		"no such grade":               {"FREE", 1, func(b *roll.Received) { b.Roll.Grade = "xx" }, port.Impossible},
		"below the scrap limit":       {"FREE", 1, diameter(630_000), port.Impossible},
		"another number":              {"FREE", 1, func(b *roll.Received) { b.Roll.Number = "OTHER" }, port.Impossible},
		"under a later grind":         {"W1", 1, diameter(719_000), port.Conflicting},
		"an entry that is no receipt": {"W1", 2, diameter(719_000), port.Conflicting},
		"in a stand at the old one":   {"WF6-T", 1, diameter(720_100), port.Conflicting},
		"another role in a set":       {"WF6-T", 1, func(b *roll.Received) { b.Roll.Role = mill.Backup }, port.Conflicting},
	} {
		t.Run(name, func(t *testing.T) {
			before := w.view(c.number).Version()
			if err := w.correctReceipt(c.number, c.entry, c.to); !port.IsKind(err, c.kind) {
				t.Errorf("%v, want one of kind %v", err, c.kind)
			}
			if after := w.view(c.number).Version(); after != before {
				t.Errorf("version %d, before %d", after, before)
			}
		})
	}
	// What nothing else hangs on is corrected in a stand too.
	w.must(w.correctReceipt("WF6-T", 1, func(b *roll.Received) { b.Roll.Supplier = "Foundry" }))
	w.must(w.store.Verify(w.ctx))
}
