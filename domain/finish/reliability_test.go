package finish

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"barrelbook/domain/duty"
	"barrelbook/domain/limit"
	"barrelbook/domain/practice"
	"barrelbook/domain/score"
	"barrelbook/domain/wearrate"
)

// hidden is an invented works whose true rates nobody in it knows. They differ
// by grade, stand and roll; what is believed of them comes from regrinds.
type hidden struct {
	*rand.Rand
	scatter float64 // of a campaign's true wear about rate × exposure, relative
	cells   []hiddenCell
	past    []wearrate.Run
	rates   wearrate.Rates
}

type hiddenCell struct {
	wearrate.Cell
	sets [][2]hiddenRoll
}

type hiddenRoll struct {
	name string
	rate float64 // µm per km at 10 kN/mm
}

// The gauge, the mishaps and the spread of this works.
const (
	trueGaugeUM  = 7.0
	trueMishaps  = 0.05
	trueRollCV   = 0.15
	trueStandCV  = 0.3
	setsOfCell   = 8
	mostLearned  = 12 // campaigns of a set
	leastLearned = -1 // as likely as any other count; it and 0 are none
)

func newHidden(seed uint64, scatter float64) (*hidden, error) {
	h := &hidden{Rand: rand.New(rand.NewPCG(seed, 17)), scatter: scatter}
	for g := range 2 {
		grade := 3.2 * math.Exp(0.4*h.NormFloat64())
		for s := range 4 {
			cell := hiddenCell{Cell: wearrate.Cell{Grade: fmt.Sprint("grade ", g), Stand: fmt.Sprint("F", s+1)}}
			mean := grade * math.Exp(trueStandCV*h.NormFloat64())
			for n := range setsOfCell {
				var set [2]hiddenRoll
				for i := range set {
					set[i] = hiddenRoll{fmt.Sprintf("%d-%d-%d-%d", g, s, n, i), mean * math.Exp(trueRollCV*h.NormFloat64())}
				}
				cell.sets = append(cell.sets, set)
				if s < 3 { // the last stand is new
					h.teach(cell.Cell, set)
				}
			}
			h.cells = append(h.cells, cell)
		}
	}
	var err error
	h.rates, err = wearrate.Learn(h.past, wearrate.StandardDefaults(), nil)
	return h, err
}

// teach rolls and grinds a set a few times.
func (h *hidden) teach(at wearrate.Cell, set [2]hiddenRoll) {
	for range leastLearned + h.IntN(mostLearned-leastLearned+1) {
		km, force := 30+70*h.Float64(), 7+7*h.Float64()
		mishap := h.Float64() < trueMishaps
		for _, roll := range set {
			wear := roll.rate*km*force/10*(1+h.scatter*h.NormFloat64()) + trueGaugeUM*(h.NormFloat64()-h.NormFloat64())
			if mishap {
				wear += 200 + 700*h.ExpFloat64()
			}
			h.past = append(h.past, wearrate.Run{Roll: roll.name, Cell: at, RolledKM: km, SpecificForceKNPerMM: force, WearUM: wear})
		}
	}
}

// trial is one question about one set, and what came of it.
type trial struct {
	in   Input
	from wearrate.Source // of its rates
	ends bool
}

// ask makes up a question: a programme of which a part is rolled, limits that
// are anything from sure to hopeless by what is believed, and lets the rest be
// rolled with true rates, lengths and forces.
func (h *hidden) ask(cell hiddenCell, set [2]hiddenRoll) (trial, error) {
	in := input(10 + h.IntN(20))
	in.FromPiece = 1 + h.IntN(len(in.Pieces)/2)
	in.YesFrom, in.NoBelow = 0, 0 // no remedies: they are another question
	for i := range in.Backup.Rolls {
		delete(lim(in.Backup.Rolls[i]), practice.MaxPeakPressureMPa)
	}
	one := trial{in: in}

	measured := math.Exp(limit.LogSD(in.ForceCV) * h.NormFloat64())
	length, force := math.Exp(limit.LogSD(in.LengthCV)*h.NormFloat64()), math.Exp(limit.LogSD(in.ForceCV)*h.NormFloat64())
	before, err := perUnit(&in, 0, in.FromPiece-1, measured)
	if err != nil {
		return one, err
	}
	planned, err := perUnit(&in, in.FromPiece-1, len(in.Pieces), 1)
	if err != nil {
		return one, err
	}
	actual, err := perUnit(&in, in.FromPiece-1, len(in.Pieces), force)
	if err != nil {
		return one, err
	}

	greatest, doubt := 0.0, 0.0
	rolls := one.in.Work.Rolls
	for i := range rolls {
		p, err := h.rates.Predict(wearrate.Next{Roll: set[i].name, Cell: cell.Cell})
		if err != nil {
			return one, err
		}
		r := &rolls[i]
		r.Rate.UmPerKmAt10 = p.RateUMPerKM
		r.SharedCV, r.OwnCV = p.SharedSD/p.RateUMPerKM, math.Hypot(p.OwnSD/p.RateUMPerKM, p.ScatterCV)
		r.Stay, r.SinceGrind.WearUM = before, times(before.WearUM, p.RateUMPerKM)
		r.ScrapDiameterMM = 0
		one.from = p.Source
		greatest = max(greatest, p.RateUMPerKM*deepest(before.WearUM, planned.WearUM, 1))
		doubt = max(doubt, math.Hypot(math.Hypot(r.SharedCV, r.OwnCV), 0.04))
	}
	wearLimit := greatest * math.Exp(doubt*(0.3+2*(2*h.Float64()-1)))
	kmLimit, mpaLimit := math.Inf(1), math.Inf(1)
	if h.Float64() < 0.3 {
		kmLimit = before.RolledKM + planned.RolledKM*math.Exp(limit.LogSD(in.LengthCV)*(2.5*h.Float64()-0.5))
	}
	if h.Float64() < 0.3 {
		mpaLimit = planned.MaxPeakPressureMPa * math.Exp(limit.LogSD(in.ForceCV)/2*(2.5*h.Float64()-0.5))
	}
	one.ends = before.RolledKM+length*actual.RolledKM <= kmLimit && actual.MaxPeakPressureMPa <= mpaLimit
	for i := range rolls {
		lim(rolls[i])[practice.MaxWearUM] = entered(wearLimit)
		if !math.IsInf(kmLimit, 1) {
			lim(rolls[i])[practice.MaxCampaignKM] = entered(kmLimit)
		}
		if !math.IsInf(mpaLimit, 1) {
			lim(rolls[i])[practice.MaxPeakPressureMPa] = entered(mpaLimit)
		}
		rate := set[i].rate * (1 + h.scatter*h.NormFloat64())
		one.ends = one.ends && rate*deepest(before.WearUM, actual.WearUM, length) <= wearLimit
	}
	return one, nil
}

