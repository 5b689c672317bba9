package wearrate

import (
	"cmp"
	"math"
	"slices"
)

func compareNames(a, b, then, with string) int {
	return cmp.Or(cmp.Compare(a, b), cmp.Compare(then, with))
}

// tally is what is counted of a cell or of a roll in it.
type tally struct {
	campaigns int
	incidents float64
	last      *observation
}

// Rates reads the model: lists in order of names.
func (m *Model) Rates() Rates {
	out := Rates{Defaults: m.defaults, SetAside: m.setAside}
	if len(m.cells) == 0 {
		return out
	}
	byCell := make([]tally, len(m.cells))
	rolls := make([]int, len(m.cells))
	for _, c := range m.clusters {
		out.Rolls = append(out.Rolls, m.rollRates(c, byCell, rolls)...)
	}
	for g := range m.grades {
		out.Grades = append(out.Grades, m.gradeRate(g, byCell, rolls))
	}
	for i := range m.cells {
		if byCell[i].campaigns > 0 {
			out.Cells = append(out.Cells, m.cellRate(i, byCell[i], rolls[i], out.Grades[m.cells[i].grade]))
		}
	}
	out.Grades = slices.DeleteFunc(out.Grades, func(g GradeRate) bool { return g.Campaigns == 0 })
	slices.SortFunc(out.Grades, func(a, b GradeRate) int { return cmp.Compare(a.Grade, b.Grade) })
	slices.SortFunc(out.Cells, func(a, b CellRate) int { return a.compare(b.Cell) })
	slices.SortFunc(out.Rolls, RollRate.compare)
	out.Settle()
	return out
}

// Settle brings Effects in line with Rolls: of a roll in several cells the one that
// is known best.
func (r *Rates) Settle() {
	r.Effects = make([]RollEffect, 0, len(r.Rolls))
	for _, roll := range r.Rolls {
		if roll.LogSD > 0 {
			r.Effects = append(r.Effects, RollEffect{roll.Roll, roll.Log, roll.LogSD})
		}
	}
	slices.SortFunc(r.Effects, func(a, b RollEffect) int { return cmp.Or(cmp.Compare(a.Roll, b.Roll), cmp.Compare(a.SD, b.SD)) })
	r.Effects = slices.CompactFunc(r.Effects, func(a, b RollEffect) bool { return a.Roll == b.Roll })
}

// Updated is the rates with what another version says of some cells and their
// rolls, and of cells and grades that were not known. What a regrind elsewhere moves
// by a hair stays as it was.
func (r Rates) Updated(now Rates, touched func(Cell) bool) Rates {
	out := now
	out.Cells, out.Rolls = slices.Clone(now.Cells), slices.Clone(now.Rolls)
	for i, c := range out.Cells {
		if at, known := slices.BinarySearchFunc(r.Cells, c.Cell, func(c CellRate, at Cell) int { return c.compare(at) }); known && !touched(c.Cell) {
			out.Cells[i] = r.Cells[at]
		}
	}
	for i, roll := range out.Rolls {
		if at, known := slices.BinarySearchFunc(r.Rolls, roll, RollRate.compare); known && !touched(roll.Cell) {
			out.Rolls[i] = r.Rolls[at]
		}
	}
	out.Settle()
	return out
}

// rollRates are those of a cluster's rolls in the cells where they have been, each
// at the diameter of its last campaign there.
func (m *Model) rollRates(c *cluster, byCell []tally, rolls []int) []RollRate {
	type key struct{ roll, cell int }
	of := map[key]*tally{}
	var order []key
	for i := range c.observations {
		o := &c.observations[i]
		k := key{o.roll, o.cell}
		t := of[k]
		if t == nil {
			t = &tally{}
			of[k] = t
			order = append(order, k)
			rolls[o.cell]++
		}
		for _, t := range []*tally{t, &byCell[o.cell]} {
			t.campaigns++
			t.incidents += o.incident
			if t.last == nil || !o.endedAt.Before(t.last.endedAt) {
				t.last = o
			}
		}
	}
	list := make([]RollRate, 0, len(order))
	for _, k := range order {
		t := of[k]
		now := m.now(k.cell, t.last.diameter)
		i := c.place(k.roll)
		shared, own := m.withRoll(c, i, now.terms)
		shared += now.more
		rate := math.Exp(now.log + c.own(i, m.mean))
		ofAll, _ := m.withRoll(c, i, nil)
		list = append(list, RollRate{Roll: m.names[k.roll], Cell: m.cells[k.cell].Cell, RateUMPerKM: rate, RateSD: rate * math.Sqrt(shared+own), SharedSD: rate * math.Sqrt(shared),
			Campaigns: t.campaigns, Incidents: t.incidents, DiameterMM: m.diameterOf(t.last), Log: c.own(i, m.mean), LogSD: math.Sqrt(ofAll + own)})
	}
	return list
}

