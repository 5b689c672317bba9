package finish

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standing"
	"barrelbook/domain/wear"
)

// randomLimits draws which limits a roll has and how tight they are, from far
// past to never reached.
func randomLimits(t *rapid.T, r *Roll, n int) {
	km := float64(n) * 0.65 // about what the programme rolls
	tightness := func(name string) float64 { return rapid.Float64Range(0.05, 3).Draw(t, name) }
	given := lim(*r)
	for _, one := range []struct {
		key  practice.Key
		full float64 // what the programme uses up, about
	}{
		{practice.MaxCampaignT, 20 * float64(n)}, {practice.MaxCampaignKM, km}, {practice.MaxWearUM, 3 * km}, {practice.MaxPeakPressureMPa, 1150},
		{practice.MaxFireCrackUM, 28 * float64(n)}, {practice.MaxCampaignRevolutions, 450 * km}, {practice.MaxSameWidthKM, 15 * 0.65}, {practice.MaxDamage, 2e-5 * float64(n)},
	} {
		delete(given, one.key)
		if rapid.IntRange(0, 3).Draw(t, string(one.key)) == 0 {
			given[one.key] = entered(one.full * tightness(string(one.key)+" share"))
		}
	}
	given[practice.FireCrackUMPerPiece] = entered(28)
	if rapid.IntRange(0, 3).Draw(t, "rough") == 0 {
		given[practice.RoughnessLimitUM] = entered(1.9)
		r.Roughness = wear.Roughness{StartUM: rapid.SampledFrom([]float64{1.5, 1.9, 2.5, 3}).Draw(t, "Ra"), FloorUM: 0.8, ScaleKM: 2 * km}
	}
}

// randomHistory draws what a roll has borne: nothing, or a stay or more since
// its grind, some of it before it went in this time.
func randomHistory(t *rapid.T, r *Roll, n int) {
	if !rapid.Bool().Draw(t, "worn") {
		return
	}
	share := rapid.Float64Range(0, 1.5).Draw(t, "stay")
	km := share * float64(n) * 0.65
	stay := duty.Usage{Pieces: int64(share * float64(n)), TonnageT: 20 * share * float64(n), RolledKM: km, Revolutions: 450 * km, MaxPeakPressureMPa: 1100,
		WearUM: worn(2*km + 1e-9), Widths: []duty.WidthUse{{WidthMM: 1560, RolledKM: km / 3}, {WidthMM: 1565, RolledKM: km / 5}}}
	r.Stay = stay
	r.SinceGrind = standing.SinceGrind([]standing.Stay{{Usage: stay, Times: rapid.Float64Range(0.3, 2).Draw(t, "rate over booked")}})
	if rapid.Bool().Draw(t, "back without a grind") {
		before := stay
		before.WearUM = worn(-km)
		r.SinceGrind = standing.SinceGrind([]standing.Stay{{Usage: r.SinceGrind, Times: 1}, {Usage: before, Times: 1}})
		r.Stay = duty.Usage{}
	}
	if rapid.Bool().Draw(t, "damaged") {
		field, err := fatigue.NewField(41, fatigue.DefaultLayers, 0.66)
		if err != nil {
			t.Fatal(err)
		}
		for i := range field.Damage {
			field.Damage[i] = 1e-6 * float64(i%7) * float64(n)
		}
		r.Damage = field
	}
}

