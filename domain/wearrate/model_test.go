package wearrate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
)

// crossed is a simulated works whose parts are known.
type crossed struct {
	grades, stands, sets, campaigns int // sets per grade and stand, campaigns per set
	roll, shared, own, cell, gauge  float64
	perTen, fresh, force            float64
	mixed                           bool // sets are built anew now and then, and go to other stands
	incidents                       float64
	trouble                         func(stand, campaign int) float64 // on the logarithm
}

func (w crossed) simulate(seed uint64) (all []Campaign, rolls map[string]float64) {
	r := rand.New(rand.NewPCG(seed, 77))
	rolls = map[string]float64{}
	at := time.Date(2031, 1, 1, 0, 0, 0, 0, time.UTC)
	level := make([][]float64, w.grades)
	var names [][][]string
	for g := range w.grades {
		names = append(names, nil)
		for s := range w.stands {
			level[g] = append(level[g], math.Log(3)+0.3*float64(g)+w.cell*r.NormFloat64())
			names[g] = append(names[g], nil)
			for n := range 2 * w.sets {
				name := fmt.Sprintf("%d-%d-%02d", g, s, n)
				names[g][s] = append(names[g][s], name)
				rolls[name] = w.roll * r.NormFloat64()
			}
		}
	}
	count := make([]int, w.stands)
	diameter := map[string]float64{}
	for c := range w.campaigns {
		for g := range w.grades {
			for s := range w.stands {
				if w.mixed && c%7 == 6 {
					r.Shuffle(len(names[g][s]), func(i, j int) { names[g][s][i], names[g][s][j] = names[g][s][j], names[g][s][i] })
				}
				for n := range w.sets {
					in := s
					if w.mixed && c%3 == 2 {
						in = (s + 1) % w.stands
					}
					at = at.Add(3 * time.Hour)
					one := w.shared * r.NormFloat64()
					if w.trouble != nil {
						one += w.trouble(in, count[in])
					}
					count[in]++
					km, force := 20+70*r.Float64(), 7+7*r.Float64()
					for _, name := range names[g][s][2*n : 2*n+2] {
						if diameter[name] == 0 {
							diameter[name] = 660 + 60*r.Float64()
						}
						eta := level[g][in] + rolls[name] + one + w.own*r.NormFloat64() + w.perTen*(690-diameter[name])/10 + w.fresh*(freshness(km)-0.15) + w.force*math.Log(force/10)
						wear := math.Exp(eta)*km*force/10 + w.gauge*r.NormFloat64()
						if r.Float64() < w.incidents {
							wear += 200 + 700*r.ExpFloat64()
						}
						all = append(all, Campaign{Run: Run{Roll: name, Cell: Cell{Grade: fmt.Sprint("g", g), Stand: fmt.Sprint("F", in+1)}, RolledKM: km, SpecificForceKNPerMM: force, WearUM: wear},
							Set: at.String(), EndedAt: at, DiameterMM: diameter[name]})
						diameter[name] -= 0.3
					}
				}
			}
		}
	}
	return all, rolls
}

var plainWorks = crossed{grades: 2, stands: 3, sets: 4, campaigns: 12, roll: 0.12, shared: 0.07, own: 0.04, cell: 0.3, gauge: 11, incidents: 0.04}

