package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

// book is one roll as the generator knows it, with its hidden true rate.
type book struct {
	number string
	class  *class
	um     int64 // diameter, µm
	rate   float64
	owed   int  // eddy current tests still to come after a cobble
	due    bool // one is due now
	grinds int
}

// pair is a set that stays together.
type pair struct {
	name     string
	rolls    [2]*book
	readyAt  time.Time
	since    time.Time // mounted
	weighted float64   // exposure of the running mounting
	stated   [2]float64
	tonnes   float64
	grooveT  []float64 // through each groove since the last redress, nil on plain barrels
	groove   int       // in use, from 0
	dead     bool
}

type shop struct {
	rng        *rand.Rand
	look       *rand.Rand // of what is measured
	line       *line
	weeks      int
	pieceWeeks int
	classes    []*class
	sets       map[*class][]*pair // in the shop, by readiness
	in         map[string]*pair   // by stand and role
	events     []event
	pieces     []piece
	story      story
	newSets    int
}

// story is what the demo asks about.
type story struct {
	regrind  *pair
	found    [2]int64
	aim      int64
	slipping string
}

func newShop(l *line, rng *rand.Rand, spares int) *shop {
	return &shop{rng: rng, look: rand.New(rand.NewPCG(rng.Uint64(), 41)), line: l, weeks: l.weeks, pieceWeeks: l.pieceWeeks, classes: l.classes(spares), sets: map[*class][]*pair{}, in: map[string]*pair{}}
}

// weekStart is when the roll changes of a week are made; week weeks-1 is the
// last before now.
func (s *shop) weekStart(week int) time.Time {
	return anchor.Add(time.Duration(week-s.weeks) * 7 * 24 * time.Hour)
}

func (s *shop) run() {
	opened := s.weekStart(0).Add(-20 * 24 * time.Hour)
	s.line.setUp(s, opened.Add(-time.Hour))
	for _, c := range s.classes {
		for i := range c.sets {
			s.receive(c, i, opened.Add(time.Duration(i)*30*time.Minute))
		}
	}
	for week := range s.weeks {
		s.week(week)
	}
	s.line.eve(s)
}

// receive takes two rolls into the books at the diameter they have, pairs them
// and puts the set among the ready ones.
func (s *shop) receive(c *class, i int, at time.Time) {
	// Sets are spread over their life; the first of each class is near its end.
	span := c.newMM - c.scrapMM
	part := min(1, 0.25+0.7*float64(i)/float64(max(1, c.sets-1)))
	um := int64(math.Round((c.scrapMM + span*part) * 1000))
	if i == 0 {
		um = int64(math.Round((c.scrapMM + nearEnd(c, s.weeks)) * 1000))
	}
	set := &pair{name: fmt.Sprintf("%s-set-%02d", c.prefix, i+1), readyAt: at.Add(2 * time.Hour)}
	for k := range set.rolls {
		b := &book{number: fmt.Sprintf("%s-%03d", c.prefix, 101+2*i+k), class: c, um: um - int64(k)*int64(s.rng.IntN(30)), rate: c.rate * math.Exp(c.spread*s.rng.NormFloat64())}
		set.rolls[k] = b
		scrap := object{"nominal_mm": c.scrapMM}
		switch {
		case c.shellMM > 0 && c.composite():
			scrap["shell_depth_mm"] = c.shellMM
		case c.shellMM > 0:
			scrap["hardened_depth_mm"] = c.shellMM
		case c.composite():
			scrap["shell_depth_mm"] = c.scrapMM - 6
		}
		receipt := object{"number": b.number, "role": c.role, "grade": c.grade, "mill": s.line.mill, "stands": c.stands,
			"supplier": []string{"Foundry North", "Foundry South", "Foundry Lake"}[(i+k)%3], "certificate": fmt.Sprintf("C-%s", b.number),
			"diameter_mm": float64(b.um) / 1000, "barrel_length_mm": c.barrelMM, "bearing_span_mm": c.spanMM, "neck_diameter_mm": c.neckMM,
			"scrap": scrap, "crown_um": c.crownUM, "hardness_shore_c": round(c.hardness+s.rng.NormFloat64(), 1), "ground": true,
			"price": c.price, "received_at": stamp(at), "note": "taken over from the paper card"}
		receipt["taper_um"], receipt["runout_um"], receipt["roughness_um"] = 3, 3, c.ra
		receipt["tests"] = s.newTests(c)
		for k, v := range s.shape(b, b.um, c.crownUM, 3) {
			receipt[k] = v
		}
		if g := c.groovesOf(); g != nil {
			receipt["grooves"] = g
		}
		s.post(at, "/v1/rolls", receipt)
	}
	s.post(at.Add(2*time.Hour), "/v1/sets", object{"name": set.name, "top": set.rolls[0].number, "bottom": set.rolls[1].number, "at": stamp(at.Add(2 * time.Hour))})
	s.sets[c] = append(s.sets[c], set)
}

