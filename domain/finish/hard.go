package finish

import (
	"fmt"
	"math"

	"barrelbook/domain/limit"
	"barrelbook/domain/mill"
)

// bar is a hard limit that is passed, or another reason why the stand cannot
// run.
type bar struct {
	why string
	// piece is the first that cannot be rolled, counted from the first one asked
	// about from 1; 0 where none can.
	piece  int
	role   mill.Role
	byTest bool
	kind   Criterion
}

// checkBeforehand holds what is known beforehand against its limits: margins, and what
// bars the way.
func (r *run) checkBeforehand() (margins []Margin, bars []bar) {
	bars = append(bars, r.setBars()...)
	for _, f := range limit.FixedOf(r.ahead) {
		m := r.fixed(&f)
		margins = append(margins, m)
		if m.Probability > 0 || f.Informs {
			continue
		}
		b := bar{role: r.roleNamed(m.Roll), kind: m.Criterion, why: m.Roll + ": " + m.kind.Over(m.Limit, m.AtEnd)}
		if m.Reached != nil {
			b.piece = m.Reached.pastStart
			b.why = fmt.Sprintf("piece %d (%s): %s %s, limit of %s %s", m.Reached.Piece, m.Reached.PieceID, m.kind.Words, m.kind.Value(m.AtEnd), r.in.Stand.Name, m.kind.Value(m.Limit))
		}
		bars = append(bars, b)
	}
	for i, why := range r.misfit {
		if why != "" {
			bars = append(bars, bar{why: fmt.Sprintf("piece %d (%s): %s", r.in.FromPiece+i, r.pieces[i].ID, why), piece: i + 1, role: mill.Work})
			break
		}
	}
	return margins, bars
}

// fixed is the margin of a figure known beforehand.
func (r *run) fixed(f *limit.Fixed) Margin {
	m := Margin{kind: f.Kind, Roll: f.Roll, Criterion: f.Criterion, Unit: f.Unit, Limit: f.Limit, Now: f.Now, AtEnd: f.Now, Hard: !f.Informs, Probability: 1}
	if r.in.Explain {
		m.Source = f.Source
	}
	if f.PerPiece == nil {
		m.Probability = certain(!f.Passed(f.Now))
	} else {
		r.worst(f, &m)
	}
	m.AtEndLow, m.AtEndHigh, m.ReachedP10 = m.AtEnd, m.AtEnd, m.Reached
	return m
}

// worst fills a margin from a figure per piece.
func (r *run) worst(f *limit.Fixed, m *Margin) {
	m.AtEnd = math.NaN()
	for i, v := range f.PerPiece {
		if math.IsNaN(v) {
			continue
		}
		if f.ByForce {
			v *= r.restrict
		}
		if math.IsNaN(m.AtEnd) || v > m.AtEnd && !f.Falls || v < m.AtEnd && f.Falls {
			m.AtEnd = v
			if f.Rolls != nil {
				m.Roll = f.Rolls[i]
			}
		}
		if f.Passed(v) && m.Reached == nil {
			m.Reached, m.Probability = r.reached(i+1), 0
		}
	}
	if math.IsNaN(m.AtEnd) {
		m.AtEnd = f.Now
	}
}

// setBars are empty places and what the books hold against the sets.
func (r *run) setBars() (bars []bar) {
	for _, one := range []struct {
		set  *Set
		role mill.Role
	}{{r.work(), mill.Work}, {&r.stand.Intermediate, mill.Intermediate}, {r.backup(), mill.Backup}} {
		if !r.in.Stand.Arrangement.Takes(one.role) {
			continue
		}
		if len(one.set.Rolls) < 2 {
			bars = append(bars, bar{why: fmt.Sprintf("%s has no %s set in it", r.in.Stand.Name, one.role), role: one.role})
		}
		for _, b := range one.set.Blocks {
			bars = append(bars, bar{why: b.Why, role: one.role, byTest: b.ByTest})
		}
	}
	return bars
}

func (r *run) roleNamed(number string) mill.Role {
	for j, roll := range r.rolls() {
		if roll.Number == number {
			return r.roleOf(j)
		}
	}
	return mill.Work
}
