package wearrate

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// A stand's level may jump: its cooling, its water or its strip changed. Each
// campaign in the order of their ends is held against what is believed, with the
// jump that lasts; over the last r of them
//
//	log B_r = s²b²/(2(1 + s²a)) − ½log(1 + s²a),  a = Σ1/v, b = Σρ/v
//
// says how much likelier a level of its own is (normal with sd s about what was
// believed) than none, and with the chance h that any campaign begins one
//
//	P(none) = 1/(1 + Σ_r h·B_r),  P(r) = h·B_r·P(none)
//
// (Shiryaev's rule, Theory of Probability 8 (1963), with the run lengths of Adams
// and MacKay, arXiv:0710.3742; both from memory). A campaign's miss counts for at
// most 2.5 of its standard deviations, so that no single one makes a jump.
const (
	jumpChance = 1.0 / 300
	jumpSure   = 0.95
	jumpLook   = 30  // campaigns looked back over
	jumpMiss   = 2.5 // standard deviations
	// mishapFrom is from what miss on a campaign is that of a mishap and of no jump.
	mishapFrom = 0.8
)

// suspicion is what is thought of the level of a stand that no jump was noted of:
// its mean and variance, the chance that there is one, and since which campaign.
type suspicion struct {
	mean, variance float64
	chance         float64
	since          int // of the campaigns looked at
}

// miss is what the rolls of one campaign lie off together.
type miss struct {
	endedAt  time.Time
	off      float64
	variance float64
}

// suspect applies the rule to misses in order.
func suspect(list []miss) suspicion {
	list = list[max(0, len(list)-jumpLook):]
	var s suspicion
	a, b, all, best := 0.0, 0.0, 1.0, 0.0
	var mean, square float64
	const v = jumpSD * jumpSD
	for i := len(list) - 1; i >= 0; i-- {
		sd := math.Sqrt(list[i].variance)
		off := min(max(list[i].off, -jumpMiss*sd), jumpMiss*sd)
		a += 1 / list[i].variance
		b += off / list[i].variance
		odds := jumpChance * math.Exp(min(v*b*b/(2*(1+v*a))-math.Log1p(v*a)/2, 600))
		level, room := v*b/(1+v*a), v/(1+v*a)
		all += odds
		mean += odds * level
		square += odds * (level*level + room)
		if odds > best {
			best, s.since = odds, i
		}
	}
	s.mean, s.chance = mean/all, 1-1/all
	s.variance = square/all - s.mean*s.mean
	if len(list) > 0 {
		s.variance += jumpChance * v // one may begin in the campaign ahead
	}
	return s
}

// misses are those of a stand since a moment, in order; of the clusters given, or
// of all.
func (m *Model) misses(stand int, since time.Time, of []*cluster) []miss {
	if of == nil {
		of = m.clusters
	}
	var list []miss
	var terms []term
	shared := m.parts.CampaignSD * m.parts.CampaignSD
	for _, c := range of {
		c.sets(func(one []observation) {
			sum, off := 0.0, 0.0
			var ended time.Time
			for i := range one {
				o := &one[i]
				if m.cells[o.cell].stand != stand || o.endedAt.IsZero() || o.endedAt.Before(since) {
					continue
				}
				at := c.place(o.roll)
				terms = m.terms(o, terms)
				one := o.z - m.sum(terms) - c.own(at, m.mean)
				if o.incident > 0.5 && math.Abs(one) > mishapFrom {
					continue
				}
				// By what it is measured to, not as its weight bounds it: where campaigns
				// scatter little a jump looks like a mishap at first.
				precision := 1 / (o.own + c.room[at])
				sum += precision
				off += precision * one
				ended = o.endedAt
			}
			if sum > 0 {
				list = append(list, miss{endedAt: ended, off: off / sum, variance: 1/sum + shared})
			}
		})
	}
	slices.SortFunc(list, func(a, b miss) int { return cmp.Or(a.endedAt.Compare(b.endedAt), cmp.Compare(a.off, b.off)) })
	return list
}

// end is when a roll came out of a stand.
type end struct {
	at   time.Time
	roll int
}

// endsKept is how many of the last ends a stand keeps: those of all campaigns that
// jumps are looked for in when one is added, two rolls each.
const endsKept = 4 * jumpLook

// ended notes that a roll came out of a stand.
func (s *standData) ended(at time.Time, roll int) {
	i := len(s.ends)
	for i > 0 && s.ends[i-1].at.After(at) {
		i--
	}
	if i > 0 && s.ends[i-1] == (end{at, roll}) {
		return
	}
	s.ends = slices.Insert(s.ends, i, end{at, roll})
	if len(s.ends) > 2*endsKept {
		s.ends = append(s.ends[:0], s.ends[len(s.ends)-endsKept:]...)
	}
}