func randomStand(t *rapid.T, n int) Input {
	in := input(n)
	switch rapid.IntRange(0, 5).Draw(t, "arrangement") {
	case 0:
		in = sixHighInput(n)
	case 1:
		in.Stand.Arrangement, in.Backup, in.Stand.MinStack, in.Stand.MaxStack = mill.TwoHigh, Set{}, 0, 0
	case 2, 3:
		mechanics(&in)
	}
	in.FromPiece = 1
	in.LengthCV, in.ForceCV = rapid.SampledFrom([]float64{0, 0.03, 0.2}).Draw(t, "length cv"), rapid.SampledFrom([]float64{0, 0.05, 0.2}).Draw(t, "force cv")
	for _, set := range []*Set{&in.Work, &in.Intermediate, &in.Backup} {
		shared, own := rapid.SampledFrom([]float64{0, 0.1, 0.4}).Draw(t, "shared"), rapid.SampledFrom([]float64{0, 0.1, 0.4}).Draw(t, "own")
		for i := range set.Rolls {
			r := &set.Rolls[i]
			r.SharedCV, r.OwnCV = shared, own
			randomLimits(t, r, n)
			randomHistory(t, r, n)
		}
	}
	switch rapid.IntRange(0, 7).Draw(t, "bar") {
	case 0:
		in.Work.Blocks = []Block{{Why: "a test is owed", ByTest: true}}
	case 1:
		in.Pieces[rapid.IntRange(0, n-1).Draw(t, "heavy")].Passes[0].ForceKN = 26000
	case 2:
		in.Work.MismatchUM = 200
	case 3:
		in.Backup.Blocks = []Block{{Why: "held"}}
	}
	return in
}

func freshOf(in Input) Fresh {
	return Fresh{Work: in.Work.AfterGrind(), Intermediate: in.Intermediate.AfterGrind(), Backup: in.Backup.AfterGrind()}
}

// TestPlanAndCheckAgree: whatever the sets, the limits and the practice, what a
// plan may do with the sets in a stand is what the finish check of the same
// moment says at the same confidence. No set stays past a piece at which the
// check says no, none comes out that the check says may stay, and where the check
// is no yes there is a place that must be changed.
func TestPlanAndCheckAgree(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "pieces")
		in := randomStand(t, n)
		in.YesFrom = rapid.SampledFrom([]float64{0.5, 0.8, 0.95, 0.99}).Draw(t, "confidence")
		a, err := Check(in)
		if err != nil {
			t.Fatal(err)
		}
		h, err := Hold(in, freshOf(in), in.YesFrom)
		if err != nil {
			t.Fatal(err)
		}
		stays, out := n, 0
		for _, p := range h.Places {
			stays = min(stays, p.Reach[0])
			out += len(p.Out)
		}
		r, err := newRun(&in, &in.Work, &in.Backup)
		if err != nil {
			t.Fatal(err)
		}
		_, bars := r.checkBeforehand()
		atOnce := 0
		for _, b := range bars {
			if b.piece == 0 {
				atOnce++
			}
		}
		if (out > 0) != (atOnce > 0) {
			t.Fatalf("the plan takes a set out at once for %d reasons, the check is barred for %d", out, atOnce)
		}
		if out == 0 && stays != min(n, a.More.Pieces) {
			t.Fatalf("the plan keeps the sets for %d pieces of %d, the check is sure of %d: %s", stays, n, a.More.Pieces, a.Sentence)
		}
		if (out == 0 && stays == n) != (a.Verdict == Yes) {
			t.Fatalf("the plan keeps the sets for %d pieces of %d, the check says %s: %s", stays, n, a.Verdict, a.Sentence)
		}
		for _, p := range h.Places {
			checkPlace(t, &p, n)
		}
	})
}

// checkPlace holds the reaches of a place to what the planner asks of them.
func checkPlace(t *rapid.T, p *Holding, n int) {
	for l := range n {
		reach := p.Reach[l+1]
		if reach < l || reach > n || l > 0 && reach < p.Reach[l] {
			t.Fatalf("%s: fresh sets reach %v", p.Role, p.Reach)
		}
		if (reach == l) != (p.Alone >= 0 && reach == l) {
			t.Fatalf("%s: piece %d alone is said to be too much: %d", p.Role, l, p.Alone)
		}
	}
	if p.Reach[0] < n && p.Ends(-1) == "" {
		t.Fatalf("%s: the set now in reaches %d of %d and nothing is named that ends it", p.Role, p.Reach[0], n)
	}
	if p.Alone >= 0 && p.AloneWhy == "" {
		t.Fatalf("%s: piece %d alone is too much and nobody says why", p.Role, p.Alone)
	}
}

