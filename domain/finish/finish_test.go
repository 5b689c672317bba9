package finish

import (
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/mill"
	"barrelbook/domain/refusal"
)

func check(t *testing.T, in Input) Answer {
	t.Helper()
	a, err := Check(in)
	if err != nil {
		t.Fatalf("Check: %v", err)
	}
	return a
}

func margin(t *testing.T, a Answer, roll string, c Criterion) Margin {
	t.Helper()
	for _, m := range a.Margins {
		if m.Roll == roll && m.Criterion == c {
			return m
		}
	}
	t.Fatalf("no margin %s of %s in %+v", c, roll, a.Margins)
	return Margin{}
}

// TestWearOfEvenStrip holds the wear of a programme of equal coils against the
// formula by hand: 20 t of 1100 x 2.8 mm at 7850 kg/m³ are 0.827197 km, at
// 10 kN/mm and 3 µm/km 2.481592 µm each inside the strip. The station next to
// the strip's edge is deeper; all of it grows in proportion.
func TestWearOfEvenStrip(t *testing.T) {
	t.Parallel()
	in := input(15) // the first block only, 1100 mm wide
	for i := range in.Work.Rolls {
		in.Work.Rolls[i].Rate.Shape.EdgeRise = 0
	}
	a := check(t, in)
	m := margin(t, a, "W-1a", "wear")
	if want := 15 * 2.4815925; math.Abs(m.AtEnd-want) > 1e-3 {
		t.Errorf("wear at the end %.6f µm, want %.6f", m.AtEnd, want)
	}
	// A limit half way through the ninth coil is reached at the ninth.
	for i := range in.Work.Rolls {
		lim(in.Work.Rolls[i])[practice.MaxWearUM] = entered(8.5 * 2.4815925)
	}
	m = margin(t, check(t, in), "W-1a", "wear")
	if m.Reached == nil || m.Reached.Piece != 9 || m.Reached.PieceID != "C-009" || math.Abs(m.Reached.TonnageT-180) > 1e-9 || math.Abs(m.Reached.RolledKM-9*0.8271975) > 1e-5 {
		t.Errorf("limit of 8.5 coils reached at %+v, want piece 9 after 180 t and %.4f km", m.Reached, 9*0.8271975)
	}
	// The wear is log-normal about its median with the rates' and the plan's
	// spreads together.
	sd := math.Sqrt(math.Log(1.01)*2 + math.Log(1+0.03*0.03) + math.Log(1+0.05*0.05))
	if want := cdf(math.Log(8.5/15) / sd); math.Abs(m.Probability-want) > 1e-6 {
		t.Errorf("P(wear holds) = %.8f, want %.8f", m.Probability, want)
	}
	if want := m.AtEnd * math.Exp(1.6448536*sd); math.Abs(m.AtEndHigh/want-1) > 1e-5 {
		t.Errorf("P95 of wear %.5f, want %.5f", m.AtEndHigh, want)
	}
	if m.ReachedP10 == nil || m.ReachedP10.Piece != int(math.Floor(8.5*math.Exp(-1.2815516*sd)))+1 {
		t.Errorf("P10 at %+v, want piece %d", m.ReachedP10, int(math.Floor(8.5*math.Exp(-1.2815516*sd)))+1)
	}
}

