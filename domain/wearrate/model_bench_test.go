package wearrate

import (
	"testing"
	"time"
)

// BenchmarkRelearn takes one more regrind in among 600 000: 2 000 rolls of 300
// campaigns each. Beside it what all of them take.
func BenchmarkRelearn(b *testing.B) {
	w := plainWorks
	w.grades, w.stands, w.sets, w.campaigns = 3, 7, 48, 298
	all, _ := w.simulate(1)
	begun := time.Now()
	m := learnModel(b, all)
	learned := time.Since(begun)
	var own []Campaign
	for _, c := range all {
		if c.Roll == all[0].Roll {
			own = append(own, c)
		}
	}
	b.Run("one", func(b *testing.B) {
		for i := range b.N {
			if err := m.Replace(all[0].Roll, own[:len(own)-i%2], nil); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(learned.Seconds(), "s/all")
		b.ReportMetric(float64(len(m.names)), "rolls")
	})
}