// TestFreshSetsHoldAsTheCheckSays: a set that goes in later is kept no longer
// than the check would say of it then, with the backup set as it is now and then
// as fresh ones.
func TestFreshSetsHoldAsTheCheckSays(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 40).Draw(t, "pieces")
		in := randomStand(t, n)
		in.Models, in.Work.Blocks, in.Backup.Blocks = nil, nil, nil // a check from a later piece starts its models there
		in.YesFrom = rapid.SampledFrom([]float64{0.5, 0.8, 0.95, 0.99}).Draw(t, "confidence")
		fresh := freshOf(in)
		h, err := Hold(in, fresh, in.YesFrom)
		if err != nil {
			t.Fatal(err)
		}
		work, behind := h.Places[0], h.Places[1:]
		l := rapid.IntRange(0, n-1).Draw(t, "goes in before")
		later := in
		later.FromPiece, later.Work = l+1, fresh.Work
		until := work.Reach[l+1]
		stay := n
		for _, p := range behind {
			stay = min(stay, p.Reach[0])
		}
		if until > stay { // fresh ones all
			later.Intermediate, later.Backup = fresh.Intermediate, fresh.Backup
			for _, p := range behind {
				until = min(until, p.Reach[l+1])
			}
		}
		a, err := Check(later)
		if err != nil {
			t.Fatal(err)
		}
		if a.More.Pieces < until-l {
			t.Fatalf("a set that goes in before piece %d is kept to piece %d, the check is sure of %d: %s", l, until, a.More.Pieces, a.Sentence)
		}
	})
}

// TestEveryLimitEndsAStay: each thing that can end a campaign, alone and half
// used by the programme, ends the stay of a set in the plan at the piece at which
// the check stops being sure, and is named by both.
func TestEveryLimitEndsAStay(t *testing.T) {
	t.Parallel()
	const n = 60
	for _, c := range []struct {
		criterion Criterion
		set       func(*Roll)
	}{
		{"campaign_tonnage", func(r *Roll) { lim(r)[practice.MaxCampaignT] = entered(20*n/2 + 1) }},
		{"campaign_km", func(r *Roll) { lim(r)[practice.MaxCampaignKM] = entered(20) }},
		{"campaign_revolutions", func(r *Roll) { lim(r)[practice.MaxCampaignRevolutions] = entered(9000) }},
		{"same_width_km", func(r *Roll) { lim(r)[practice.MaxSameWidthKM] = entered(5) }},
		{"fire_crack", func(r *Roll) {
			lim(r)[practice.FireCrackUMPerPiece], lim(r)[practice.MaxFireCrackUM] = entered(28), entered(28*n/2+1)
		}},
		{"roughness", func(r *Roll) {
			lim(r)[practice.RoughnessLimitUM], r.Roughness = entered(1.9), wear.Roughness{StartUM: 3, FloorUM: 0.8, ScaleKM: 30}
		}},
		{"wear", func(r *Roll) { lim(r)[practice.MaxWearUM] = entered(100) }},
		{"scrap_diameter", func(r *Roll) { r.ScrapDiameterMM = r.DiameterMM - 0.1 }},
		{"fatigue", func(r *Roll) { lim(r)[practice.MaxDamage] = entered(1e-4) }},
		{"peak_pressure", func(r *Roll) { lim(r)[practice.MaxPeakPressureMPa] = entered(1120) }},
	} {
		t.Run(string(c.criterion), func(t *testing.T) {
			in := input(n)
			in.FromPiece = 1
			mechanics(&in)
			for _, set := range []*Set{&in.Work, &in.Backup} {
				for i := range set.Rolls {
					r := &set.Rolls[i]
					r.Limits, r.ScrapDiameterMM = standing.Given{}, 0
					if set.Role == mill.Work {
						c.set(r)
					}
				}
			}
			a := check(t, in)
			h, err := Hold(in, freshOf(in), in.YesFrom)
			if err != nil {
				t.Fatal(err)
			}
			work := h.Places[0]
			if a.Limiting == nil || a.Limiting.Criterion != c.criterion || a.Verdict == Yes {
				t.Fatalf("the check: %s", a.Sentence)
			}
			if work.Reach[0] != a.More.Pieces || work.Reach[0] == n {
				t.Errorf("the plan keeps the set for %d pieces, the check is sure of %d", work.Reach[0], a.More.Pieces)
			}
			number := in.Work.Rolls[0].Number[:3]
			if said := work.Ends(-1); !strings.Contains(said, number) || !strings.Contains(a.Sentence, said) && a.Limiting.Reached != nil {
				t.Errorf("the plan says %q, the check %q", said, a.Sentence)
			}
			// A set that went in at piece 0 freshly ground is the same set.
			if work.Reach[1] != work.Reach[0] {
				t.Errorf("a fresh set reaches %d, the same set just gone in %d", work.Reach[1], work.Reach[0])
			}
		})
	}
}

