package limit

import (
	"math"

	"barrelbook/domain/duty"
	"barrelbook/domain/gap"
	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
	"barrelbook/domain/rollload"
)

// gapAhead is how a piece finds the gap of the stand.
type gapAhead struct {
	known  bool
	strip  gap.Gap    // width, place and edge of the strip
	offset [2]float64 // of the two work rolls
	// crownUM and quarterUM are what heat, contour, bending and crossing make of
	// the change; the wear is added by the rolls that have it.
	crownUM, quarterUM float64
}

// WatchesGap says whether any limit of the stand asks for the gap between its
// work rolls.
func (a *Ahead) WatchesGap() bool {
	return len(a.Rolls) > 1 && (a.Rolls[0].Limit(practice.MaxCrownChangeUM).Set || a.Rolls[0].Limit(practice.MaxQuarterUM).Set)
}

// BookGap notes how the last pass of piece i through the stand finds the gap.
func (a *Ahead) BookGap(i int, p mill.Pass, stand *duty.Stand) {
	if len(a.Rolls) < 2 {
		return
	}
	at := &a.gaps[i]
	*at = gapAhead{strip: gap.Gap{WidthMM: p.WidthMM, OffsetMM: p.LateralOffsetMM, EdgeMM: a.edgeMM()},
		offset: [2]float64{p.RollOffsetMM(a.Rolls[0].Position), p.RollOffsetMM(a.Rolls[1].Position)}}
	if !a.WatchesGap() {
		return
	}
	g, ok := stand.Gap(p, a.edgeMM())
	if at.known = ok; !ok {
		return
	}
	g.Top.WearUM, g.Bottom.WearUM = rollload.Points{}, rollload.Points{}
	shape := g.Shape()
	at.crownUM, at.quarterUM = shape.CentreToEdgeUM, shape.QuarterUM
}

func (a *Ahead) edgeMM() float64 {
	if v := a.Rolls[0].Limit(practice.CrownEdgeMM); v.Set && v.Number > 0 {
		return v.Number
	}
	return gap.DefaultEdgeMM
}

// Gaping is the greatest change of the gap that any piece finds: that of its
// wear, which grows with the pieces rolled by these rolls, and the rest of it.
type Gaping struct {
	a *Ahead
	// of weighs the gap across a strip, rest is what is not of wear.
	of   func(*gap.Gap) gap.Weights
	rest func(*gapAhead) float64
	seen running
}

// Now is 0: what was found before is over and done with.
func (g *Gaping) Now() float64 { return 0 }

// Lines is one line with nothing borne.
func (g *Gaping) Lines(into []Line, spans []Span) []Line {
	rolls := [2]worn{g.a.wornBy(0), g.a.wornBy(1)}
	found := func(from, i int, _ bool) float64 {
		at := &g.a.gaps[i]
		if !at.known {
			return 0
		}
		um := g.rest(at)
		for _, w := range g.of(&at.strip) {
			for j := range rolls {
				um += w.Weight * rolls[j].at(w.X-at.offset[j], from, i+1) / 2
			}
		}
		return math.Abs(um)
	}
	return append(into, Line{0, g.seen.most(spans, rolls[:], found)})
}

// running is the greatest figure that any piece finds. It remembers those of the
// stretch asked about last, as the same one is asked about again a little longer.
type running struct {
	from int
	upTo []float64 // the greatest of the first so many pieces
}

// most takes the rolls through the spans and gives the greatest that a piece
// finds after those from the start of its span; last is true of the last piece of a
// span that may go on in another.
func (r *running) most(spans []Span, rolls []worn, found func(from, i int, last bool) float64) (most float64) {
	if s, ok := once(spans); ok {
		if r.upTo == nil || r.from != s.From {
			r.from, r.upTo = s.From, append(r.upTo[:0], 0)
		}
		for n := len(r.upTo); n <= s.To-s.From; n++ {
			r.upTo = append(r.upTo, max(r.upTo[n-1], found(s.From, s.From+n-1, false)))
		}
		return r.upTo[s.To-s.From]
	}
	for _, s := range spans {
		if s.empty() {
			continue
		}
		for j := range rolls {
			rolls[j].roll(s.From, s.To, s.Times-1)
		}
		for i := s.From; i < s.To; i++ {
			most = max(most, found(s.From, i, i+1 == s.To))
		}
		for j := range rolls {
			rolls[j].roll(s.From, s.To, 1)
		}
	}
	return most
}

// once is the only span that is not empty, where there is but one, rolled once.
func once(spans []Span) (one Span, ok bool) {
	for _, s := range spans {
		if s.empty() {
			continue
		}
		if ok || s.Times != 1 {
			return one, false
		}
		one, ok = s, true
	}
	return one, ok
}

// worn is the wear of one work roll as the programme goes on.
type worn struct {
	before   []float64 // of the rounds that are through
	profile  *profile
	scale    float64
	barrelMM float64
}

func (a *Ahead) wornBy(j int) worn {
	w := worn{profile: a.wear[j], scale: a.Factor[j].Wear, barrelMM: a.Rolls[j].BarrelLengthMM}
	borne := a.Rolls[j].WearUM()
	stations := len(borne)
	if w.profile != nil {
		stations = w.profile.stations
	}
	w.before = make([]float64, stations)
	if len(borne) == stations {
		copy(w.before, borne)
	}
	return w
}

// roll adds a stretch of the programme so many times.
func (w *worn) roll(from, to int, times float64) {
	if w.profile == nil || times <= 0 {
		return
	}
	first, last := w.profile.after(from), w.profile.after(to)
	for x := range w.before {
		w.before[x] += times * w.scale * (last[x] - first[x])
	}
}

// station is the wear at station k once the pieces from up to but not to are
// rolled as well.
func (w *worn) station(k, from, to int) float64 {
	um := w.before[k]
	if w.profile != nil {
		um += w.scale * (w.profile.after(to)[k] - w.profile.after(from)[k])
	}
	return um
}

// at is the wear at x of the barrel once the pieces from up to but not to are
// rolled as well; the stations are evenly spaced from end to end.
func (w *worn) at(x float64, from, to int) float64 {
	last := len(w.before) - 1
	if last < 1 {
		return 0
	}
	place := min(max((x/w.barrelMM+0.5)*float64(last), 0), float64(last))
	i := min(int(place), last-1)
	part := place - float64(i)
	return (1-part)*w.station(i, from, to) + part*w.station(i+1, from, to)
}
