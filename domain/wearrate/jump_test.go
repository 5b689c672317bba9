package wearrate

import (
	"math"
	"slices"
	"testing"
)

// replay takes campaigns in one set at a time from a moment on, and says after how
// many of a stand's campaigns trouble is named.
func replay(t *testing.T, all []Campaign, from int, look func(m *Model, n int)) {
	t.Helper()
	m := learnModel(t, all[:from])
	past := map[string][]Campaign{}
	for _, c := range all[:from] {
		past[c.Roll] = append(past[c.Roll], c)
	}
	for i := from; i < len(all); i++ {
		c := all[i]
		past[c.Roll] = append(past[c.Roll], c)
		if err := m.Replace(c.Roll, past[c.Roll], nil); err != nil {
			t.Fatal(err)
		}
		look(m, i)
	}
}

var timely = crossed{grades: 1, stands: 3, sets: 5, campaigns: 30, roll: 0.1, shared: 0.06, own: 0.04, cell: 0.3, gauge: 11, incidents: 0.03}

// TestTroubleIsSeenEarly: from a campaign on the second stand wears 40 % more for
// 30 campaigns. It is named within three campaigns in nine works of ten, its rate is
// right within 10 % after five, and it is over when it is over.
func TestTroubleIsSeenEarly(t *testing.T) {
	const begins, ends = 100, 125
	late, off, lasting, rounds := 0, 0.0, 0, 8
	for seed := range uint64(rounds) {
		w := timely
		w.trouble = func(stand, n int) float64 {
			if stand == 1 && n >= begins && n < ends {
				return math.Log(1.4)
			}
			return 0
		}
		all, _ := w.simulate(seed)
		count, named := 0, 0
		var before float64
		first := 0
		for i, c := range all {
			if c.Stand == "F2" {
				if count++; count == 2*begins {
					first = i
					break
				}
			}
		}
		count = 2 * begins
		replay(t, all, first+1, func(m *Model, i int) {
			r := m.Rates()
			cell := r.Cells[slices.IndexFunc(r.Cells, func(c CellRate) bool { return c.Stand == "F2" })]
			if before == 0 {
				before = cell.RateUMPerKM
			}
			if all[i].Stand != "F2" {
				return
			}
			count++
			n := count/2 - begins
			if cell.Trouble != nil && named == 0 {
				named = n
			}
			if n == 5 && count%2 == 0 {
				off += math.Abs(cell.RateUMPerKM/before/1.4-1) / float64(rounds)
			}
			if n == ends-begins+8 && count%2 == 0 && cell.Trouble != nil {
				lasting++
			}
		})
		if named == 0 || named > 3 {
			late++
		}
		t.Logf("seed %d: named after %d campaigns", seed, named)
	}
	if late > 1 || off > 0.1 || lasting > 1 {
		t.Errorf("of %d: %d late, rate %.3f off after five campaigns, %d named eight campaigns after it was over", rounds, late, off, lasting)
	}
}

// TestFalseAlarms: nothing is the matter for 450 stand-campaigns in each of six works.
func TestFalseAlarms(t *testing.T) {
	alarms, campaigns := 0, 0
	for seed := range uint64(6) {
		w := timely
		w.campaigns = 30
		all, _ := w.simulate(100 + seed)
		m := learnModel(t, all)
		for i := range m.stands {
			alarms += len(m.stands[i].jumps)
		}
		campaigns += len(all) / 2
	}
	t.Logf("%d alarms in %d campaigns", alarms, campaigns)
	if alarms > 3 {
		t.Errorf("%d alarms in %d campaigns where nothing was the matter", alarms, campaigns)
	}
}
