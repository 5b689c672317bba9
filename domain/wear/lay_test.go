package wear_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/refusal"
	"barrelbook/domain/wear"
)

func grid(t testing.TB, barrel float64, stations int) wear.Grid {
	t.Helper()
	g, err := wear.NewGrid(barrel, stations)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// By hand: κ 4 µm/km at 10 kN/mm, 15 000 kN over 1250 mm is 12 kN/mm, 25 km:
// 4·1.2·25 = 120 µm on diameter inside the strip, none outside it.
func TestLayWorkedByHand(t *testing.T) {
	g := grid(t, 1780, wear.DefaultStations)
	depth := g.New()
	err := g.Lay(depth, wear.Pass{StripWidthMM: 1250, RolledKM: 25, ForceKN: 15000}, wear.Rate{UmPerKmAt10: 4, Shape: wear.PlainShape()})
	if err != nil {
		t.Fatal(err)
	}
	for i, d := range depth {
		want, x := 0.0, math.Abs(g.X(i))
		if x < 625-10-22.25 {
			want = 120
		} else if x < 625+10+22.25 {
			continue // the edge's own cells: the area test has them
		}
		if math.Abs(d-want) > 1e-10 {
			t.Errorf("x %v: %v µm, want %v", g.X(i), d, want)
		}
	}
	if mean, err := g.MeanOver(depth, 1000, 0); err != nil || !near(mean, 120, 1e-12) {
		t.Errorf("mean over the middle 1000 mm: %v, %v, want 120", mean, err)
	}
	// ∫w dx = 120·1250 with the plain shape, whatever the grid.
	if mean, err := g.Mean(depth); err != nil || !near(mean, 120*1250/1780.0, 1e-12) {
		t.Errorf("mean over the barrel: %v, %v, want %v", mean, err, 120*1250/1780.0)
	}
}

// By hand, exponent 0.5: 40 kN/mm is 4 times the reference, so twice the rate.
func TestForceExponent(t *testing.T) {
	g := grid(t, 1000, 11)
	depth := g.New()
	if err := g.Lay(depth, wear.Pass{StripWidthMM: 500, RolledKM: 10, ForceKN: 20000}, wear.Rate{UmPerKmAt10: 3, Exponent: 0.5}); err != nil {
		t.Fatal(err)
	}
	if !near(depth[5], 60, 1e-14) {
		t.Errorf("middle %v µm, want 60", depth[5])
	}
}

// The shape against its own definition, sampled finely.
func TestShapeAlongTheStrip(t *testing.T) {
	g := grid(t, 2000, 2001) // 1 mm cells
	depth := g.New()
	if err := g.Lay(depth, wear.Pass{StripWidthMM: 1000, LateralOffsetMM: 40, RolledKM: 1, ForceKN: 10000}, wear.Rate{UmPerKmAt10: 1, Shape: wear.HotStripShape()}); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ inside, want float64 }{
		{-12, 0}, {-10 + 5, 1.2 / 4}, {0, 0.6}, {5, 0.9}, {35, 1.1}, {60 + 1, 1}, {300, 1}, {500, 1},
	} {
		for _, x := range []float64{540 - row.inside, -460 + row.inside} {
			if got := depth[int(x)+1000]; math.Abs(got-row.want) > 1e-9 {
				t.Errorf("%v mm inside the edge (x %v): %v, want %v", row.inside, x, got, row.want)
			}
		}
	}
	// The kink at the peak lies within a cell, so its mean is a little lower.
	if um, i := wear.Deepest(depth); um < 1.18 || um > 1.2 || (math.Abs(math.Abs(g.X(i)-40)-490) > 1.5) {
		t.Errorf("deepest %v at x %v, want just under 1.2 at 530 or -450", um, g.X(i))
	}
}

// The figures in Lay's comment: what a grid makes of a 20 % edge rise.
func TestEdgeRiseOnTheGrid(t *testing.T) {
	for _, row := range []struct {
		stations  int
		low, high float64
	}{{wear.DefaultStations, 1.015, 1.12}, {161, 1.145, 1.18}} {
		g := grid(t, 1780, row.stations)
		low, high := math.Inf(1), 0.0
		for width := 900.0; width < 1000; width++ {
			depth := g.New()
			if err := g.Lay(depth, wear.Pass{StripWidthMM: width, RolledKM: 1, ForceKN: 10 * width}, wear.Rate{UmPerKmAt10: 1, Shape: wear.HotStripShape()}); err != nil {
				t.Fatal(err)
			}
			um, _ := wear.Deepest(depth)
			low, high = min(low, um), max(high, um)
		}
		if low < row.low || low > row.low+0.01 || high > row.high || high < row.high-0.01 {
			t.Errorf("deepest of 1.20 on %d stations: %v to %v, said to be %v to %v", row.stations, low, high, row.low, row.high)
		}
	}
}