// nearEnd is the stock, mm, that leaves the first set of a class a few tenths
// at the end of the history.
func nearEnd(c *class, weeks int) float64 {
	turns := float64(weeks) / float64(c.weeks) * float64(len(c.stands)) / float64(c.sets)
	return turns*(c.stock+c.wear) + 1.2
}

// week changes what is due, then rolls a campaign.
func (s *shop) week(week int) {
	start := s.weekStart(week)
	for _, c := range s.classes {
		for k, stand := range c.stands {
			// Rolls that a cobble went over come out for their test at the next
			// change day.
			if s.in[stand+c.role] == nil || s.in[stand+c.role].rolls[0].due || (week+k*max(1, c.weeks/len(c.stands)))%c.weeks == 0 {
				s.change(c, stand, start.Add(time.Duration(k)*12*time.Minute), "planned")
			}
		}
	}
	rolling := start.Add(4 * time.Hour)
	pieces := s.line.programme(s.rng, fmt.Sprintf("W%03d", week+1), s.line.perWeek)
	s.chooseGrooves(pieces)
	sent := week >= s.weeks-s.pieceWeeks
	if sent {
		s.pieces = append(s.pieces, s.line.rolledFrom(pieces, rolling)...)
	}
	for _, c := range s.classes {
		for _, stand := range c.stands {
			s.wear(s.in[stand+c.role], c, stand, pieces, sent)
		}
	}
	s.line.mishaps(s, week, rolling)
}

// wear adds a campaign's exposure to the set in a stand.
func (s *shop) wear(set *pair, c *class, stand string, pieces []piece, sent bool) {
	even := 0.0
	if c.role != "work" {
		even = c.barrelMM
	}
	t, km, weighted := exposure(pieces, stand, even)
	set.weighted += weighted
	if !sent {
		set.tonnes += t
		set.stated[0] += km
		set.stated[1] += weighted
	}
}

// change takes the worn set out, grinds it the next day, and puts the next
// ready one in.
func (s *shop) change(c *class, stand string, at time.Time, why string) {
	next := s.nextReady(c, at)
	body := object{"stand": stand, "role": c.role, "at": stamp(at), "set_in": next.name}
	out := s.in[stand+c.role]
	if out != nil {
		body["why"] = why
		if out.stated[0] > 0 {
			body["stated_tonnage_t"] = round(out.tonnes, 1)
			body["stated_rolled_km"] = round(out.stated[0], 3)
			body["stated_specific_force_kn_per_mm"] = round(10*out.stated[1]/out.stated[0], 4)
		}
	}
	s.post(at, "/v1/changes", body)
	s.in[stand+c.role] = next
	next.since = at
	if out != nil {
		for _, b := range out.rolls {
			if b.owed > 0 && !b.due {
				b.due, b.owed = true, b.owed-1
			}
		}
		s.grind(out, at)
	}
}

// nextReady takes the set that has been ready longest.
func (s *shop) nextReady(c *class, at time.Time) *pair {
	best := -1
	for i, set := range s.sets[c] {
		if !set.dead && set.readyAt.Before(at) && (best < 0 || set.readyAt.Before(s.sets[c][best].readyAt)) {
			best = i
		}
	}
	if best < 0 {
		panic("no ready set of " + c.prefix + " on " + stamp(at) + ": give more spares")
	}
	set := s.sets[c][best]
	s.sets[c] = append(s.sets[c][:best:best], s.sets[c][best+1:]...)
	return set
}
