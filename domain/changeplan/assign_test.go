package changeplan_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"barrelbook/domain/changeplan"
	"barrelbook/domain/refusal"
)

var weights = changeplan.Weights{LatePerMin: 0.37, TooGoodPerRank: 3, TooPoorPerRank: 5.5}

// lot draws up to 5 slots and 6 sets, of which about a third of the pairs fit.
func lot(r *rand.Rand) (slots []changeplan.Slot, sets []changeplan.Candidate) {
	for i := range 1 + r.IntN(5) {
		low := 680 + 20*r.Float64()
		tolerance := int64(20 + r.IntN(200))
		slots = append(slots, changeplan.Slot{ID: fmt.Sprintf("slot %d", i), DueMin: 600 * r.Float64(), Demand: 1 + r.IntN(5),
			DiameterMM: changeplan.Range{Low: low, High: low + 60*r.Float64()}, PairToleranceUM: &tolerance})
	}
	for j := range r.IntN(7) {
		top := 690_000 + r.Int64N(50_000)
		c := changeplan.Candidate{ID: fmt.Sprintf("set %d", j), TopDiameterUM: top, BottomDiameterUM: top + r.Int64N(120),
			ReadyMin: 600 * r.Float64(), Quality: 1 + r.IntN(5)}
		if r.IntN(8) == 0 {
			c.Bars = []string{"held for inspection"}
		}
		sets = append(sets, c)
	}
	return slots, sets
}

// everyWay tries every use of the sets, slot (i, j) barred if i >= 0, and gives
// the fewest empty slots and the least cost with them.
func everyWay(t *testing.T, slots []changeplan.Slot, sets []changeplan.Candidate, barredSlot, barredSet int) (empty int, cost float64) {
	t.Helper()
	empty = len(slots) + 1
	used := make([]bool, len(sets))
	var try func(i, none int, sum float64)
	try = func(i, none int, sum float64) {
		if i == len(slots) {
			if none < empty || none == empty && sum < cost {
				empty, cost = none, sum
			}
			return
		}
		try(i+1, none+1, sum)
		for j, c := range sets {
			v, err := changeplan.Judge(c, slots[i], weights)
			if err != nil {
				t.Fatal(err)
			}
			if used[j] || v.Forbidden || i == barredSlot && j == barredSet {
				continue
			}
			used[j] = true
			try(i+1, none, sum+v.Cost)
			used[j] = false
		}
	}
	try(0, 0, 0)
	return empty, cost
}

func TestAssignEqualToEveryWay(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 500))
	leftEmpty, elsewhere := 0, 0
	for i := range 500 {
		slots, sets := lot(r)
		a, err := changeplan.Assign(slots, sets, weights, nil)
		if err != nil {
			t.Fatal(err)
		}
		empty, cost := everyWay(t, slots, sets, -1, -1)
		if a.Empty != empty || !near(a.Total, cost) {
			t.Fatalf("case %d: %d empty at %v, every way gives %d at %v\n%+v\n%+v", i, a.Empty, a.Total, empty, cost, slots, sets)
		}
		checkPlacements(t, slots, sets, a)
		for k, p := range a.Placements {
			if p.Candidate == "" {
				leftEmpty++
				continue
			}
			if slices.ContainsFunc(p.Reasons, func(r changeplan.Reason) bool { return r.Code == changeplan.CodeElsewhere }) {
				elsewhere++
			}
			j := slices.IndexFunc(sets, func(c changeplan.Candidate) bool { return c.ID == p.Candidate })
			empty, cost := everyWay(t, slots, sets, k, j)
			if p.SecondEmpty != empty || !near(p.SecondTotal, cost) {
				t.Fatalf("case %d slot %d: second best %d empty at %v, every way gives %d at %v", i, k, p.SecondEmpty, p.SecondTotal, empty, cost)
			}
			if p.Second == p.Candidate {
				t.Fatalf("case %d slot %d: the second best is the choice itself", i, k)
			}
		}
	}
	if leftEmpty < 50 || elsewhere < 20 {
		t.Fatalf("draw too narrow: %d slots left empty, %d sets needed elsewhere", leftEmpty, elsewhere)
	}
}

