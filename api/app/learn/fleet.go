package learn

import (
	"time"

	"barrelbook/api/app/port"
	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/roll"
)

// turn is rolls that take turns: of one grade and role in one mill, in one stand
// or, where it is empty, in any.
type turn struct {
	mill  string
	role  mill.Role
	grade string
	stand string
}

// Turns is who takes turns with whom, and how many were lost.
type Turns struct {
	fleets map[turn]forecast.Fleet
	lost   map[RateGroup]int
	cycles map[RateGroup]int
}

// Fleet is the rolls of a grade and role in a mill, in one stand or, where none is
// named, in any.
func (t Turns) Fleet(of RateGroup, grade, stand string) forecast.Fleet {
	return t.fleets[turn{mill: of.Mill, role: of.Role, grade: grade, stand: stand}]
}

// What a mill is taken to lose before it has lost any: one roll in 2,000 cycles,
// which counts as much as 400 cycles of its own. Common practice, no source.
const (
	priorLost     = 0.2
	priorLostOver = 400
)

// LossProbability is the chance that a cycle loses the roll outright: a spall, a
// crack or a neck.
func (t Turns) LossProbability(of RateGroup) float64 {
	return (priorLost + float64(t.lost[of])) / (priorLostOver + float64(t.cycles[of]))
}

// presence is what is remembered of a roll: when it came is never told anew but by
// a correction of its receipt, which a restart takes in.
type presence struct {
	came, gone time.Time
	lost       bool
}

// readTurns reads the rolls again where some came or went.
func (l *Learner) readTurns(r port.Reader, rowsChanged bool) error {
	cut, err := r.RollCut()
	if err != nil || (cut == l.rollCut && !rowsChanged) {
		return err
	}
	names, err := r.RollNames()
	if err != nil {
		return err
	}
	var unread []string
	for _, n := range names {
		if p, ok := l.presence[n.Number]; !ok || p.gone.IsZero() == (n.Stage == roll.StageScrapped) {
			unread = append(unread, n.Number)
		}
	}
	rows, err := r.RollsByNumber(unread)
	if err != nil {
		return err
	}
	if l.presence == nil {
		l.presence = map[string]presence{}
	}
	for _, row := range rows {
		s := row.State
		l.presence[s.Roll.Number] = presence{came: s.ReceivedAt, gone: s.ScrappedAt, lost: s.Stage == roll.StageScrapped && s.ScrapWhy.Lost()}
	}
	l.rollCut, l.turns = cut, l.turnsOf(names)
	return nil
}

func (l *Learner) turnsOf(names []port.RollName) Turns {
	t := Turns{fleets: map[turn]forecast.Fleet{}, lost: map[RateGroup]int{}, cycles: map[RateGroup]int{}}
	for _, n := range names {
		p := l.presence[n.Number]
		of := RateGroup{n.Mill, n.Role}
		if p.lost {
			t.lost[of]++
		}
		t.cycles[of] += len(l.past[n.Number])
		one := forecast.Presence{From: p.came, Until: p.gone}
		key := turn{mill: n.Mill, role: n.Role, grade: n.Grade}
		t.fleets[key] = append(t.fleets[key], one)
		if past := l.past[n.Number]; len(past) > 0 {
			if key.stand = past[len(past)-1].Stand(); key.stand != "" {
				t.fleets[key] = append(t.fleets[key], one)
			}
		}
	}
	return t
}
