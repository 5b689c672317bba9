package finish

import (
	"math"
	"math/rand/v2"
	"testing"

	"barrelbook/domain/limit"
	"barrelbook/domain/practice"
)

// TestProbabilityAgainstMonteCarlo draws the factors of the model a million
// times and counts: the independent way to the same probability. Each case lies
// within 3 standard errors of the count, plus 1e-5 for the bivariate rule.
func TestProbabilityAgainstMonteCarlo(t *testing.T) {
	t.Parallel()
	type spreads struct{ shared, own, length, force float64 }
	cases := []struct {
		name           string
		pieces         int
		s              spreads
		km, t, mpa     float64
		worn, exponent float64
		damage         float64 // limit as a multiple of what is expected; 0 for none
	}{
		{"only wear", 200, spreads{0.1, 0.1, 0.03, 0.05}, 0, 0, 0, 0, 1, 0},
		{"only wear, one shared rate", 190, spreads{0.15, 0, 0.03, 0.05}, 0, 0, 0, 0, 1, 0},
		{"only wear, own rates", 190, spreads{0, 0.15, 0.03, 0.05}, 0, 0, 0, 0, 1, 0},
		{"sharp rates, doubtful plan", 200, spreads{0.01, 0.01, 0.2, 0.2}, 0, 0, 0, 0, 1, 0},
		{"rates known", 205, spreads{0, 0, 0.05, 0.05}, 0, 0, 0, 0, 1, 0},
		{"plan known", 200, spreads{0.1, 0.1, 0, 0}, 0, 0, 0, 0, 1, 0},
		{"worn before", 150, spreads{0.1, 0.1, 0.03, 0.05}, 0, 0, 0, 100, 1, 0},
		{"worn before at one side", 150, spreads{0.1, 0.1, 0.1, 0.1}, 0, 0, 0, -100, 1, 0},
		{"with kilometres", 180, spreads{0.1, 0.1, 0.05, 0.05}, 118, 0, 0, 0, 1, 0},
		{"with kilometres that end it", 200, spreads{0.1, 0.1, 0.05, 0.05}, 128, 0, 0, 0, 1, 0},
		{"kilometres far off", 170, spreads{0.1, 0.1, 0.05, 0.05}, 500, 0, 0, 0, 1, 0},
		{"with pressure", 180, spreads{0.1, 0.1, 0.05, 0.1}, 0, 0, 1220, 0, 1, 0},
		{"all three", 190, spreads{0.1, 0.1, 0.05, 0.1}, 125, 0, 1220, 50, 1, 0},
		{"all three, steep force", 190, spreads{0.05, 0.1, 0.05, 0.1}, 125, 0, 1240, 0, 1.5, 0},
		{"low exponent", 190, spreads{0.1, 0.1, 0.1, 0.2}, 0, 0, 0, 0, 0.6, 0},
		{"wide rates", 120, spreads{0.5, 0.5, 0.03, 0.05}, 0, 0, 0, 0, 1, 0},
		{"wide shared, narrow own", 160, spreads{0.4, 0.05, 0.03, 0.05}, 0, 0, 0, 0, 1, 0},
		{"tonnes within", 190, spreads{0.1, 0.1, 0.03, 0.05}, 0, 3800, 0, 0, 1, 0},
		{"all three, hardly a doubt of length", 190, spreads{0.1, 0.1, 0.002, 0.3}, 122, 0, 1220, 50, 1, 0},
		{"only fatigue", 60, spreads{0.1, 0.1, 0.03, 0.05}, 0, 0, 0, 0, 1, 1.1},
		{"fatigue and wear", 195, spreads{0.1, 0.1, 0.05, 0.05}, 0, 0, 0, 0, 1, 1.15},
		{"fatigue, wear, length and pressure", 190, spreads{0.1, 0.1, 0.05, 0.08}, 122, 0, 1350, 50, 1, 1.3},
		{"fatigue, plan's length known", 190, spreads{0.1, 0.1, 0, 0.08}, 0, 0, 0, 0, 1, 1.1},
		{"fatigue, plan's force known", 190, spreads{0.1, 0.1, 0.05, 0}, 0, 0, 0, 0, 1, 1.02},
		{"hardly a risk", 130, spreads{0.1, 0.1, 0.03, 0.05}, 0, 0, 0, 0, 1, 0},
		{"hardly a chance", 250, spreads{0.1, 0.1, 0.03, 0.05}, 0, 0, 0, 0, 1, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			in := input(c.pieces)
			in.FromPiece, in.LengthCV, in.ForceCV = 1, c.s.length, c.s.force
			for i := range in.Work.Rolls {
				roll := &in.Work.Rolls[i]
				roll.SharedCV, roll.OwnCV, roll.Rate.Exponent = c.s.shared, c.s.own, c.exponent
				if c.km > 0 {
					lim(roll)[practice.MaxCampaignKM] = entered(c.km)
				}
				if c.t > 0 {
					lim(roll)[practice.MaxCampaignT] = entered(c.t)
				}
				roll.SinceGrind.WearUM = worn(c.worn)
			}
			if c.mpa > 0 {
				lim(in.Backup.Rolls[0])[practice.MaxPeakPressureMPa] = entered(c.mpa)
			}
			if c.damage > 0 {
				mechanics(&in)
			}
			r, err := newRun(&in, &in.Work, &in.Backup)
			if err != nil {
				t.Fatal(err)
			}
			if c.damage > 0 {
				lim(in.Work.Rolls[0])[practice.MaxDamage] = entered(c.damage * useOf(r, 0, "fatigue"))
				r.watch()
			}
			got := r.probability(r.all())
			const draws = 1_000_000
			want := count(r, draws) / draws
			tolerance := 3*math.Sqrt(max(want*(1-want), 1e-6)/draws) + 1e-5
			if math.Abs(got-want) > tolerance {
				t.Errorf("P = %.6f, of %d draws %.6f finish, off by more than %.6f", got, draws, want, tolerance)
			}
		})
	}
}