// checkPlacements sees that no set is used twice, none is forbidden, the costs
// add up and every placement gives a reason.
func checkPlacements(t *testing.T, slots []changeplan.Slot, sets []changeplan.Candidate, a changeplan.Assignment) {
	t.Helper()
	used, sum, empty := map[string]bool{}, 0.0, 0
	for k, p := range a.Placements {
		if p.Slot != slots[k].ID || len(p.Reasons) == 0 {
			t.Fatalf("placement %d: %+v", k, p)
		}
		if p.Candidate == "" {
			empty++
			continue
		}
		if used[p.Candidate] {
			t.Fatalf("set %s is used twice: %+v", p.Candidate, a)
		}
		used[p.Candidate] = true
		j := slices.IndexFunc(sets, func(c changeplan.Candidate) bool { return c.ID == p.Candidate })
		v, err := changeplan.Judge(sets[j], slots[k], weights)
		if err != nil || v.Forbidden || v.Cost != p.Cost {
			t.Fatalf("placement %d %+v: judged %+v, %v", k, p, v, err)
		}
		sum += p.Cost
	}
	if empty != a.Empty || !near(sum, a.Total) {
		t.Fatalf("placements give %d empty at %v, answer says %d at %v", empty, sum, a.Empty, a.Total)
	}
}

// A four-high stand that the set fits exactly; each row moves one thing.
func fitting() (changeplan.Candidate, changeplan.Slot) {
	tolerance := int64(100)
	return changeplan.Candidate{ID: "12", TopDiameterUM: 650_000, BottomDiameterUM: 650_000, ReadyMin: 60, Quality: 2},
		changeplan.Slot{ID: "F5", Stand: "F5", DueMin: 60, Demand: 2, PairToleranceUM: &tolerance,
			DiameterMM:      changeplan.Range{Low: 650, High: 720},
			StripSpeedMPerS: changeplan.Range{Low: 5, High: 8}, DriveRPM: changeplan.Range{Low: 100, High: 240},
			TopBackupUM: 1_420_000, BottomBackupUM: 1_420_000, WorkRefMM: 700, BackupRefMM: 1500,
			// 90 mm for these diameters: derived by an independent program.
			ShimMM: changeplan.Range{Low: 0, High: 90}, StackMM: changeplan.Range{Low: 4140, High: 4400}}
}

func TestJudgeSaysWhichLimitAndValue(t *testing.T) {
	for name, c := range map[string]struct {
		change    func(*changeplan.Candidate, *changeplan.Slot)
		code      changeplan.Code
		text      string
		forbidden bool
		cost      float64
	}{
		"fits exactly": {func(*changeplan.Candidate, *changeplan.Slot) {}, changeplan.CodeWithin, "within the limits entered", false, 0},
		"pair":         {func(c *changeplan.Candidate, _ *changeplan.Slot) { c.TopDiameterUM += 101 }, changeplan.CodePair, "the pair differs by 101 µm, above the 100 µm allowed", true, 0},
		"pair at it":   {func(c *changeplan.Candidate, _ *changeplan.Slot) { c.TopDiameterUM += 100 }, changeplan.CodeWithin, "within", false, 0},
		"too small": {func(c *changeplan.Candidate, s *changeplan.Slot) {
			c.BottomDiameterUM--
			s.ShimMM.High = 91
			s.StackMM.Low = 0
		},
			changeplan.CodeDiameter, "diameter 649.999 mm is below the 650 mm allowed", true, 0},
		"too large": {func(c *changeplan.Candidate, s *changeplan.Slot) {
			s.DiameterMM = changeplan.Range{Low: 600, High: 649.5}
		},
			changeplan.CodeDiameter, "diameter 650 mm is above the 649.5 mm allowed", true, 0},
		// 60000·8/(π·650) = 235.060
		"too fast": {func(_ *changeplan.Candidate, s *changeplan.Slot) { s.DriveRPM.High = 235 }, changeplan.CodeSpeed, "drive speed 235.06 rpm is above the 235 rpm allowed", true, 0},
		// 60000·5/(π·650) = 146.912
		"too slow": {func(_ *changeplan.Candidate, s *changeplan.Slot) { s.DriveRPM.Low = 150 }, changeplan.CodeSpeed, "drive speed 146.912 rpm is below the 150 rpm allowed", true, 0},
		"shim":     {func(_ *changeplan.Candidate, s *changeplan.Slot) { s.ShimMM.High = 89.5 }, changeplan.CodeShim, "pass-line shim 90 mm is above the 89.5 mm allowed", true, 0},
		"stack":    {func(_ *changeplan.Candidate, s *changeplan.Slot) { s.StackMM.Low = 4141 }, changeplan.CodeStack, "stack height 4140 mm is below the 4141 mm allowed", true, 0},
		// The intermediate rolls of a six-high stand: 4140 and twice 500.
		"six-high stack": {func(_ *changeplan.Candidate, s *changeplan.Slot) { s.IntermediatesUM = 1_000_000 }, changeplan.CodeStack, "stack height 5140 mm is above the 4400 mm allowed", true, 0},
		"stand":          {func(c *changeplan.Candidate, _ *changeplan.Slot) { c.Stands = []string{"elsewhere"} }, changeplan.CodeStand, "does not serve", true, 0},
		"barred":         {func(c *changeplan.Candidate, _ *changeplan.Slot) { c.Bars = []string{"eddy current test owed"} }, changeplan.CodeBarred, "set 12 may not go out: eddy current test owed", true, 0},
		"late":           {func(c *changeplan.Candidate, _ *changeplan.Slot) { c.ReadyMin = 70 }, changeplan.CodeLate, "ready 10 min after the change is due", false, 3.7},
		"too good":       {func(_ *changeplan.Candidate, s *changeplan.Slot) { s.Demand = 4 }, changeplan.CodeTooGood, "2 grades better than the stand needs", false, 6},
		"too poor":       {func(_ *changeplan.Candidate, s *changeplan.Slot) { s.Demand = 1 }, changeplan.CodeTooPoor, "a lower grade than the stand needs", false, 5.5},
	} {
		t.Run(name, func(t *testing.T) {
			set, slot := fitting()
			c.change(&set, &slot)
			v, err := changeplan.Judge(set, slot, weights)
			if err != nil {
				t.Fatal(err)
			}
			if len(v.Reasons) != 1 || v.Reasons[0].Code != c.code || !strings.Contains(v.Reasons[0].Text, c.text) {
				t.Errorf("reasons %+v, want %s: %s", v.Reasons, c.code, c.text)
			}
			if v.Forbidden != c.forbidden || !near(v.Cost, c.cost) {
				t.Errorf("forbidden %v at %v, want %v at %v", v.Forbidden, v.Cost, c.forbidden, c.cost)
			}
		})
	}
}

