package finish

import (
	"math"
	"sort"

	"barrelbook/domain/limit"
)

// soft is one watch with its own distribution.
type soft struct {
	*run
	w     *limit.Watch
	sd    float64 // of what is ahead
	own   float64 // of the rate; 0 where it does not bear on it
	lines []limit.Line
}

func (r *run) soft(i int) *soft {
	w := &r.watches[i]
	s := &soft{run: r, w: w, sd: math.Hypot(w.Spread.Length*r.risk.sdE, w.Spread.Force*r.risk.sdF)}
	if w.Spread.Rate {
		s.own = r.risk.rolls[w.Roll].sd
	}
	return s
}

// after gives the lines once the first m pieces are rolled.
func (s *soft) after(m int) []limit.Line {
	s.lines = s.linesOf(s.w, s.lines[:0], s.first(m))
	return s.lines
}

// use is expected after the first m pieces, every factor at its median.
func (s *soft) use(m int) float64 { return limit.Greatest(s.after(m), 1) }

// holds is the probability that the limit is not passed by then.
func (s *soft) holds(m int) float64 {
	return s.in.Recalibration.Of(s.below(s.after(m), s.w.Bound))
}

// below is the probability that a use stays below a bound.
func (s *soft) below(lines []limit.Line, bound float64) float64 {
	switch {
	case s.own > 0 && s.sd == 0:
		return cdf(deviations(bound, limit.Greatest(lines, 1), s.own))
	case s.own > 0:
		panels := &s.risk.panels
		panels.reset(math.Inf(1))
		panels.step(math.Log(roomOf(lines, bound))/s.sd, s.own/s.sd)
		p := panels.integrate(func(z float64) float64 {
			return cdf(deviations(bound, limit.Greatest(lines, math.Exp(s.sd*z)), s.own))
		})
		return min(max(p, 0), 1)
	case s.sd == 0:
		return certain(!passes(lines, bound))
	}
	return cdf(math.Log(roomOf(lines, bound)) / s.sd)
}

// at is the use that stays below with probability p.
func (s *soft) at(m int, p float64) float64 {
	lines := s.after(m)
	if s.own == 0 {
		return limit.Greatest(lines, math.Exp(s.sd*quantile(p)))
	}
	return s.quantile(lines, p)
}

// quantile is the use that is not passed with probability p where the rate is
// doubtful: by the secant method on the normal deviate of the probability, which
// is nearly a straight line in the logarithm of the use, and by halves where a
// step leaves the bracket.
func (s *soft) quantile(lines []limit.Line, p float64) float64 {
	median := limit.Greatest(lines, 1)
	if median == 0 {
		return 0
	}
	z, sd := quantile(p), s.own
	reach := beyond * (sd + s.sd)
	low, high := math.Log(median)-reach, math.Log(median)+reach
	off := func(x float64) float64 {
		return quantile(min(max(s.below(lines, math.Exp(x)), 1e-12), 1-1e-12)) - z
	}
	x, slope := math.Log(median)+z*sd, sd
	for at, tries := off(x), 0; math.Abs(at) > 1e-7 && tries < 60; tries++ {
		if at < 0 {
			low = x
		} else {
			high = x
		}
		next := x - at*slope
		if next <= low || next >= high {
			next = (low + high) / 2
		}
		then := off(next)
		if then != at {
			slope = max((next-x)/(then-at), sd/2)
		}
		x, at = next, then
	}
	return math.Exp(x)
}

// sure is how sure the early of the two places where a limit is reached is.
const sure = 0.90

// judge fills the margin at the end of the programme and finds where the limit
// is reached.
func (s *soft) judge() Margin {
	w, n := s.w, s.n
	m := Margin{kind: w.Kind, watch: s, Roll: s.rolls()[w.Roll].Number, Criterion: w.Criterion, Groove: w.Groove, Unit: w.Unit, Limit: w.Limit, Now: w.Now(), Past: w.Past(),
		AtEnd: w.Shown(s.use(n)), Probability: s.holds(n)}
	m.AtEndLow, m.AtEndHigh = s.band(n)
	passed := func(count int) bool { return passes(s.after(count), w.Bound) }
	if passed(n) {
		m.Reached = s.reached(1 + sort.Search(n-1, func(i int) bool { return passed(i + 1) }))
	}
	if m.Probability < sure {
		m.ReachedP10 = s.reached(1 + sort.Search(n-1, func(i int) bool { return s.holds(i+1) < sure }))
	}
	if s.in.Explain {
		m.Source = w.Source
	}
	return m
}

// reached is the place of the count-th piece asked about.
func (r *run) reached(count int) *Reached {
	return &Reached{Piece: r.in.FromPiece + count - 1, PieceID: r.pieces[count-1].ID, TonnageT: r.tonnes[count], RolledKM: r.km[count], pastStart: count}
}

// linesOf are the lines of a watch after spans: as programmes are rolled, and under
// the forces asked about.
func (r *run) linesOf(w *limit.Watch, into []limit.Line, spans []limit.Span) []limit.Line {
	from := len(into)
	into = w.Growth.Lines(into, spans)
	times := 1.0
	if length := r.in.LengthFactor; length > 0 && w.Spread.Length != 0 {
		times *= math.Pow(length, w.Spread.Length)
	}
	force := r.restrict
	if r.in.ForceFactor > 0 {
		force *= r.in.ForceFactor
	}
	if force != 1 && w.Spread.Force != 0 {
		times *= math.Pow(force, w.Spread.Force)
	}
	borne := 1.0
	if w.Spread.Rate {
		b, a := r.rolls()[w.Roll].WearTimes(r.more(w.Roll, spans))
		borne, times = b, a*times
	}
	if times != 1 || borne != 1 {
		for i := range into[from:] {
			into[from+i].Borne *= borne
			into[from+i].Added *= times
		}
	}
	return into
}

// more is the length and the exposure that spans add to a roll, as planned.
func (r *run) more(j int, spans []limit.Span) (km, exposure float64) {
	for _, s := range spans {
		if s.Times > 0 && s.To > s.From {
			km += s.Times * (r.rolled[j][s.To] - r.rolled[j][s.From])
			exposure += s.Times * (r.exposed[j][s.To] - r.exposed[j][s.From])
		}
	}
	return km, exposure
}

// passes says whether a use passes its bound at the planned figures, leaving
// room for the rounding of sums. Where nothing is added nothing is passed; where
// anything is, what is past its bound already counts as well.
func passes(lines []limit.Line, bound float64) bool {
	room := bound + 1e-9*max(1, math.Abs(bound))
	past, rolls := false, false
	for _, l := range lines {
		past = past || l.Borne+l.Added > room
		rolls = rolls || l.Added > 0
	}
	return past && rolls
}

// roomOf is the factor on what is ahead at which a use comes to its bound: +Inf
// where it never does, 0 where it is past it.
func roomOf(lines []limit.Line, bound float64) float64 {
	least, past, rolls := math.Inf(1), false, false
	for _, l := range lines {
		past = past || l.Borne > bound
		if l.Added > 0 {
			rolls, least = true, min(least, max(0, bound-l.Borne)/l.Added)
		}
	}
	if past && rolls {
		return 0
	}
	return least
}

func certain(holds bool) float64 {
	if holds {
		return 1
	}
	return 0
}
