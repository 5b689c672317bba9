package wear_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/wear"
)

// By hand: Ra 2.5 to a floor of 0.5 with l₀ 100 km. At 100 km 0.5+2/e =
// 1.235759; it is halfway down (1.5) at 100·ln 2 = 69.314718 km.
func TestRoughnessWorkedByHand(t *testing.T) {
	r := wear.Roughness{StartUM: 2.5, FloorUM: 0.5, ScaleKM: 100}
	if ra, err := r.At(100); err != nil || !near(ra, 1.235759, 1e-6) {
		t.Errorf("Ra at 100 km: %v, %v, want 1.235759", ra, err)
	}
	for _, row := range []struct {
		limit, km float64
		never     bool
	}{{1.5, 69.314718, false}, {2.5, 0, false}, {3, 0, false}, {0.5, 0, true}, {0.2, 0, true}} {
		km, never, err := r.KMUntil(row.limit)
		if err != nil || never != row.never || math.Abs(km-row.km) > 1e-6 {
			t.Errorf("until %v: %v km, never %v, %v, want %v, %v", row.limit, km, never, err, row.km, row.never)
		}
	}
	flat := wear.Roughness{StartUM: 1, FloorUM: 1, ScaleKM: 100}
	if km, never, err := flat.KMUntil(0.8); km != 0 || !never || err != nil {
		t.Errorf("a surface that does not change: %v, %v, %v, want never", km, never, err)
	}
}

func TestRoughnessIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := wear.Roughness{
			StartUM: rapid.Float64Range(0, 6).Draw(t, "start"), FloorUM: rapid.Float64Range(0, 6).Draw(t, "floor"),
			ScaleKM: rapid.Float64Range(1, 1000).Draw(t, "scale"),
		}
		l1 := rapid.Float64Range(0, 3).Draw(t, "l1") * r.ScaleKM
		l2 := rapid.Float64Range(0, 3).Draw(t, "l2") * r.ScaleKM
		whole, err := r.At(l1 + l2)
		mid, err1 := r.At(l1)
		then := r
		then.StartUM = mid
		stopped, err2 := then.At(l2)
		if err != nil || err1 != nil || err2 != nil || math.Abs(whole-stopped) > 1e-12 {
			t.Fatalf("%+v over %v then %v: %v whole, %v stopped", r, l1, l2, whole, stopped)
		}
		if math.Abs(r.StartUM-r.FloorUM) < 1e-3 {
			return // the inverse loses its digits where nothing changes
		}
		km, never, err := r.KMUntil(mid)
		if err != nil || never || math.Abs(km-l1) > 1e-6*r.ScaleKM {
			t.Fatalf("%+v: Ra %v at %v km, but until it %v km, never %v, %v", r, mid, l1, km, never, err)
		}
	})
}

func TestRoughnessRefuses(t *testing.T) {
	good := wear.Roughness{StartUM: 2, FloorUM: 0.5, ScaleKM: 100}
	for _, r := range []wear.Roughness{{StartUM: -1, ScaleKM: 1}, {FloorUM: math.NaN(), ScaleKM: 1}, {StartUM: 1}} {
		if _, err := r.At(1); err == nil {
			t.Errorf("%+v was taken", r)
		}
		if _, _, err := r.KMUntil(1); err == nil {
			t.Errorf("%+v was taken", r)
		}
	}
	if _, err := good.At(-1); err == nil {
		t.Error("a negative length was taken")
	}
	if _, _, err := good.KMUntil(math.Inf(1)); err == nil {
		t.Error("an infinite limit was taken")
	}
}
