package finish

import (
	"fmt"
	"math"

	"barrelbook/domain/duty"
	"barrelbook/domain/mill"
	"barrelbook/domain/standgeometry"
)

// run is one pair of sets taken through the programme at the planned figures,
// piece by piece. Whatever part of the programme is asked about afterwards is a
// matter of sums and differences.
type run struct {
	in           *Input
	work, backup *Set
	rolls        []*Roll
	pieces       []mill.Piece // from the first one asked about
	n            int

	// Sums after i pieces, i from 0 to n.
	tonnes, km []float64
	through    []float64     // pieces that went through the stand
	grooveT    [][]float64   // tonnes per groove, from groove 1
	wear       []profileSums // per roll
	tired      []tired       // per roll
	// Per piece.
	margin               []held
	pressure, force      []float64
	fastest, slowest     []float64 // rpm, 0 where no speed is known
	forceless, speedless int
	predicted            int      // passes whose force is predicted
	predictedKN          float64  // the greatest of them
	misfit               []string // why a piece does not go through, per piece, nil where all do

	// restrict scales every force of the programme; 1 as planned.
	restrict float64
	risk     risk
	scratch  usage
}

// profileSums are sums of wear along the barrel after i pieces, µm.
type profileSums struct {
	stations int
	sums     []float64 // (n+1)·stations
	scale    float64   // of the sums, which rolls of one shape may share
}

func (p profileSums) after(i int) []float64 { return p.sums[i*p.stations : (i+1)*p.stations] }

// newRun loads the rolls with the pieces. It fails only on figures that no
// stand could have; what cannot go through is kept as a misfit.
func newRun(in *Input, work, backup *Set) (*run, error) {
	r := emptyRun(in, work, backup)
	bodies := make([]duty.Roll, len(r.rolls))
	for j, roll := range r.rolls {
		bodies[j] = roll.Roll
	}
	stand, err := duty.NewStand(in.Stand, in.DensityKGPerM3, bodies)
	if err != nil {
		return nil, err
	}
	var conditions []*duty.Condition
	if in.Models != nil {
		conditions = r.useModels(stand)
	}
	if err := r.load(stand); err != nil {
		return nil, err
	}
	stand.Settle()
	r.layDamage(conditions)
	return r, nil
}

func emptyRun(in *Input, work, backup *Set) *run {
	pieces := in.Pieces[in.FromPiece-1:]
	n := len(pieces)
	r := &run{in: in, work: work, backup: backup, pieces: pieces, n: n, restrict: 1,
		tonnes: make([]float64, n+1), km: make([]float64, n+1), through: make([]float64, n+1),
		pressure: make([]float64, n), force: make([]float64, n), fastest: make([]float64, n), slowest: make([]float64, n)}
	for _, set := range []*Set{work, backup} {
		for i := range set.Rolls {
			r.rolls = append(r.rolls, &set.Rolls[i])
		}
	}
	r.wear, r.tired, r.margin = make([]profileSums, len(r.rolls)), make([]tired, len(r.rolls)), make([]held, n)
	r.assess()
	return r
}

// load takes every pass of every piece through the models.
func (r *run) load(stand *duty.Stand) error {
	gap := 0.0 // minutes without rolling before the piece
	for i, p := range r.pieces {
		r.tonnes[i+1], r.km[i+1], r.through[i+1] = r.tonnes[i], r.km[i], r.through[i]
		for _, w := range r.wear {
			if w.sums != nil {
				copy(w.after(i+1), w.after(i))
			}
		}
		if stop := r.stopBefore(i); stop != nil {
			gap += stop.Minutes
		}
		stand.Rest(gap)
		gap = r.in.MinutesPerPiece
		for k, pass := range p.Passes {
			if pass.Stand != r.in.Stand.Name {
				continue
			}
			if why := stand.Unfit(p, k); why != "" {
				r.misses(i, why)
				continue
			}
			load, err := stand.Take(p, k)
			if err != nil {
				return fmt.Errorf("piece %s: %w", p.ID, err)
			}
			r.book(i, load)
			r.turn(i, p, k)
			r.force[i] = max(r.force[i], pass.ForceKN)
			switch {
			case load.Predicted:
				r.predicted++
				r.predictedKN = max(r.predictedKN, load.ForceKN)
			case pass.ForceKN == 0:
				r.forceless++
			}
			if len(load.Rolls) > 0 {
				gap -= duty.RollingMin(pass, load.Rolls[0].RolledKM)
			}
		}
	}
	r.sumGrooves()
	return nil
}

// book adds what a pass did to the sums.
func (r *run) book(i int, load duty.Load) {
	if len(load.Rolls) == 0 {
		return
	}
	r.tonnes[i+1] += load.Rolls[0].TonnageT
	r.km[i+1] += load.Rolls[0].RolledKM
	r.through[i+1] += float64(load.Rolls[0].Pieces)
	r.bookGrooves(i, load)
	r.tire(i, load)
	r.holdOut(i, load)
	for j, u := range load.Rolls {
		r.pressure[i] = max(r.pressure[i], u.MaxPeakPressureMPa)
		if u.WearUM == nil {
			continue
		}
		w := &r.wear[j]
		if w.sums == nil {
			w.stations = len(u.WearUM)
			w.sums, w.scale = make([]float64, (r.n+1)*w.stations), 1
		}
		into := w.after(i + 1)
		for x, um := range u.WearUM {
			into[x] += um
		}
	}
}

