package app_test

import (
	"fmt"
	"testing"
	"time"

	"barrelbook/api/app/port"
	"barrelbook/api/app/record"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// BenchmarkEntries is a page of 20 entries from the end of a short book, the
// baseline, and of a long one: they should cost the same.
func BenchmarkEntries(b *testing.B) {
	for _, length := range []int{60, 2000} {
		b.Run(fmt.Sprintf("book of %d", length), func(b *testing.B) {
			w := newWorks(b)
			w.roll("W1", mill.Work, 720)
			for i := range length {
				w.clock.now = w.clock.now.Add(time.Minute)
				body := roll.Body(roll.Held{})
				if i%2 == 1 {
					body = roll.Released{}
				}
				_, err := w.RecordHappening(w.ctx, engineer, record.Happening{Number: "W1", Reason: "counted", Body: body})
				w.must(err)
			}
			page, last := port.Page{Limit: 20}, port.Page{}
			for {
				_, next, err := w.Entries(w.ctx, "W1", page)
				w.must(err)
				if next == "" {
					break
				}
				last, page.After = page, next
			}
			for b.Loop() {
				entries, _, err := w.Entries(w.ctx, "W1", last)
				if err != nil || len(entries) != 20 {
					b.Fatalf("%d entries, %v", len(entries), err)
				}
			}
		})
	}
}
