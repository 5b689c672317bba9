package roll_test

import (
	"fmt"
	"testing"

	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// longBook is an ordinary life of at least n entries: campaigns and grinds,
// every tenth grind corrected.
func longBook(b *testing.B, n int) *book {
	b.Helper()
	first := received()
	first.Diameter, first.Roll.NewDiameter = 1_500_000, 1_500_000
	k := open(b, step{0, first, ""}, step{1, reground(1_500_000, 1_499_990), ""}, step{2, paired("A"), ""})
	write := func(s step) {
		if err := k.write(s); err != nil {
			b.Fatal(err)
		}
	}
	for d, round := 3.0, 0; len(k.entries) < n; d, round = d+3, round+1 {
		write(step{d, mounted(), ""})
		write(step{d + 1, withdrawn(), ""})
		found := k.state.Diameter - 5
		write(step{d + 2, reground(found, found-quantity.Micrometre(10)), ""})
		if round%10 == 0 {
			write(step{d + 2, correct(int64(len(k.entries)), reground(found, found-11)), "misread"})
		}
	}
	return k
}

var sizes = []int{100, 10_000}

func BenchmarkReplay(b *testing.B) {
	for _, n := range sizes {
		k := longBook(b, n)
		b.Run(fmt.Sprintf("entries=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := roll.Replay(k.entries); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(k.entries)), "ns/entry")
		})
	}
}

// BenchmarkAppend adds to the end of a book: the two must cost the same. The
// baseline is what it would cost to replay the book instead.
func BenchmarkAppend(b *testing.B) {
	for _, n := range sizes {
		k := longBook(b, n)
		e := roll.Entry{Roll: number, Number: k.state.Entries + 1, At: k.state.LastAt, Body: mounted()}
		e.At = e.At.AddDate(0, 0, 1)
		b.Run(fmt.Sprintf("end/entries=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := roll.Append(k.state, e, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("late/entries=%d", n), func(b *testing.B) {
			late := roll.Entry{Roll: number, Number: k.state.Entries + 1, At: day(2.5), Body: incident(roll.Overload)}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := roll.Append(k.state, late, func() ([]roll.Entry, error) { return k.entries, nil }); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// TestAppendDoesNotReadTheBook is why the first of these costs the same.
func TestAppendDoesNotReadTheBook(t *testing.T) {
	k := open(t, worn()...)
	e := roll.Entry{Roll: number, Number: 6, At: day(5), Body: reground(748_900, 748_500)}
	if _, err := roll.Append(k.state, e, func() ([]roll.Entry, error) { t.Fatal("the book was read"); return nil, nil }); err != nil {
		t.Fatal(err)
	}
}
