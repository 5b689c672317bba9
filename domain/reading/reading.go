// Package reading makes histories of what tests read on a barrel: readings of
// one place over the grinds, so that a defect that comes back or grows is named.
package reading

import (
	"math"
	"time"

	"barrelbook/domain/practice"
	"barrelbook/domain/quantity"
	"barrelbook/domain/roll"
)

// Within is how far apart two readings may lie and still be of one place.
type Within struct {
	AlongMM   float64
	AroundDeg float64
}

// Near is the distance unless another is asked for: common practice, no source.
var Near = Within{AlongMM: 20, AroundDeg: 5}

// Course is what became of a place, by its last reading.
type Course string

// The courses.
const (
	New          Course = "new"            // read once
	Seen         Course = "seen"           // read again and no larger
	Grown        Course = "grown"          // read again, larger, and not ground between
	NotGroundOut Course = "not_ground_out" // read again after a grind, before it rolled
	CameBack     Course = "came_back"      // read again after a grind and rolling, or after a test that read nothing there
	Gone         Course = "gone"           // a later test was passed and read nothing there
)

// Look is one reading of a place.
type Look struct {
	Entry     int64
	At        time.Time
	Grinds    int // of the roll before it
	Campaigns int // of the roll before it
	Diameter  quantity.Micrometre
	roll.Reading
	Instrument string
	Operator   string
}

// Place is where readings of one sort lie together.
type Place struct {
	Test       roll.TestKind
	Indication roll.Indication
	AtMM       float64  // of its first reading
	AroundDeg  *float64 // of its first reading; nil where not given
	Looks      []Look   // in the order of happening
	Course     Course
	Grew       bool // the last reading is larger than the one before
	ClearAt    time.Time
	entry      int64 // the test that read it last
}

// thresholds are the settings that limit the readings of an instrument.
var thresholds = map[roll.TestKind]map[roll.Indication]practice.Key{
	roll.EddyCurrent: {roll.IndicationCrack: practice.EddyCrackThreshold, roll.IndicationBruise: practice.EddyBruiseThreshold},
	roll.Ultrasonic:  {roll.IndicationReflector: practice.ReflectorThreshold},
}

// Judge puts the thresholds in force into the readings of a test and lets them
// decide its outcome. Of two thresholds, the practice's and one given with the
// reading, the lower holds. A depth without a value is held against no threshold.
func Judge(p practice.InForce, t roll.Test) roll.Test {
	list := make([]roll.Reading, len(t.Readings))
	for i, r := range t.Readings {
		if key, known := thresholds[t.Kind][t.IndicationOf(r)]; known && (r.Value != 0 || r.DepthUM == 0) {
			if v := p.Value(key); v.Set && (r.Threshold == 0 || v.Number < r.Threshold) {
				r.Threshold = v.Number
			}
		}
		list[i] = r
	}
	if len(list) > 0 {
		t.Readings = list
	}
	t.Outcome = t.Decided()
	return t
}

// Map joins the readings of a book into places. effective is the book as
// roll.Effective gives it.
func Map(effective []roll.Entry, within Within) []Place {
	m := mapping{within: within}
	for _, e := range effective {
		switch b := e.Body.(type) {
		case roll.Received:
			m.diameter = b.Diameter
			m.take(e, b.Tests)
		case roll.Inspected:
			m.take(e, b.Tests)
		case roll.Withdrawn, roll.PastStay:
			m.campaigns++
		case roll.Reground:
			m.grinds++
			m.diameter = b.Ground
			m.take(e, b.Tests)
		}
	}
	return m.places
}

// mapping is the map as far as the book is read.
type mapping struct {
	within    Within
	grinds    int
	campaigns int
	diameter  quantity.Micrometre
	places    []Place
}

func (m *mapping) take(e roll.Entry, tests []roll.Test) {
	for _, t := range tests {
		for _, r := range t.Readings {
			m.add(t, Look{Entry: e.Number, At: e.At, Grinds: m.grinds, Campaigns: m.campaigns, Diameter: m.diameter, Reading: r, Instrument: t.Instrument, Operator: t.Operator})
		}
		if t.Outcome != roll.Passed {
			continue
		}
		for i := range m.places {
			if p := &m.places[i]; p.Test == t.Kind && p.Indication.Defect() && p.entry != e.Number {
				p.Course, p.ClearAt = Gone, e.At
			}
		}
	}
}

// add lays a reading to the nearest place of its sort, or opens one.
func (m *mapping) add(t roll.Test, l Look) {
	indication := t.IndicationOf(l.Reading)
	best, least := -1, math.Inf(1)
	for i, p := range m.places {
		if p.Test != t.Kind || p.Indication != indication {
			continue
		}
		if d, near := m.within.apart(p, l.Reading); near && d < least {
			best, least = i, d
		}
	}
	if best < 0 {
		m.places = append(m.places, Place{Test: t.Kind, Indication: indication, AtMM: l.AtMM, AroundDeg: l.AroundDeg, Looks: []Look{l}, Course: New, entry: l.Entry})
		return
	}
	m.places[best].again(l)
}

// apart is the distance as a share of what is allowed, the larger of along and
// around. A reading without an angle lies with others without one only.
func (w Within) apart(p Place, r roll.Reading) (share float64, near bool) {
	if (p.AroundDeg == nil) != (r.AroundDeg == nil) {
		return 0, false
	}
	share = over(math.Abs(p.AtMM-r.AtMM), w.AlongMM)
	if r.AroundDeg != nil {
		d := math.Mod(math.Abs(*p.AroundDeg-*r.AroundDeg), 360)
		share = math.Max(share, over(math.Min(d, 360-d), w.AroundDeg))
	}
	return share, share <= 1
}

func over(distance, allowed float64) float64 {
	if distance == 0 {
		return 0
	}
	return distance / allowed
}

// again takes in one more reading of the place. Of two in one entry the larger
// stands, and is held against the test before.
func (p *Place) again(l Look) {
	last := len(p.Looks) - 1
	if p.Looks[last].Entry == l.Entry {
		if p.larger(l, p.Looks[last]) {
			p.Looks[last] = l
			p.Grew = last > 0 && p.larger(l, p.Looks[last-1])
			if p.Grew && p.Course == Seen {
				p.Course = Grown
			}
		}
		return
	}
	before := p.Looks[last]
	p.Looks, p.entry = append(p.Looks, l), l.Entry
	p.Grew = p.larger(l, before)
	ground, rolled := l.Grinds > before.Grinds, l.Campaigns > before.Campaigns
	switch {
	case !p.Indication.Defect():
		p.Course = Seen
	case p.Course == Gone, ground && rolled:
		p.Course = CameBack
	case ground:
		p.Course = NotGroundOut
	case p.Grew:
		p.Course = Grown
	default:
		p.Course = Seen
	}
	p.ClearAt = time.Time{}
}

// larger compares the values of the instrument, or the depths where one of the
// two has no value.
func (p *Place) larger(a, b Look) bool {
	if a.Value != 0 && b.Value != 0 {
		return a.Value > b.Value
	}
	return a.DepthUM > b.DepthUM
}
