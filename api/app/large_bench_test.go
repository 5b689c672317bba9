package app_test

import (
	"fmt"
	"testing"

	"barrelbook/api/app/plan"
	"barrelbook/domain/mill"
)

// BenchmarkFinishInLargeShop asks for the finish check of one programme in a shop of
// few sets and of many: what is asked of is in the stands, and six ready sets.
func BenchmarkFinishInLargeShop(b *testing.B) {
	for _, sets := range []int{50, 1000} {
		b.Run(fmt.Sprintf("sets=%d", sets), func(b *testing.B) {
			w := newWorks(b)
			w.stand("F5", 5)
			w.set("BU", mill.Backup, 1480)
			w.set("IN", mill.Work, 720)
			for i := range sets {
				w.set(fmt.Sprintf("S%05d", i), mill.Work, 715)
			}
			w.mount("F5", mill.Backup, "BU")
			w.mount("F5", mill.Work, "IN")
			w.campaign("C1", 60, nil, "F5")
			for b.Loop() {
				w.clock.now = w.clock.now.Add(61e9) // not the question of a minute ago
				if _, err := w.CheckFinish(w.ctx, plan.FinishInput{Campaign: "C1"}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