// perUnit is what pieces from up to but not to do to the top work roll at a rate
// of 1 µm per km, every force off by the factor: package duty, none of finish.
func perUnit(in *Input, from, to int, force float64) (duty.Usage, error) {
	var bodies []duty.Roll
	for _, set := range []Set{in.Work, in.Backup} {
		for _, r := range set.Rolls {
			r.Rate.UmPerKmAt10 = 1
			bodies = append(bodies, r.Roll)
		}
	}
	var sum duty.Usage
	stand, err := duty.NewStand(in.Stand, in.DensityKGPerM3, bodies)
	for _, p := range in.Pieces[from:to] {
		if err != nil {
			break
		}
		p.Passes = append(p.Passes[:0:0], p.Passes...)
		p.Passes[0].ForceKN *= force
		var load duty.Load
		if load, err = stand.Take(p, 0); err == nil {
			sum.Add(load.Rolls[0])
		}
	}
	return sum, err
}

func deepest(worn, added []float64, factor float64) float64 {
	most := 0.0
	for x := range added {
		so := factor * added[x]
		if worn != nil {
			so += worn[x]
		}
		most = max(most, so)
	}
	return most
}

// TestProbabilityIsReliable asks of many hidden works whether sets finish, with
// rates that noisy regrinds taught, and counts how many did: of the answers of
// each tenth of the scale that has 200, as many finish as was said, to within
// 0.05 and what chance allows a count (two binomial standard errors).
func TestProbabilityIsReliable(t *testing.T) {
	t.Parallel()
	for name, scatter := range map[string]float64{"wear follows the rate": 0, "campaigns scatter by 5 %": 0.05} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			all := map[wearrate.Source][]score.Chance{}
			for seed := range uint64(works) {
				askAll(t, seed, scatter, all)
			}
			var together []score.Chance
			for _, from := range []wearrate.Source{wearrate.FromRoll, wearrate.FromCell, wearrate.FromGrade} {
				s := reliability(t, "rates of the "+string(from), all[from], math.MaxInt)
				if s.Count < 100 {
					t.Errorf("only %d answers rest on the rate of the %s", s.Count, from)
				}
				together = append(together, all[from]...)
			}
			s := reliability(t, "all", together, 200)
			if s.Count < 3000 {
				t.Errorf("%d answers, want 3000", s.Count)
			}
			for _, tenth := range s.Tenths {
				if tenth.Count < 200 {
					t.Errorf("only %d answers from %.1f to %.1f", tenth.Count, tenth.From, tenth.To)
				}
			}
			if s.Brier >= s.BrierOfBaseRate*0.75 {
				t.Errorf("Brier score %.3f, saying the base rate every time scores %.3f", s.Brier, s.BrierOfBaseRate)
			}
		})
	}
}

// works is how many are simulated, of 64 sets each.
const works = 60

func askAll(t *testing.T, seed uint64, scatter float64, all map[wearrate.Source][]score.Chance) {
	t.Helper()
	h, err := newHidden(seed, scatter)
	if err != nil {
		t.Fatal(err)
	}
	for _, cell := range h.cells {
		for _, set := range cell.sets {
			one, err := h.ask(cell, set)
			if err != nil {
				t.Fatal(err)
			}
			a, err := Check(one.in)
			if err != nil {
				t.Fatal(err)
			}
			if a.Verdict == Blocked {
				t.Fatal(a.Sentence)
			}
			all[one.from] = append(all[one.from], score.Chance{Probability: a.Probability, Happened: one.ends})
		}
	}
}

// reliability prints the table and holds each tenth of so many answers to 0.05.
func reliability(t *testing.T, of string, list []score.Chance, enough int) score.ChanceScore {
	t.Helper()
	s, err := score.Chances(list)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s: %d answers, Brier score %.4f, base rate %.3f", of, s.Count, s.Brier, s.BaseRate)
	for _, tenth := range s.Tenths {
		if tenth.Count == 0 {
			continue
		}
		said, n := tenth.MeanProbability, float64(tenth.Count)
		came, se := float64(tenth.Happened)/n, math.Sqrt(said*(1-said)/n)
		t.Logf("%.1f to %.1f: %4d said %.3f, came true %.3f, off %+.3f ± %.3f", tenth.From, tenth.To, tenth.Count, said, came, came-said, se)
		if tenth.Count >= enough && math.Abs(came-said) > 0.05+2*se {
			t.Errorf("from %.1f to %.1f: of %d answers %.3f came true, %.3f were said", tenth.From, tenth.To, tenth.Count, came, said)
		}
	}
	return s
}
