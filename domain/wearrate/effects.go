package wearrate

import (
	"math"
	"time"
)

// Components are how far each part of a rate lies apart, as standard deviations
// of its logarithm, and what is the same for all campaigns of a role in a mill.
type Components struct {
	RollSD     float64 // from roll to roll, for life
	CampaignSD float64 // from campaign to campaign, both rolls of a set alike
	OwnSD      float64 // of one roll in one campaign
	CellSD     float64 // from stand to stand within a grade
	GaugeUM    float64 // of two measurements of a diameter
	// IncidentShare of campaigns end in an incident or a slip.
	IncidentShare float64
}

// What a part of the rate may be before any campaign: standard deviations of
// logarithms, common practice without a source. They shrink what the data do not
// show to nothing.
const (
	jumpSD     = 0.3  // of a stand's level from one time to another
	diameterSD = 0.03 // per 10 mm of diameter
	forceSD    = 0.15 // of the exponent of force
	freshSD    = 0.3  // more or less wear while freshly ground
)

// kind is what an effect is of.
type kind byte

const (
	ofGrade kind = iota
	ofCell
	ofDiameter // per 10 mm below the grade's reference
	ofForce    // exponent, beyond the one in the exposure
	ofFresh
	ofJump
)

// effect is one unknown that rolls have in common.
type effect struct {
	kind   kind
	of     int // grade, cell, or stand
	number int // of a jump
}

// term is an effect in an observation.
type term struct {
	effect int
	times  float64
}

// prior is the mean and variance of an effect before any campaign.
func (m *Model) prior(e effect) (mean, variance float64) {
	switch e.kind {
	case ofGrade:
		sd := math.Sqrt(math.Log1p(m.defaults.RateCV * m.defaults.RateCV))
		return math.Log(m.defaults.RateUMPerKM), sd * sd
	case ofCell:
		return 0, m.parts.CellSD * m.parts.CellSD
	case ofDiameter:
		return 0, diameterSD * diameterSD
	case ofForce:
		return 0, forceSD * forceSD
	case ofFresh:
		return 0, freshSD * freshSD
	}
	return 0, jumpSD * jumpSD
}

// at gives the number of an effect, new where it was not known.
func (m *Model) at(e effect) int {
	i, ok := m.index[e]
	if !ok {
		i = len(m.effects)
		m.index[e] = i
		m.effects = append(m.effects, e)
		mean, _ := m.prior(e)
		m.mean = append(m.mean, mean)
	}
	return i
}

// known is the numbers of the effects of a cell, −1 for one not met yet.
type known struct{ grade, cell, diameter, force, fresh int }

func (m *Model) met(at *int, e effect) int {
	if *at < 0 {
		*at = m.at(e)
	}
	return *at
}

// terms are the effects in the logarithm of the rate of an observation.
func (m *Model) terms(o *observation, into []term) []term {
	c := &m.cells[o.cell]
	into = append(into[:0], term{m.met(&c.known.grade, effect{kind: ofGrade, of: c.grade}), 1}, term{m.met(&c.known.cell, effect{kind: ofCell, of: o.cell}), 1})
	if o.diameter != 0 {
		into = append(into, term{m.met(&c.known.diameter, effect{kind: ofDiameter, of: c.grade}), o.diameter})
	}
	if o.force != 0 {
		into = append(into, term{m.met(&c.known.force, effect{kind: ofForce, of: c.grade}), o.force})
	}
	if o.fresh != 0 {
		into = append(into, term{m.met(&c.known.fresh, effect{kind: ofFresh, of: c.grade}), o.fresh})
	}
	if o.jump >= 0 {
		into = append(into, term{m.at(effect{kind: ofJump, of: c.stand, number: o.jump}), 1})
	}
	return into
}

func (m *Model) sum(terms []term) float64 {
	sum := 0.0
	for _, t := range terms {
		sum += t.times * m.mean[t.effect]
	}
	return sum
}

// gradeData is what a grade's campaigns are held against.
type gradeData struct {
	name                string
	force, fresh        float64 // means of the logarithm of specific force and of freshness
	diameter            float64
	forces, freshs, mms float64 // counted
}

type cellData struct {
	Cell
	grade, stand int
	known        known
}

// standData is one stand in time.
type standData struct {
	name  string
	jumps []jump
	ends  []end // the last, in order
	// thought is what is suspected since, nil until it is asked for.
	thought *suspicion
}

// jump is a stretch of time in which all rolls of a stand wear by a factor more
// or less than before.
type jump struct {
	from  time.Time
	until time.Time // zero while it lasts
}

func (s *standData) jumpAt(t time.Time) int {
	for i := len(s.jumps) - 1; i >= 0; i-- {
		if j := s.jumps[i]; !t.Before(j.from) && (j.until.IsZero() || t.Before(j.until)) {
			return i
		}
	}
	return -1
}
