package main

import (
	"fmt"
	"time"
)

// mishaps puts the works' bad days into the history: two cobbles, a spall, a
// roll that is held.
func (s *shop) mishaps(week int, rolling time.Time) {
	switch s.weeks - week {
	case s.weeks / 2:
		s.cobble("F5", rolling.Add(3*time.Hour), "tail pulled in at the looper")
	case 3:
		s.cobble("F6", rolling.Add(5*time.Hour), "strip folded at the coiler entry")
	case s.weeks / 3:
		s.spall(rolling.Add(30 * time.Hour))
	case 2:
		s.hold(rolling.Add(40 * time.Hour))
	}
}

// cobble hits every roll of a stand.
func (s *shop) cobble(stand string, at time.Time, note string) {
	s.post(at, "/v1/incidents", object{"what": "cobble", "stand": stand, "at": stamp(at), "note": note})
	for _, role := range []string{"work", "backup"} {
		for _, b := range s.in[stand+role].rolls {
			b.owed, b.due = 3, true
		}
	}
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
	s.receive(c, 50+s.newSets, at.Add(96*time.Hour))
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

// leaveWorn keeps a set that came out just before now for the demo to grind.
func (s *shop) leaveWorn(set *pair, found [2]int64, aim int64) {
	if s.story.regrind != nil || set.rolls[0].class.prefix != "CW" {
		return
	}
	s.story.regrind, s.story.found, s.story.aim = set, found, aim
}

// eve is the last day before now: the late stands change for the programme
// ahead, and their worn sets lie in the shop.
func (s *shop) eve() {
	at := anchor.Add(-22 * time.Hour)
	c := s.classes[1]
	for k, stand := range c.stands {
		s.change(c, stand, at.Add(time.Duration(k)*12*time.Minute), "planned")
	}
}

// ahead is the programme, its planned stops and what the demo does with it.
func (s *shop) ahead() object {
	n := 240
	pieces := programme(s.rng, "NEXT", n)
	worn := s.story.regrind.rolls[0]
	regrind := s.regrind(worn, s.story.found[0], s.story.aim, "wear", anchor)
	delete(regrind, "at")
	regrind["tests"] = []object{{"test": "visual", "outcome": "passed"}}
	if worn.due {
		regrind["tests"] = append(regrind["tests"].([]object), object{"test": "eddy_current", "outcome": "passed"})
	}
	return object{
		"anchor": stamp(anchor),
		"mill":   millName,
		"campaign": object{"name": "next", "mill": millName, "starts_at": stamp(anchor.Add(4 * time.Hour)), "minutes_per_piece": minutesPerPiece, "pieces": pieces,
			"planned_stops": []object{{"before_piece": 76, "name": "shear blade", "minutes": 20}, {"before_piece": 161, "name": "shift handover and inspection", "minutes": 30}}},
		"regrind": object{"roll": worn.number, "body": regrind},
		"note":    fmt.Sprintf("an invented works; %d weeks of history", s.weeks),
	}
}
