package limit

import "barrelbook/domain/duty"

// Span is a stretch of the programme, pieces from up to but not to, rolled so
// many times.
type Span struct {
	From, To int
	Times    float64
}

func (s Span) empty() bool { return s.Times == 0 || s.To <= s.From }

// Growth is how a use grows with the pieces.
type Growth interface {
	// Lines appends the lines after the spans: what was borne before and what
	// they add. Without spans nothing is added.
	Lines(into []Line, spans []Span) []Line
	// Now is what was borne before.
	Now() float64
}

// Adding grows by the sum of what the pieces add.
type Adding struct {
	Borne float64
	Sums  []float64 // after i pieces
	Scale float64   // of the sums
}

// Lines is one line.
func (g Adding) Lines(into []Line, spans []Span) []Line {
	return append(into, Line{g.Borne, g.Scale * over(g.Sums, spans)})
}

// Now is what was borne.
func (g Adding) Now() float64 { return g.Borne }

func over(sums []float64, spans []Span) float64 {
	sum := 0.0
	for _, s := range spans {
		if !s.empty() {
			sum += s.Times * (sums[s.To] - sums[s.From])
		}
	}
	return sum
}

// Peaking is the greatest figure of any piece. What was borne before is over
// and done with.
type Peaking struct {
	Seen     float64 // the greatest so far
	PerPiece []float64
	Scale    float64
}

// Now is the greatest so far.
func (g Peaking) Now() float64 { return g.Seen }

// Lines is one line with nothing borne.
func (g Peaking) Lines(into []Line, spans []Span) []Line {
	peak := 0.0
	for _, s := range spans {
		if s.empty() {
			continue
		}
		for _, v := range g.PerPiece[s.From:s.To] {
			peak = max(peak, v)
		}
	}
	return append(into, Line{0, g.Scale * peak})
}

// Along grows at many places at once, of which the greatest counts.
type Along struct {
	Borne   []float64 // nil for nothing
	profile *profile
	Scale   float64
}

// profile are sums along a line after i pieces.
type profile struct {
	stations int
	sums     []float64 // (n+1)·stations
	scratch  []float64
}

// newProfile sums the wear along the barrel; nil where none is computed.
func newProfile(uses []duty.Usage) *profile {
	stations := 0
	for i := range uses {
		stations = max(stations, len(uses[i].WearUM))
	}
	if stations == 0 {
		return nil
	}
	p := &profile{stations: stations, sums: make([]float64, (len(uses)+1)*stations), scratch: make([]float64, stations)}
	for i := range uses {
		before, after := p.after(i), p.after(i+1)
		copy(after, before)
		for x, um := range uses[i].WearUM {
			after[x] += um
		}
	}
	return p
}

func (p *profile) after(i int) []float64 { return p.sums[i*p.stations : (i+1)*p.stations] }

// Lines are those places that may be the greatest for some factor.
func (g Along) Lines(into []Line, spans []Span) []Line {
	if g.profile == nil {
		return Deepest(into, g.Borne, nil)
	}
	added := g.profile.scratch
	clear(added)
	for _, s := range spans {
		if s.empty() {
			continue
		}
		before, after, scale := g.profile.after(s.From), g.profile.after(s.To), s.Times*g.Scale
		for x := range added {
			added[x] += scale * (after[x] - before[x])
		}
	}
	return Deepest(into, g.Borne, added)
}

// Now is the greatest borne.
func (g Along) Now() float64 { return greatest(g.Borne) }

func greatest(list []float64) float64 {
	most := 0.0
	for _, v := range list {
		most = max(most, v)
	}
	return most
}

// Deepest appends the lines that may be the greatest for some share of what is
// added: those of most borne and of most added, and any that has more borne than
// the latter and adds more than the former. What was borne along other places
// than is added is left out.
func Deepest(into []Line, borne, added []float64) []Line {
	at := func(x int) Line {
		l := Line{}
		if x < len(borne) && (len(borne) == len(added) || added == nil) {
			l.Borne = borne[x]
		}
		if added != nil {
			l.Added = added[x]
		}
		return l
	}
	places := len(added)
	if added == nil {
		places = len(borne)
	}
	if places == 0 {
		return into
	}
	mostBorne, mostAdded := at(0), at(0)
	for x := 1; x < places; x++ {
		l := at(x)
		if l.Borne > mostBorne.Borne || l.Borne == mostBorne.Borne && l.Added > mostBorne.Added {
			mostBorne = l
		}
		if l.Added > mostAdded.Added || l.Added == mostAdded.Added && l.Borne > mostAdded.Borne {
			mostAdded = l
		}
	}
	into = append(into, mostAdded)
	if mostBorne != mostAdded {
		into = append(into, mostBorne)
	}
	for x := range places {
		if l := at(x); l.Borne > mostAdded.Borne && l.Added > mostBorne.Added {
			into = append(into, l)
		}
	}
	return into
}

// Sharing is a whole that the pieces have their share of, at many places.
type Sharing struct {
	Whole []Line
	Share []float64 // after i pieces, 1 at the end
	Scale float64
}

// Lines are those of the whole with the share of it that the spans have.
func (g Sharing) Lines(into []Line, spans []Span) []Line {
	share := g.Scale * over(g.Share, spans)
	for _, l := range g.Whole {
		into = append(into, Line{l.Borne, share * l.Added})
	}
	return into
}

// Now is the greatest borne.
func (g Sharing) Now() float64 { return Greatest(g.Whole, 0) }