// recent are the misses of a stand's last campaigns, since its last jump.
func (m *Model) recent(stand int) []miss {
	s := &m.stands[stand]
	ends := s.ends[max(0, len(s.ends)-endsKept):]
	if len(ends) == 0 {
		return nil
	}
	var of []*cluster
	for _, e := range ends {
		if c := m.of[e.roll]; c != nil && !slices.Contains(of, c) {
			of = append(of, c)
		}
	}
	since := ends[0].at
	if last := s.lastJump(); last.After(since) {
		since = last
	}
	return m.misses(stand, since, of)
}

// suspicion of a stand now.
func (m *Model) suspicion(stand int) suspicion {
	s := &m.stands[stand]
	if s.thought == nil {
		t := suspect(m.recent(stand))
		s.thought = &t
	}
	return *s.thought
}

// lastJump is when the level that is believed began.
func (s *standData) lastJump() time.Time {
	if n := len(s.jumps); n > 0 {
		if j := s.jumps[n-1]; j.until.IsZero() {
			return j.from
		} else {
			return j.until
		}
	}
	return time.Time{}
}

// trouble is the jump of a stand that lasts, where it is beyond doubt.
func (m *Model) trouble(stand int) *Trouble {
	s := &m.stands[stand]
	n := len(s.jumps)
	if n == 0 || !s.jumps[n-1].until.IsZero() {
		return nil
	}
	i, known := m.index[effect{kind: ofJump, of: stand, number: n - 1}]
	if !known || m.variance == nil {
		return nil
	}
	level, sd := m.mean[i], math.Sqrt(m.variance.At(i, i))
	t := Trouble{Since: s.jumps[n-1].from, Campaigns: len(m.recent(stand)), Factor: math.Exp(level), Low: math.Exp(level - sure90*sd), High: math.Exp(level + sure90*sd)}
	if t.Low < troubleFrom && t.High > 1/troubleFrom || t.Campaigns > troubleFor {
		return nil
	}
	return &t
}

const (
	// troubleFrom is by how much more a stand must wear, for nine in ten sure on
	// either side, to be named.
	troubleFrom = 1.05
	// troubleFor is for how many campaigns it is: then it is how the stand wears.
	troubleFor = 50
)

// findJumps goes through every stand in time and notes the jumps, from what is
// believed; it says whether any was new.
func (m *Model) findJumps() bool {
	found := false
	for stand := range m.stands {
		for m.findJump(stand, m.misses(stand, m.stands[stand].lastJump(), nil)) {
			found = true
		}
	}
	return found
}

// findJump looks for the next jump of a stand after the last, in its misses since.
func (m *Model) findJump(stand int, list []miss) bool {
	s := &m.stands[stand]
	s.thought = nil
	base := 0.0 // what the level believed is above that of no jump
	if n := len(s.jumps); n > 0 && s.jumps[n-1].until.IsZero() {
		base = m.mean[m.at(effect{kind: ofJump, of: stand, number: n - 1})]
	}
	for n := 2; n <= len(list); n++ {
		from := max(0, n-jumpLook)
		t := suspect(list[from:n])
		if t.chance < jumpSure || n-from-t.since < 2 {
			continue
		}
		at := list[from+t.since].endedAt
		if !at.After(s.lastJump()) {
			continue
		}
		if level, begun := s.noteJump(at, base, list[from+t.since:n]); begun {
			m.mean[m.at(effect{kind: ofJump, of: stand, number: len(s.jumps) - 1})] = level
		}
		m.attach()
		return true
	}
	return false
}

// noteJump ends the jump that lasted and begins the next, unless the level is
// about what it is without one; it gives the level that the misses show.
func (s *standData) noteJump(at time.Time, base float64, list []miss) (level float64, begun bool) {
	const v = jumpSD * jumpSD
	a, b := 0.0, 0.0
	for _, l := range list {
		a += 1 / l.variance
		b += (l.off + base) / l.variance
	}
	if n := len(s.jumps); n > 0 && s.jumps[n-1].until.IsZero() {
		s.jumps[n-1].until = at
		// Back to what it was before, or to a third level: as likely before the data.
		if v*b*b/(2*(1+v*a))-math.Log1p(v*a)/2 < 0 {
			return 0, false
		}
	}
	s.jumps = append(s.jumps, jump{from: at})
	return v * b / (1 + v*a), true
}

// attach gives every observation the jump of its stand at its time, and sums up
// the clusters that changed.
func (m *Model) attach() {
	var changed []*cluster
	for _, c := range m.clusters {
		moved := false
		for i := range c.observations {
			o := &c.observations[i]
			if j := m.stands[m.cells[o.cell].stand].jumpAt(o.endedAt); j != o.jump {
				o.jump, moved = j, true
			}
		}
		if moved {
			c.weigh(m, nil)
			c.gather(m)
			changed = append(changed, c)
		}
	}
	m.solve()
	for range 2 {
		for _, c := range changed {
			c.weigh(m, nil)
			c.gather(m)
		}
		m.solve()
	}
}