func drawPass(t *rapid.T, barrel float64) wear.Pass {
	width := rapid.Float64Range(5, barrel).Draw(t, "width")
	room := (barrel - width) / 2
	return wear.Pass{
		StripWidthMM:    width,
		LateralOffsetMM: rapid.Float64Range(-room, room).Draw(t, "offset"),
		RolledKM:        rapid.Float64Range(0, 50).Draw(t, "km"),
		ForceKN:         rapid.Float64Range(0, 40000).Draw(t, "force"),
	}
}

func drawRate(t *rapid.T) wear.Rate {
	soft := rapid.Float64Range(0, 40).Draw(t, "soft")
	return wear.Rate{
		UmPerKmAt10: rapid.Float64Range(0, 20).Draw(t, "kappa"),
		Exponent:    rapid.Float64Range(0.6, 1.2).Draw(t, "exponent"),
		Shape:       wear.Shape{SoftMM: soft, EdgeRise: rapid.Float64Range(0, 0.5).Draw(t, "rise"), ReachMM: rapid.Float64Range(soft/2+1, 90).Draw(t, "reach")},
	}
}

func close1(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(1+math.Abs(a)+math.Abs(b)) }

// Wear adds over pieces: one pass cut in two lays what the whole lays, in
// either order with another pass, and nothing is ever negative.
func TestWearAddsOverPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		barrel := rapid.Float64Range(300, 5000).Draw(t, "barrel")
		g, err := wear.NewGrid(barrel, rapid.IntRange(3, 120).Draw(t, "stations"))
		if err != nil {
			t.Fatal(err)
		}
		p, other, r := drawPass(t, barrel), drawPass(t, barrel), drawRate(t)
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		first, second := p, p
		first.RolledKM *= share
		second.RolledKM -= first.RolledKM
		whole, parts := g.New(), g.New()
		for _, err := range []error{
			g.Lay(whole, p, r), g.Lay(whole, other, r),
			g.Lay(parts, second, r), g.Lay(parts, other, r), g.Lay(parts, first, r),
		} {
			if err != nil {
				t.Fatal(err)
			}
		}
		for i := range whole {
			if !close1(whole[i], parts[i]) || whole[i] < -1e-9 {
				t.Fatalf("station %d: whole %v, parts %v of %+v, %+v, %+v", i, whole[i], parts[i], p, other, r)
			}
		}
	})
}

// The worn area is kept on any grid: κ(q/10)ᵃl·(B + rise·(reach + soft/2)),
// as long as strip and softened edges are on the barrel and the rises of the
// two edges do not meet.
func TestWornAreaIsKept(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		barrel := rapid.Float64Range(600, 5000).Draw(t, "barrel")
		g, err := wear.NewGrid(barrel, rapid.IntRange(3, 120).Draw(t, "stations"))
		if err != nil {
			t.Fatal(err)
		}
		r := drawRate(t)
		width := rapid.Float64Range(200, barrel-50).Draw(t, "width")
		room := (barrel - width - 45) / 2
		p := wear.Pass{StripWidthMM: width, LateralOffsetMM: rapid.Float64Range(-1, 1).Draw(t, "offset") * max(0, room),
			RolledKM: rapid.Float64Range(0, 50).Draw(t, "km"), ForceKN: rapid.Float64Range(0, 40000).Draw(t, "force")}
		depth := g.New()
		if err := g.Lay(depth, p, r); err != nil {
			t.Fatal(err)
		}
		mean, err := g.Mean(depth)
		inside := r.UmPerKmAt10 * math.Pow(p.ForceKN/width/10, r.Exponent) * p.RolledKM
		want := inside * (width + r.Shape.EdgeRise*(r.Shape.ReachMM+r.Shape.SoftMM/2)) / barrel
		if err != nil || !close1(mean, want) {
			t.Fatalf("mean %v (%v), want %v for %+v, %+v, barrel %v, stations %d", mean, err, want, p, r, barrel, g.Stations())
		}
	})
}

func TestMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, err := wear.NewGrid(1780, rapid.IntRange(3, 80).Draw(t, "stations"))
		if err != nil {
			t.Fatal(err)
		}
		p, r := drawPass(t, 1780), drawRate(t)
		m := p
		m.LateralOffsetMM = -p.LateralOffsetMM
		right, left := g.New(), g.New()
		if g.Lay(right, p, r) != nil || g.Lay(left, m, r) != nil {
			t.Fatal("refused")
		}
		for i := range right {
			if !close1(right[i], left[len(left)-1-i]) {
				t.Fatalf("station %d: %v against mirrored %v for %+v", i, right[i], left[len(left)-1-i], p)
			}
		}
	})
}

// A uniform line load of 12 kN/mm wears like the inside of a strip at 12.
func TestLayContact(t *testing.T) {
	g := grid(t, 1780, 41)
	load, depth := g.New(), g.New()
	for i := range load {
		load[i] = 12000
	}
	load[0] = 0 // parted at the barrel end
	if err := g.LayContact(depth, load, 1000, wear.Rate{UmPerKmAt10: 0.05}); err != nil {
		t.Fatal(err)
	}
	if depth[0] != 0 || !near(depth[20], 60, 1e-14) {
		t.Errorf("end %v and middle %v µm, want 0 and 60", depth[0], depth[20])
	}
	load[7] = -1
	if err := g.LayContact(depth, load, 1000, wear.Rate{UmPerKmAt10: 0.05}); err == nil || !near(depth[20], 60, 1e-14) {
		t.Errorf("negative load: %v, middle now %v", err, depth[20])
	}
	if err := g.LayContact(depth, load[:3], 1000, wear.Rate{}); err == nil {
		t.Error("a load of another length was taken")
	}
}