// The limits of the issue that a plan forgot: wear since a grind that lies before
// this stay, a contact pressure that is too great, a roughness that is too low
// already. The check says no to each from piece 1, the plan takes the set out
// before it.
func TestWhatAPlanForgot(t *testing.T) {
	t.Parallel()
	for name, spoil := range map[string]func(*Roll){
		"put back without a grind": func(r *Roll) { r.SinceGrind.WearUM = worn(399) },
		"pressure":                 func(r *Roll) { lim(r)[practice.MaxPeakPressureMPa] = entered(700) },
		"roughness": func(r *Roll) {
			lim(r)[practice.RoughnessLimitUM], r.Roughness = entered(2.9), wear.Roughness{StartUM: 2.5, FloorUM: 0.8, ScaleKM: 300}
		},
	} {
		t.Run(name, func(t *testing.T) {
			in := input(30)
			in.FromPiece = 1
			fresh := freshOf(in)
			for _, set := range []*Set{&fresh.Work, &fresh.Backup} {
				for i := range set.Rolls {
					set.Rolls[i].Limits = standing.Given{}
				}
			}
			for i := range in.Work.Rolls {
				spoil(&in.Work.Rolls[i])
			}
			a := check(t, in)
			h, err := Hold(in, fresh, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			if a.More.Pieces != 0 || h.Places[0].Reach[0] != 0 || h.Places[0].Reach[1] != 30 {
				t.Errorf("the check is sure of %d pieces, the plan keeps the set for %d and a fresh one for %d; want 0, 0, 30: %s",
					a.More.Pieces, h.Places[0].Reach[0], h.Places[0].Reach[1], a.Sentence)
			}
		})
	}
}

// BenchmarkHold is the part of a plan that this package does, seven stands of 120
// pieces, loads and all; the check of the same is beside it.
func BenchmarkHold(b *testing.B) {
	in := input(120)
	in.FromPiece = 1
	mechanics(&in)
	in.Models.Coefficients = remembered()
	for i := range in.Work.Rolls {
		lim(in.Work.Rolls[i])[practice.MaxWearUM], lim(in.Work.Rolls[i])[practice.MaxCampaignKM] = entered(120), entered(60)
	}
	fresh := freshOf(in)
	b.Run("hold/7x120", func(b *testing.B) {
		for b.Loop() {
			for range 7 {
				if _, err := Hold(in, fresh, 0.95); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
	b.Run("reach/7x120", func(b *testing.B) {
		h, err := newHolder(&in, &fresh, 0.95)
		if err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			for range 7 {
				h.behind = h.n
				h.behindWork()
				h.work()
			}
		}
	})
	b.Run("check/7x120", func(b *testing.B) {
		for b.Loop() {
			for range 7 {
				if _, err := Check(in); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
}