// turn notes how fast the work rolls turn in pass k of piece i. A pass without
// a speed gets it from another of the piece, by mass flow; worn diameters are
// left out, a tenth of a millimetre in hundreds.
func (r *run) turn(i int, p mill.Piece, k int) {
	pass := p.Passes[k]
	speed := pass.SpeedMPerS
	for other := len(p.Passes) - 1; other >= 0 && speed == 0 && !r.in.Stand.Reversing; other-- {
		o := p.Passes[other]
		speed = o.SpeedMPerS * o.ExitThicknessMM * o.WidthMM / (pass.ExitThicknessMM * pass.WidthMM)
	}
	if speed == 0 {
		r.speedless++
		return
	}
	for _, roll := range r.work.Rolls {
		rpm := standgeometry.RPM(speed, roll.WorkingDiameterMM(pass.Groove))
		r.fastest[i] = max(r.fastest[i], rpm)
		if r.slowest[i] == 0 || rpm < r.slowest[i] {
			r.slowest[i] = rpm
		}
	}
}

func (r *run) misses(i int, why string) {
	if r.misfit == nil {
		r.misfit = make([]string, r.n)
	}
	r.misfit[i] = why
}

// span is a stretch of the programme, pieces from up to but not to, rolled so
// many times.
type span struct {
	from, to int
	times    float64
}

// usage is what a part of the programme adds to the rolls at the planned
// figures.
type usage struct {
	tonnes, km      float64
	pieces          float64
	groove          []float64   // tonnes per groove, from groove 1
	pressure, force float64     // greatest
	wear            [][]float64 // per roll, nil where none is known
	lines           [][]line    // per roll
	tired           []float64   // per roll, share of the whole programme's fatigue
}

// line is the wear at one station: worn so far and added.
type line struct{ worn, added float64 }

// gather adds up spans. The slices belong to the run and are overwritten by
// the next call.
func (r *run) gather(spans ...span) *usage {
	u := &r.scratch
	if u.wear == nil {
		u.wear, u.lines, u.tired = make([][]float64, len(r.rolls)), make([][]line, len(r.rolls)), make([]float64, len(r.rolls))
		for j, w := range r.wear {
			if w.sums != nil {
				u.wear[j] = make([]float64, w.stations)
			}
		}
	}
	u.tonnes, u.km, u.pressure, u.force, u.pieces = 0, 0, 0, 0, 0
	if len(u.groove) != len(r.grooveT) {
		u.groove = make([]float64, len(r.grooveT))
	}
	clear(u.groove)
	clear(u.tired)
	for _, w := range u.wear {
		clear(w)
	}
	for _, s := range spans {
		if s.times == 0 || s.to <= s.from {
			continue
		}
		u.tonnes += s.times * (r.tonnes[s.to] - r.tonnes[s.from])
		u.km += s.times * (r.km[s.to] - r.km[s.from])
		u.pieces += s.times * (r.through[s.to] - r.through[s.from])
		for j := range u.tired {
			if share := r.tired[j].share; share != nil {
				u.tired[j] += s.times * r.tireScale(j) * (share[s.to] - share[s.from])
			}
		}
		for g, sums := range r.grooveT {
			u.groove[g] += s.times * (sums[s.to] - sums[s.from])
		}
		for i := s.from; i < s.to; i++ {
			u.pressure, u.force = max(u.pressure, r.pressure[i]), max(u.force, r.force[i])
		}
		for j, into := range u.wear {
			if into == nil {
				continue
			}
			before, after := r.wear[j].after(s.from), r.wear[j].after(s.to)
			scale := s.times * r.wear[j].scale * r.wearScale(j)
			for x := range into {
				into[x] += scale * (after[x] - before[x])
			}
		}
	}
	u.pressure *= math.Sqrt(r.restrict)
	u.force *= r.restrict
	for j := range u.lines {
		u.lines[j] = deepLines(u.lines[j][:0], r.rolls[j].WornUM, u.wear[j])
	}
	return u
}

// deepLines lists the stations that may be the deepest for some share of the
// added wear: those of most wear so far and of most added, and any that has more
// so far than the latter and adds more than the former.
func deepLines(lines []line, worn, added []float64) []line {
	at := func(x int) line {
		l := line{}
		if x < len(worn) && (len(worn) == len(added) || added == nil) {
			l.worn = worn[x]
		}
		if added != nil {
			l.added = added[x]
		}
		return l
	}
	stations := len(added)
	if added == nil {
		stations = len(worn)
	}
	if stations == 0 {
		return lines
	}
	mostWorn, mostAdded := at(0), at(0)
	for x := 1; x < stations; x++ {
		l := at(x)
		if l.worn > mostWorn.worn || l.worn == mostWorn.worn && l.added > mostWorn.added {
			mostWorn = l
		}
		if l.added > mostAdded.added || l.added == mostAdded.added && l.worn > mostAdded.worn {
			mostAdded = l
		}
	}
	lines = append(lines, mostAdded)
	if mostWorn != mostAdded {
		lines = append(lines, mostWorn)
	}
	for x := range stations {
		if l := at(x); l.worn > mostAdded.worn && l.added > mostWorn.added {
			lines = append(lines, l)
		}
	}
	return lines
}

// tireScale is what a restricted force makes of the fatigue of roll j.
func (r *run) tireScale(j int) float64 {
	if r.restrict == 1 {
		return r.tired[j].scale
	}
	return r.tired[j].scale * math.Pow(r.restrict, r.risk.halfM)
}

// wearScale is what a restricted force makes of the wear of roll j.
func (r *run) wearScale(j int) float64 {
	if r.restrict == 1 {
		return 1
	}
	return math.Pow(r.restrict, r.rolls[j].exponent())
}

func (r *Roll) exponent() float64 {
	if r.Rate.Exponent == 0 {
		return 1
	}
	return r.Rate.Exponent
}

// first are the spans of the first m pieces, the programme over again once it
// is through.
func (r *run) first(m int) []span {
	return []span{{0, r.n, float64(m / r.n)}, {0, m % r.n, 1}}
}