func TestVerdicts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		change  func(*Input)
		verdict Verdict
		says    string
	}{
		{"roomy", func(in *Input) { wearLimits(in, 2000) }, Yes, "F6 will finish within the limits entered"},
		{"tight", func(in *Input) { wearLimits(in, 330) }, Marginal, "F6 may not finish"},
		{"too tight", func(in *Input) { wearLimits(in, 300) }, No, "reaches 300 µm wear at piece"},
		{"held", func(in *Input) { in.Work.Blocks = []Block{{Why: "W-1a is held: crack suspected"}} }, Blocked, "F6 cannot run: W-1a is held: crack suspected"},
		{"empty stand", func(in *Input) { in.Work = Set{} }, Blocked, "F6 has no work set in it"},
		{"no backup", func(in *Input) { in.Backup = Set{} }, Blocked, "F6 has no backup set in it"},
		{"overload", func(in *Input) { in.Pieces[19].Passes[0].ForceKN = 30000 }, Blocked, "piece 20 (C-020): force 30,000 kN, limit of F6 25,000 kN"},
		{"too fast", func(in *Input) { in.Stand.MaxRPM = 200 }, Blocked, "roll speed 239 rpm, limit of F6 200 rpm"},
		{"too slow", func(in *Input) { in.Stand.MinRPM = 300 }, Blocked, "roll speed 239 rpm, limit of F6 300 rpm"},
		{"pair out", func(in *Input) { in.Work.MismatchUM = 151 }, Blocked, "difference to its partner 151 µm is above the limit 150 µm"},
		{"stack high", func(in *Input) { in.Stand.MaxStack = 4_398_000 }, Blocked, "stack height 4,398.980 mm is above the limit 4,398.000 mm"},
		{"stack low", func(in *Input) { in.Stand.MinStack = 4_399_000 }, Blocked, "stack height 4,398.980 mm is below the limit 4,399.000 mm"},
		{"shim", func(in *Input) {
			in.Stand.MaxShim, in.Stand.ReferenceWork, in.Stand.ReferenceBackup = 30_000, 730_000, 1_500_000
		}, Blocked, "shim to the pass line 20.520 mm is above"},
		{"too wide", func(in *Input) { in.Pieces[20].Passes[0].WidthMM = 1800 }, Blocked, "piece 21 (C-021): 1800 mm wide, does not lie on the barrel of W-1a, 1780 mm"},
		{"off the barrel", func(in *Input) { in.Pieces[20].Passes[0].LateralOffsetMM = 150 }, Blocked, "1780 mm at 150 mm from the middle"},
		{"no such groove", func(in *Input) { in.Pieces[20].Passes[0].Groove = 2 }, Blocked, "piece 21 (C-021): asks for groove 2 and W-1a has a plain barrel"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := input(150)
			wearLimits(&in, 2000)
			c.change(&in)
			if c.name == "shim" {
				in.Stand.MaxShim = 20_000
			}
			a := check(t, in)
			if a.Verdict != c.verdict || !strings.Contains(a.Sentence, c.says) {
				t.Errorf("verdict %s, want %s; sentence %q, want in it %q", a.Verdict, c.verdict, a.Sentence, c.says)
			}
			if strings.Contains(a.Sentence, "safe") {
				t.Errorf("the sentence says safe: %q", a.Sentence)
			}
		})
	}
}

func wearLimits(in *Input, um float64) {
	for i := range in.Work.Rolls {
		lim(in.Work.Rolls[i])[practice.MaxWearUM] = entered(um)
	}
}

func TestRefusals(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		change func(*Input)
		path   string
	}{
		{"empty programme", func(in *Input) { in.Pieces = nil }, "pieces"},
		{"from beyond", func(in *Input) { in.FromPiece = 31 }, "from_piece"},
		{"no density", func(in *Input) { in.DensityKGPerM3 = 0 }, "density_kg_per_m3"},
		{"NaN spread", func(in *Input) { in.Work.Rolls[0].OwnCV = math.NaN() }, "rolls/W-1a/wear_rate_cv"},
		{"thresholds crossed", func(in *Input) { in.NoBelow = 0.99 }, "finish_no_probability"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := input(30)
			c.change(&in)
			_, err := Check(in)
			fields := refusal.FieldsOf(err)
			if len(fields) == 0 || fields[0].Path != c.path {
				t.Errorf("error %v, want a refusal of %s", err, c.path)
			}
		})
	}
}

// TestMonotone: more pieces, more wear so far or wider limits never act the
// wrong way.
func TestMonotone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := input(120)
		in.LengthCV = rapid.Float64Range(0, 0.3).Draw(t, "length cv")
		in.ForceCV = rapid.Float64Range(0, 0.3).Draw(t, "force cv")
		shared, own := rapid.Float64Range(0, 0.6).Draw(t, "shared"), rapid.Float64Range(0, 0.6).Draw(t, "own")
		wear, km := rapid.Float64Range(20, 600).Draw(t, "limit"), rapid.Float64Range(10, 120).Draw(t, "km")
		for i := range in.Work.Rolls {
			r := &in.Work.Rolls[i]
			r.SharedCV, r.OwnCV, lim(r)[practice.MaxWearUM], lim(r)[practice.MaxCampaignKM] = shared, own, entered(wear), entered(km)
			r.SinceGrind.WearUM = worn(rapid.Float64Range(-100, 100).Draw(t, "worn"))
		}
		lim(in.Backup.Rolls[0])[practice.MaxPeakPressureMPa] = entered(rapid.Float64Range(900, 1800).Draw(t, "pressure"))
		in.FromPiece = 1
		r, err := newRun(&in, &in.Work, &in.Backup)
		if err != nil {
			t.Fatal(err)
		}
		last := 1.0
		for m := 0; m <= 240; m += 15 {
			p := r.probability(both(r.first(m)...))
			// The error of the bivariate rule is left.
			if !(p >= 0 && p <= 1) || p > last+1e-6 {
				t.Fatalf("P after %d pieces %.9f, after fewer %.9f", m, p, last)
			}
			last = p
		}
	})
}

