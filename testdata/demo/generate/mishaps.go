package main

import (
	"fmt"
	"math"
	"time"
)

// cobble hits every roll of a stand.
func (s *shop) cobble(stand string, at time.Time, note string) {
	s.post(at, "/v1/incidents", object{"what": "cobble", "stand": stand, "at": stamp(at), "note": note})
	for _, role := range []string{"work", "backup"} {
		set := s.in[stand+role]
		if set == nil {
			continue
		}
		for _, b := range set.rolls {
			b.owed, b.due = 3, true
		}
	}
}

// mark is a mishap to the top work roll of a stand alone.
func (s *shop) mark(stand, what string, at time.Time, note string) {
	s.post(at, "/v1/incidents", object{"what": what, "roll": s.in[stand+"work"].rolls[0].number, "at": stamp(at), "note": note})
}

// spall ends one late finishing set in the shop: the shell of its bottom roll
// came off beside the barrel's edge.
func (s *shop) spall(at time.Time) {
	c := s.classes[1]
	set := s.nextReady(c, at)
	bottom := set.rolls[1]
	s.post(at, "/v1/incidents", object{"what": "spall", "roll": bottom.number, "at": stamp(at), "note": "shell lost at the barrel edge, 60 mm long, found at the grinder"})
	s.breakSet(set, at.Add(time.Hour))
	s.post(at.Add(2*time.Hour), "/v1/rolls/"+bottom.number+"/scrappings", object{"at": stamp(at.Add(2 * time.Hour)), "why": "spall", "reason": "spall deeper than the stock left"})
	s.post(at.Add(3*time.Hour), "/v1/rolls/"+set.rolls[0].number+"/scrappings", object{"at": stamp(at.Add(3 * time.Hour)), "why": "economic", "reason": "no partner of its diameter"})
	s.receive(c, c.firstNew()+s.newSets, at.Add(96*time.Hour), int64(math.Round(c.newMM*1000)))
	s.newSets++
}

// hold keeps one early set out until a soft spot is settled.
func (s *shop) hold(at time.Time) {
	c := s.classes[0]
	set := s.nextReady(c, at)
	set.dead = true
	s.sets[c] = append(s.sets[c], set)
	s.post(at, "/v1/rolls/"+set.rolls[0].number+"/inspections", object{"at": stamp(at), "tests": []object{{"test": "hardness", "outcome": "unknown", "note": "soft spot at the drive end, to be read again"}}})
	s.post(at.Add(20*time.Minute), "/v1/rolls/"+set.rolls[0].number+"/holds", object{"at": stamp(at.Add(20 * time.Minute)), "reason": "soft spot at the drive end, waiting for a second hardness reading"})
}

// ahead is the programme, its planned stops and what the demo does with it.
func (s *shop) ahead() object {
	pieces := s.line.programme(s.rng, "NEXT", s.line.ahead)
	s.nameGrooves(pieces)
	worn := s.story.regrind.rolls[0]
	regrind := s.regrind(worn, s.story.found[0], s.story.aim, worn.class.usual(), anchor)
	delete(regrind, "at")
	if worn.class.grooves.count > 0 {
		regrind["groove_worn_um"] = math.Round(1000 * s.story.regrind.redressMM(worn.class))
	}
	return object{
		"anchor": stamp(anchor),
		"mill":   s.line.mill,
		"campaign": object{"name": "next", "mill": s.line.mill, "starts_at": stamp(anchor.Add(30 * time.Minute)), "minutes_per_piece": s.line.minutes, "pieces": pieces,
			"planned_stops": s.line.stops},
		"regrind": object{"roll": worn.number, "body": regrind},
		"note":    fmt.Sprintf("an invented works; %g weeks of history, the last %g of them piece by piece", s.line.weeks, s.line.live),
	}
}
