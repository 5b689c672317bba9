package finish

import (
	"fmt"
	"math"

	"barrelbook/domain/duty"
	"barrelbook/domain/fatigue"
	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/standgeometry"
	"barrelbook/domain/standing"
)

// run is one pair of sets taken through the programme at the planned figures,
// piece by piece. Whatever part of the programme is asked about afterwards is a
// matter of sums and differences.
type run struct {
	in     *Input
	stand  *standing.Stand
	ahead  *limit.Ahead
	pieces []mill.Piece // from the first one asked about
	n      int

	watches    []limit.Watch
	tonnes, km []float64 // sums after i pieces
	// rolled and exposed are the km and the exposure of each roll after i pieces.
	rolled, exposed [][]float64

	forceless, speedless int
	predicted            Predicted
	misfit               []string // why a piece does not go through, per piece, nil where all do

	// restrict scales every force of the programme; 1 as planned.
	restrict float64
	risk     risk
}

func (r *run) work() *Set     { return &r.stand.Work }
func (r *run) backup() *Set   { return &r.stand.Backup }
func (r *run) rolls() []*Roll { return r.ahead.Rolls }

// newRun loads the rolls with the pieces. It fails only on figures that no
// stand could have; what cannot go through is kept as a misfit.
func newRun(in *Input, work, backup *Set) (*run, error) {
	r := emptyRun(in, work, backup)
	r.look()
	bodies := make([]duty.Roll, len(r.rolls()))
	for j, roll := range r.rolls() {
		bodies[j] = roll.Roll
	}
	stand, err := duty.NewStand(in.Stand, in.DensityKGPerM3, bodies)
	if err != nil {
		return nil, err
	}
	var damage []*fatigue.Field
	if in.Models != nil {
		damage = r.useModels(stand)
	}
	if err := r.load(stand); err != nil {
		return nil, err
	}
	stand.Settle()
	r.ahead.Settle(damage)
	r.watch()
	return r, nil
}

func emptyRun(in *Input, work, backup *Set) *run {
	pieces := in.Pieces[in.FromPiece-1:]
	stand := &standing.Stand{Stand: in.Stand, Work: *work, Intermediate: in.Intermediate, Backup: *backup, Drive: in.Drive, Limits: in.Limits}
	return &run{in: in, stand: stand, pieces: pieces, n: len(pieces), restrict: 1}
}

// look makes room for the programme.
func (r *run) look() {
	r.ahead = limit.NewAhead(r.stand, r.pieces)
	r.ahead.LengthCV, r.ahead.ForceCV = r.in.LengthCV, r.in.ForceCV
	if r.in.Models != nil && r.in.Models.Kernel != nil {
		r.ahead.FatigueExponent = r.in.Models.Kernel.Policy().Exponent
	}
}

// watch sets up what is held against its limits.
func (r *run) watch() {
	r.watches = limit.Watches(r.ahead)
	r.rolled, r.exposed = make([][]float64, len(r.rolls())), make([][]float64, len(r.rolls()))
	for j := range r.rolls() {
		r.rolled[j] = r.ahead.Sum(j, func(u *duty.Usage) float64 { return u.RolledKM })
		r.exposed[j] = r.ahead.Sum(j, func(u *duty.Usage) float64 { return u.ExposureKM })
	}
	r.tonnes, r.km = make([]float64, r.n+1), make([]float64, r.n+1)
	if len(r.rolls()) > 0 {
		r.tonnes = r.ahead.Sum(0, func(u *duty.Usage) float64 { return u.TonnageT })
		r.km = r.ahead.Sum(0, func(u *duty.Usage) float64 { return u.RolledKM })
	}
	r.assess()
}

// useModels turns the models of the input on, and gives the fields that the
// programme lays its fatigue into, nil where it is not followed.
func (r *run) useModels(stand *duty.Stand) []*fatigue.Field {
	conditions := make([]*duty.Condition, len(r.rolls()))
	damage := make([]*fatigue.Field, len(r.rolls()))
	for j, roll := range r.rolls() {
		c := roll.Condition
		c.WornUM, c.Damage = append([]float64(nil), roll.WearUM()...), nil
		field := roll.Damage
		if field == nil {
			field = stand.NewDamage(j, limit.UsualPressureMPa)
		}
		if r.in.Models.Kernel != nil && field != nil {
			damage[j] = emptyLike(field)
			c.Damage = damage[j]
		}
		conditions[j] = &c
	}
	models := *r.in.Models
	models.Gap = r.ahead.WatchesGap()
	stand.Use(models, conditions)
	return damage
}

// emptyLike is a field of the layers of f without damage.
func emptyLike(f *fatigue.Field) *fatigue.Field {
	empty := *f
	empty.Damage = make([]float64, len(f.Damage))
	return &empty
}

// load takes every pass of every piece through the models.
func (r *run) load(stand *duty.Stand) error {
	gap, passes := 0.0, 0 // minutes without rolling before the piece
	for i, p := range r.pieces {
		if r.in.watch.Ended() {
			return r.in.watch.Err()
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
			passes++
			r.ahead.Book(i, load)
			r.ahead.BookGap(i, pass, stand)
			r.turn(i, p, k)
			r.ahead.ForceKN[i] = max(r.ahead.ForceKN[i], pass.ForceKN)
			switch {
			case load.Predicted:
				r.predicted.add(p.ID, load, r.rolls())
			case pass.ForceKN == 0:
				r.forceless++
			}
			if len(load.Rolls) > 0 {
				gap -= duty.RollingMin(pass, load.Rolls[0].RolledKM)
			}
		}
	}
	r.predicted.share(passes)
	r.predicted.least = math.Inf(-1) // nobody asked
	if v := r.stand.Limit(practice.OverloadMarginMin); v.Set {
		r.predicted.least = v.Number
	}
	r.ahead.ForceCV = math.Hypot(r.in.ForceCV, r.predicted.cv)
	return nil
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
	for j := range r.work().Rolls {
		rpm := standgeometry.RPM(speed, r.work().Rolls[j].WorkingDiameterMM(pass.Groove))
		r.ahead.Fastest[i] = max(r.ahead.Fastest[i], rpm)
		if r.ahead.Slowest[i] == 0 || rpm < r.ahead.Slowest[i] {
			r.ahead.Slowest[i] = rpm
		}
	}
}

func (r *run) misses(i int, why string) {
	if r.misfit == nil {
		r.misfit = make([]string, r.n)
	}
	r.misfit[i] = why
}

// first are the spans of the first m pieces, the programme over again once it
// is through.
func (r *run) first(m int) []limit.Span {
	if r.n == 0 {
		return nil
	}
	return []limit.Span{{From: 0, To: r.n, Times: float64(m / r.n)}, {From: 0, To: m % r.n, Times: 1}}
}

func (r *run) all() stretch { return both(span(0, r.n)) }

func span(from, to int) limit.Span { return limit.Span{From: from, To: to, Times: 1} }

// stretch is what each role of rolls takes of the programme: the backup rolls
// and, with them, the intermediate rolls of a six-high stand, or the work rolls.
type stretch struct{ work, backup []limit.Span }

func both(spans ...limit.Span) stretch { return stretch{spans, spans} }

func (s stretch) of(role mill.Role) []limit.Span {
	if role == mill.Work {
		return s.work
	}
	return s.backup
}