// level is what is believed of a cell now.
type level struct {
	terms         []term
	log, variance float64
	more          float64 // of the variance, for what is suspected
}

// now is the level of a cell, of rolls of a diameter, in a campaign of the usual
// length and force: with the jump that lasts and what is suspected since.
func (m *Model) now(cell int, diameter float64) level {
	o := observation{cell: cell, diameter: diameter, jump: -1}
	stand := &m.stands[m.cells[cell].stand]
	if n := len(stand.jumps); n > 0 && stand.jumps[n-1].until.IsZero() {
		o.jump = n - 1
	}
	l := level{terms: m.terms(&o, nil)}
	s := m.suspicion(m.cells[cell].stand)
	l.log, l.variance, l.more = m.sum(l.terms)+s.mean, m.spread(l.terms)+s.variance, s.variance
	return l
}

// diameterOf an observation's roll; 0 where it was not told.
func (m *Model) diameterOf(o *observation) float64 {
	if o.diameter == 0 {
		return 0
	}
	return m.grades[m.cells[o.cell].grade].diameter - 10*o.diameter
}

func (m *Model) cellRate(i int, t tally, rolls int, g GradeRate) CellRate {
	now := m.now(i, t.last.diameter)
	rate := math.Exp(now.log)
	c := CellRate{Cell: m.cells[i].Cell, RateUMPerKM: rate, RateSD: rate * math.Sqrt(now.variance), BetweenRollSD: rate * m.parts.RollSD, NoiseUM: m.parts.GaugeUM,
		IncidentShare: (20*m.parts.IncidentShare + t.incidents) / (20 + float64(t.campaigns)), Rolls: rolls, Campaigns: t.campaigns, Source: FromCell,
		DiameterMM: m.diameterOf(t.last), Trouble: m.trouble(m.cells[i].stand)}
	if rolls < ownRolls || float64(t.campaigns)-t.incidents < ownCampaigns {
		c.Source = FromGrade
		if g.Rolls < ownRolls || g.Campaigns < ownCampaigns {
			c.Source = FromDefaults
		}
	}
	return c
}

func (m *Model) gradeRate(g int, byCell []tally, rolls []int) GradeRate {
	d := &m.grades[g]
	out := GradeRate{Grade: d.name, StandCV: m.parts.CellSD, RollCV: m.parts.RollSD, NoiseUM: m.parts.GaugeUM, ScatterCV: math.Hypot(m.parts.CampaignSD, m.parts.OwnSD),
		SharedCV: m.parts.CampaignSD, IncidentShare: m.parts.IncidentShare, DiameterMM: d.diameter, Force: d.force, Freshness: d.fresh}
	for i := range m.cells {
		if m.cells[i].grade == g && byCell[i].campaigns > 0 {
			out.Cells++
			out.Campaigns += byCell[i].campaigns
			out.Rolls += rolls[i]
		}
	}
	at := []term{{m.at(effect{kind: ofGrade, of: g}), 1}}
	out.RateUMPerKM = math.Exp(m.sum(at))
	out.RateSD = out.RateUMPerKM * math.Sqrt(m.spread(at))
	for _, f := range [...]struct {
		kind     kind
		mean, sd *float64
	}{{ofDiameter, &out.PerTenMM, &out.PerTenMMSD}, {ofForce, &out.ForceMore, &out.ForceMoreSD}, {ofFresh, &out.FreshMore, &out.FreshMoreSD}} {
		_, variance := m.prior(effect{kind: f.kind})
		if i, ok := m.index[effect{kind: f.kind, of: g}]; ok {
			*f.mean, variance = m.mean[i], m.variance.At(i, i)
		}
		*f.sd = math.Sqrt(variance)
	}
	return out
}