// worn is an even wear, or one that rises towards one end where um is negative.
func worn(um float64) []float64 {
	if um == 0 {
		return nil
	}
	w := make([]float64, 41)
	for i := range w {
		w[i] = math.Abs(um)
		if um < 0 {
			w[i] *= float64(i) / 20
		}
	}
	return w
}

// useOf is what roll j is expected to use of a limit in the programme.
func useOf(r *run, j int, c Criterion) float64 {
	for i := range r.watches {
		if w := &r.watches[i]; w.Roll == j && w.Criterion == c {
			return limit.Greatest(w.Growth.Lines(nil, r.first(r.n)), 1)
		}
	}
	return math.NaN()
}

// count draws the factors and counts the programmes that pass no limit, from
// the lines of the watches but none of the probabilities.
func count(r *run, draws int) float64 {
	rng := rand.New(rand.NewPCG(1, 2))
	lengthSD, forceSD := limit.LogSD(r.in.LengthCV), limit.LogSD(r.in.ForceCV)
	lines := make([][]limit.Line, len(r.watches))
	for i := range r.watches {
		lines[i] = r.watches[i].Growth.Lines(nil, r.first(r.n))
	}
	finished := 0.0
	for range draws {
		e, f := lengthSD*rng.NormFloat64(), forceSD*rng.NormFloat64()
		shared := [2]float64{rng.NormFloat64(), rng.NormFloat64()}
		var rate [4]float64
		for j, roll := range r.rolls() {
			s, own := wearSpread(roll)
			rate[j] = math.Exp(s*shared[j/2] + own*rng.NormFloat64())
		}
		ok := true
		for i := range r.watches {
			w := &r.watches[i]
			use := limit.Greatest(lines[i], math.Exp(w.Spread.Length*e+w.Spread.Force*f))
			if w.Spread.Rate {
				use *= rate[w.Roll]
			}
			ok = ok && use <= w.Bound
		}
		if ok {
			finished++
		}
	}
	return finished
}