func TestLayRefusesAndLeavesTheProfile(t *testing.T) {
	g := grid(t, 1780, 41)
	good := wear.Pass{StripWidthMM: 1250, RolledKM: 1, ForceKN: 12000}
	rate := wear.Rate{UmPerKmAt10: 4, Shape: wear.HotStripShape()}
	nan, inf := math.NaN(), math.Inf(1)
	for name, row := range map[string]struct {
		change func(*wear.Pass, *wear.Rate)
		path   string
	}{
		"no width":            {func(p *wear.Pass, _ *wear.Rate) { p.StripWidthMM = 0 }, "strip_width_mm"},
		"wider than barrel":   {func(p *wear.Pass, _ *wear.Rate) { p.StripWidthMM = 1900 }, "strip_width_mm"},
		"over the end":        {func(p *wear.Pass, _ *wear.Rate) { p.LateralOffsetMM = -300 }, "strip_width_mm"},
		"offset not a number": {func(p *wear.Pass, _ *wear.Rate) { p.LateralOffsetMM = nan }, "lateral_offset_mm"},
		"negative length":     {func(p *wear.Pass, _ *wear.Rate) { p.RolledKM = -1 }, "rolled_km"},
		"infinite force":      {func(p *wear.Pass, _ *wear.Rate) { p.ForceKN = inf }, "force_kn"},
		"negative rate":       {func(_ *wear.Pass, r *wear.Rate) { r.UmPerKmAt10 = -4 }, "rate_um_per_km"},
		"exponent":            {func(_ *wear.Pass, r *wear.Rate) { r.Exponent = 5 }, "wear_exponent"},
		"reach inside edge":   {func(_ *wear.Pass, r *wear.Rate) { r.Shape.ReachMM = 9 }, "wear_shape/reach_mm"},
		"a metre of wear":     {func(p *wear.Pass, _ *wear.Rate) { p.RolledKM = 1e9 }, "rolled_km"},
		"overflow times zero": {func(p *wear.Pass, r *wear.Rate) { p.ForceKN, p.RolledKM, p.StripWidthMM = 1e308, 0, 0.1 }, "rolled_km"},
	} {
		t.Run(name, func(t *testing.T) {
			p, r, depth := good, rate, g.New()
			row.change(&p, &r)
			fields := refusal.FieldsOf(g.Lay(depth, p, r))
			if len(fields) == 0 || fields[0].Path != row.path {
				t.Errorf("refused %v, want %s for %+v %+v", fields, row.path, p, r)
			}
			if um, _ := wear.Deepest(depth); um != 0 {
				t.Errorf("profile changed to %v on a refusal", depth)
			}
		})
	}
	if err := g.Lay(make([]float64, 40), good, rate); err == nil {
		t.Error("a profile of another grid was taken")
	}
	if err := (wear.Grid{}).Lay(nil, good, rate); err == nil {
		t.Error("the zero grid was taken")
	}
	broken := g.New()
	broken[3] = nan
	if err := g.Lay(broken, good, rate); err == nil {
		t.Error("a profile with a NaN was taken")
	}
	for _, bad := range []struct {
		barrel   float64
		stations int
	}{{0, 41}, {nan, 41}, {1780, 2}, {1780, 5000}} {
		if _, err := wear.NewGrid(bad.barrel, bad.stations); err == nil {
			t.Errorf("grid %v was taken", bad)
		}
	}
}

func TestLayAllocatesNothing(t *testing.T) {
	g := grid(t, 1780, 41)
	depth := g.New()
	p, r := wear.Pass{StripWidthMM: 1250, RolledKM: 1, ForceKN: 12000}, wear.Rate{UmPerKmAt10: 4, Shape: wear.HotStripShape()}
	if n := testing.AllocsPerRun(100, func() {
		if g.Lay(depth, p, r) != nil {
			t.Fatal("refused")
		}
	}); n != 0 {
		t.Errorf("%v allocations per piece", n)
	}
}

func TestStations(t *testing.T) {
	g := grid(t, 1780, 41)
	xs := g.XS()
	if xs[0] != -890 || xs[20] != 0 || xs[40] != 890 || !near(xs[21], 44.5, 1e-15) || g.BarrelMM() != 1780 {
		t.Errorf("stations %v", xs)
	}
	if um, i := wear.Deepest(nil); um != 0 || i != -1 {
		t.Errorf("deepest of nothing: %v at %v", um, i)
	}
	if _, err := g.MeanOver(g.New(), 2000, 0); err == nil {
		t.Error("mean over more than the barrel was taken")
	}
}