func TestAssignRefuses(t *testing.T) {
	set, slot := fitting()
	bad := set
	bad.ID, bad.TopDiameterUM = "13", 0
	for name, c := range map[string]struct {
		slots []changeplan.Slot
		sets  []changeplan.Candidate
		w     changeplan.Weights
		path  string
	}{
		"set twice":    {[]changeplan.Slot{slot}, []changeplan.Candidate{set, set}, weights, "candidates/1/id"},
		"slot twice":   {[]changeplan.Slot{slot, slot}, []changeplan.Candidate{set}, weights, "slots/1/id"},
		"unnamed":      {[]changeplan.Slot{{}}, nil, weights, "slots/0/id"},
		"no diameter":  {[]changeplan.Slot{slot}, []changeplan.Candidate{set, bad}, weights, "candidates/1/top_diameter_um"},
		"bad weight":   {[]changeplan.Slot{slot}, []changeplan.Candidate{set}, changeplan.Weights{LatePerMin: -1}, "weights/late_per_min"},
		"turned range": {[]changeplan.Slot{{ID: "a", StackMM: changeplan.Range{Low: 2, High: 1}}}, []changeplan.Candidate{set}, weights, "slots/0/stack_mm"},
	} {
		_, err := changeplan.Assign(c.slots, c.sets, c.w, nil)
		if f := refusal.FieldsOf(err); len(f) != 1 || f[0].Path != c.path {
			t.Errorf("%s: want a refusal of %s, got %v", name, c.path, err)
		}
	}
}

// Nothing ready: the slot is empty and says so.
func TestAssignWithoutCandidates(t *testing.T) {
	_, slot := fitting()
	a, err := changeplan.Assign([]changeplan.Slot{slot}, nil, weights, nil)
	if err != nil || a.Empty != 1 || a.Placements[0].Reasons[0].Code != changeplan.CodeNoCandidate {
		t.Errorf("got %+v, %v", a, err)
	}
}

func BenchmarkAssign(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	var slots []changeplan.Slot
	var sets []changeplan.Candidate
	for i := range 30 {
		slots = append(slots, changeplan.Slot{ID: fmt.Sprint(i), DueMin: 600 * r.Float64(), Demand: 1 + r.IntN(5)})
	}
	for j := range 60 {
		sets = append(sets, changeplan.Candidate{ID: fmt.Sprint(j), TopDiameterUM: 700_000, BottomDiameterUM: 700_000, ReadyMin: 600 * r.Float64(), Quality: 1 + r.IntN(5)})
	}
	for b.Loop() {
		if _, err := changeplan.Assign(slots, sets, weights, nil); err != nil {
			b.Fatal(err)
		}
	}
}