func TestCapacity(t *testing.T) {
	t.Parallel()
	in := input(150)
	wearLimits(&in, 300)
	a := check(t, in)
	in.FromPiece = 1
	r, err := newRun(&in, &in.Work, &in.Backup)
	if err != nil {
		t.Fatal(err)
	}
	if p := r.probability(both(r.first(a.More.Pieces)...)); p < in.YesFrom {
		t.Errorf("capacity %d pieces has P = %.4f", a.More.Pieces, p)
	}
	if p := r.probability(both(r.first(a.More.Pieces + 1)...)); p >= in.YesFrom {
		t.Errorf("one piece past the capacity %d still has P = %.4f", a.More.Pieces, p)
	}
	// Where the programme is no limit, it is thought over again.
	wearLimits(&in, 2000)
	if a := check(t, in); a.More.Pieces <= 150 || a.More.AtLeast {
		t.Errorf("capacity %+v, want more than the programme's 150 pieces", a.More)
	}
}

// TestLikewise: a candidate computed from the sums of the set it would replace
// is the candidate computed piece by piece.
func TestLikewise(t *testing.T) {
	t.Parallel()
	in := input(90)
	in.FromPiece = 1
	other := workSet("W-2")
	for i := range other.Rolls {
		other.Rolls[i].DiameterMM, other.Rolls[i].Rate.UmPerKmAt10, other.Rolls[i].ElasticModulusMPa = 700+float64(i), 4.5, 180000
	}
	base, err := newRun(&in, &in.Work, &in.Backup)
	if err != nil {
		t.Fatal(err)
	}
	got, ok := base.likewise(&other, &in.Backup)
	if !ok {
		t.Fatal("the candidate is not like the set it replaces")
	}
	want, err := newRun(&in, &other, &in.Backup)
	if err != nil {
		t.Fatal(err)
	}
	near := func(what string, a, b float64) {
		t.Helper()
		if math.Abs(a-b) > 1e-9*math.Max(1, math.Abs(b)) {
			t.Fatalf("%s: %.12g from the sums, %.12g piece by piece", what, a, b)
		}
	}
	for i := range want.ahead.Fastest {
		near("fastest", got.ahead.Fastest[i], want.ahead.Fastest[i])
		near("slowest", got.ahead.Slowest[i], want.ahead.Slowest[i])
	}
	if len(got.watches) != len(want.watches) {
		t.Fatalf("%d limits from the sums, %d piece by piece", len(got.watches), len(want.watches))
	}
	for k := range want.watches {
		for _, m := range []int{1, 30, 90} {
			near(string(want.watches[k].Criterion), got.soft(k).use(m), want.soft(k).use(m))
		}
	}
}

// TestWearQuantiles: what lies below a quantile is its probability, rates known
// or not, worn before or not.
func TestWearQuantiles(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := input(30)
		in.FromPiece = 1
		in.LengthCV, in.ForceCV = rapid.Float64Range(0, 0.5).Draw(t, "length cv"), rapid.Float64Range(0, 0.5).Draw(t, "force cv")
		in.Work.Rolls[0].OwnCV = rapid.Float64Range(0, 1).Draw(t, "own cv")
		in.Work.Rolls[0].SinceGrind.WearUM = worn(rapid.Float64Range(-500, 500).Draw(t, "worn"))
		r, err := newRun(&in, &in.Work, &in.Backup)
		if err != nil {
			t.Fatal(err)
		}
		for k := range r.watches {
			s := r.soft(k)
			if !s.w.Spread.Rate {
				continue
			}
			for _, p := range []float64{0.05, 0.5, 0.95} {
				if got := s.below(s.after(30), s.at(30, p)); math.Abs(got-p) > 1e-6 {
					t.Fatalf("below the quantile of %g lies %.8f", p, got)
				}
			}
		}
	})
}