func learnModel(t testing.TB, all []Campaign) *Model {
	t.Helper()
	m, err := LearnModel(all, StandardDefaults(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestEqualsTheDenseSolution solves the same linear model with every effect, roll
// and campaign as an unknown of one dense system.
func TestEqualsTheDenseSolution(t *testing.T) {
	for _, mixed := range []bool{false, true} {
		w := plainWorks
		w.campaigns, w.mixed, w.perTen = 8, mixed, 0.03
		w.trouble = func(stand, campaign int) float64 {
			if stand == 1 && campaign > 30 {
				return 0.35
			}
			return 0
		}
		all, _ := w.simulate(4)
		m := learnModel(t, all)
		if len(m.stands[1].jumps) == 0 {
			t.Error("no jump to be held against the dense solution")
		}
		checkDense(t, m)
		// The same after one roll at a time has been taken in.
		for _, roll := range []string{"0-0-00", "1-2-03"} {
			var own []Campaign
			for _, c := range all {
				if c.Roll == roll {
					own = append(own, c)
				}
			}
			if err := m.Replace(roll, own[:len(own)-1], nil); err != nil {
				t.Fatal(err)
			}
			checkDense(t, m)
			if err := m.Replace(roll, own, nil); err != nil {
				t.Fatal(err)
			}
			checkDense(t, m)
		}
	}
}

func checkDense(t *testing.T, m *Model) {
	t.Helper()
	k, n := len(m.effects), len(m.names)
	sets := map[string]int{}
	for _, c := range m.clusters {
		for i, o := range c.observations {
			if o.set == "" {
				t.Fatal("a campaign without a set", i)
			}
			if _, ok := sets[o.set]; !ok {
				sets[o.set] = len(sets)
			}
		}
	}
	size := k + n + len(sets)
	a, b := mat.NewSymDense(size, nil), mat.NewVecDense(size, nil)
	for i, e := range m.effects {
		mean, variance := m.prior(e)
		a.SetSym(i, i, 1/variance)
		b.SetVec(i, mean/variance)
	}
	for i := range n {
		a.SetSym(k+i, k+i, 1/(m.parts.RollSD*m.parts.RollSD))
	}
	for i := range len(sets) {
		a.SetSym(k+n+i, k+n+i, 1/(m.parts.CampaignSD*m.parts.CampaignSD))
	}
	for _, c := range m.clusters {
		for i := range c.observations {
			o := &c.observations[i]
			row := append(m.terms(o, nil), term{k + o.roll, 1}, term{k + n + sets[o.set], 1})
			for _, p := range row {
				b.SetVec(p.effect, b.AtVec(p.effect)+o.precision*p.times*o.z)
				for _, q := range row {
					if p.effect <= q.effect {
						a.SetSym(p.effect, q.effect, a.At(p.effect, q.effect)+o.precision*p.times*q.times)
					}
				}
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		t.Fatal("the dense system is not positive definite")
	}
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, b); err != nil {
		t.Fatal(err)
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want float64) {
		if math.Abs(got-want) > 1e-8*(1+math.Abs(want)) {
			t.Fatalf("%s: %.12g, dense %.12g", what, got, want)
		}
	}
	for i := range k {
		near(fmt.Sprint("effect ", i), m.mean[i], x.AtVec(i))
		near(fmt.Sprint("variance of effect ", i), m.variance.At(i, i), inverse.At(i, i))
	}
	for _, c := range m.clusters {
		for i, roll := range c.rolls {
			near(m.names[roll], c.own(i, m.mean), x.AtVec(k+roll))
			if len(c.observations) == 0 {
				continue
			}
			terms := m.terms(&c.observations[0], nil)
			shared, own := m.withRoll(c, i, terms)
			h := mat.NewVecDense(size, nil)
			for _, e := range terms {
				h.SetVec(e.effect, e.times)
			}
			h.SetVec(k+roll, 1)
			near("variance of the rate of "+m.names[roll], shared+own, mat.Inner(h, &inverse, h))
		}
	}
}

// TestComponentsAreFound over ten works each: what a part of the rate lies apart is
// found, and is found to be nothing where it is.
func TestComponentsAreFound(t *testing.T) {
	change := func(f func(*crossed)) crossed { w := plainWorks; w.campaigns = 20; f(&w); return w }
	for name, w := range map[string]crossed{
		"all":                 change(func(*crossed) {}),
		"rolls alike":         change(func(w *crossed) { w.roll = 0 }),
		"nothing shared":      change(func(w *crossed) { w.shared = 0 }),
		"nothing of its own":  change(func(w *crossed) { w.own = 0 }),
		"drift with diameter": change(func(w *crossed) { w.perTen = 0.04 }),
		"fresh rolls":         change(func(w *crossed) { w.fresh = 0.4 }),
		"exponent of 0.8":     change(func(w *crossed) { w.force = -0.2 }),
	} {
		var roll, shared, own, perTen, fresh, force float64
		const seeds = 4
		for seed := range uint64(seeds) {
			all, _ := w.simulate(seed)
			m := learnModel(t, all)
			r := m.Rates()
			roll += m.parts.RollSD / seeds
			shared += m.parts.CampaignSD / seeds
			own += m.parts.OwnSD / seeds
			for _, g := range r.Grades {
				perTen += g.PerTenMM / seeds / float64(len(r.Grades))
				fresh += g.FreshMore / seeds / float64(len(r.Grades))
				force += g.ForceMore / seeds / float64(len(r.Grades))
			}
		}
		t.Logf("%s: roll %.3f, campaign %.3f, own %.3f, per 10 mm %.3f, fresh %.3f, force %.3f", name, roll, shared, own, perTen, fresh, force)
		for what, v := range map[string][3]float64{"roll": {roll, w.roll, 0.02}, "campaign": {shared, w.shared, 0.018}, "own": {own, w.own, 0.018},
			"per 10 mm": {perTen, w.perTen, 0.01}, "fresh": {fresh, w.fresh, 0.12}, "force": {force, w.force, 0.04}} {
			if math.Abs(v[0]-v[1]) > v[2] {
				t.Errorf("%s: %s %.3f, it is %.3f", name, what, v[0], v[1])
			}
		}
	}
}

// TestReplaceIsCloseToLearningAllAgain takes the last campaign of every roll in one
// by one.
func TestReplaceIsCloseToLearningAllAgain(t *testing.T) {
	all, _ := plainWorks.simulate(2)
	perRoll := map[string][]Campaign{}
	for _, c := range all {
		perRoll[c.Roll] = append(perRoll[c.Roll], c)
	}
	var before []Campaign
	for _, list := range perRoll {
		before = append(before, list[:len(list)-1]...)
	}
	m, full := learnModel(t, before), learnModel(t, all)
	for _, roll := range slices.Sorted(func(yield func(string) bool) {
		for name := range perRoll {
			if !yield(name) {
				return
			}
		}
	}) {
		if err := m.Replace(roll, perRoll[roll], nil); err != nil {
			t.Fatal(err)
		}
	}
	quick, anew := m.Rates(), full.Rates()
	for i := range anew.Rolls {
		a, b := quick.Rolls[i], anew.Rolls[i]
		if a.Roll != b.Roll || a.Campaigns != b.Campaigns || math.Abs(a.RateUMPerKM-b.RateUMPerKM) > 0.35*b.RateSD {
			t.Errorf("%+v, learned anew %+v", a, b)
		}
	}
}