func TestExplainNamesSources(t *testing.T) {
	t.Parallel()
	in := input(30)
	if a := check(t, in); a.Margins[0].Source != "" {
		t.Errorf("source %q without being asked", a.Margins[0].Source)
	}
	in.Explain = true
	for _, m := range check(t, in).Margins {
		if m.Source == "" {
			t.Errorf("%s of %s names no source", m.Criterion, m.Roll)
		}
	}
}

// TestNeverNonFinite: whatever the programme and the rolls, every figure of the
// answer is finite and every probability one.
func TestNeverNonFinite(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := input(rapid.IntRange(1, 40).Draw(t, "pieces"))
		if rapid.Bool().Draw(t, "mechanics") {
			mechanics(&in)
			in.Limits.(standing.Given)[practice.OverloadMarginMin] = entered(rapid.Float64Range(0, 1).Draw(t, "margin"))
		}
		in.LengthCV, in.ForceCV = rapid.Float64Range(0, 1).Draw(t, "length cv"), rapid.Float64Range(0, 1).Draw(t, "force cv")
		in.FromPiece = rapid.IntRange(1, len(in.Pieces)).Draw(t, "from")
		in.Stops = []mill.PlannedStop{{BeforePiece: rapid.IntRange(1, len(in.Pieces)).Draw(t, "stop"), Name: "stop"}}
		for i := range in.Pieces {
			pass := &in.Pieces[i].Passes[0]
			pass.ForceKN = rapid.SampledFrom([]float64{0, 1, 8000, 24000, 60000}).Draw(t, "force")
			pass.SpeedMPerS = rapid.SampledFrom([]float64{0, 0.1, 9, 40}).Draw(t, "speed")
			pass.WidthMM *= rapid.SampledFrom([]float64{0.1, 1, 1.3}).Draw(t, "width")
		}
		for i := range in.Work.Rolls {
			r := &in.Work.Rolls[i]
			r.SharedCV, r.OwnCV = rapid.Float64Range(0, 2).Draw(t, "shared"), rapid.Float64Range(0, 2).Draw(t, "own")
			lim(r)[practice.MaxWearUM], lim(r)[practice.MaxCampaignKM], lim(r)[practice.MaxCampaignT] = entered(rapid.Float64Range(0, 500).Draw(t, "wear")), entered(rapid.Float64Range(0, 50).Draw(t, "km")), entered(rapid.Float64Range(0, 1000).Draw(t, "t"))
			lim(r)[practice.MaxPeakPressureMPa], lim(r)[practice.MaxDamage] = entered(rapid.Float64Range(0, 2000).Draw(t, "mpa")), entered(rapid.Float64Range(0.001, 1).Draw(t, "damage"))
			r.Rate.UmPerKmAt10 = rapid.SampledFrom([]float64{0, 0.01, 3, 1000}).Draw(t, "rate")
			r.ScrapDiameterMM = rapid.Float64Range(0, 800).Draw(t, "scrap")
			r.SinceGrind.WearUM = worn(rapid.Float64Range(-600, 600).Draw(t, "worn"))
		}
		other := workSet("W-2")
		other.Mounted = false
		in.Candidates = []Set{other}
		a, err := Check(in)
		if err != nil {
			t.Fatal(err)
		}
		figures := []float64{a.Probability, a.More.TonnageT, a.More.RolledKM}
		probabilities := []float64{a.Probability}
		for _, m := range a.Margins {
			figures = append(figures, m.Limit, m.Now, m.AtEnd, m.AtEndLow, m.AtEndHigh)
			probabilities = append(probabilities, m.Probability)
		}
		for _, r := range a.Remedies {
			probabilities = append(probabilities, r.Probability)
		}
		for _, v := range append(figures, probabilities...) {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%v in %+v", v, a)
			}
		}
		for _, p := range probabilities {
			if p < 0 || p > 1 {
				t.Fatalf("probability %v in %+v", p, a)
			}
		}
		if a.Sentence == "" || strings.Contains(a.Sentence, "%!") || strings.Contains(a.Sentence, "NaN") {
			t.Fatalf("sentence %q", a.Sentence)
		}
	})
}
