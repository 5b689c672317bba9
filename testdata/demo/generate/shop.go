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
	card   []object // lines of its card, from before the books
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
	rolled   int       // pieces
	grooveT  []float64 // through each groove since the last redress, nil on plain barrels
	groove   int       // in use, from 0
	dead     bool
	built    bool // in the books
}

type shop struct {
	rng     *rand.Rand
	look    *rand.Rand // of what is measured
	line    *line
	classes []*class
	sets    map[*class][]*pair   // in the shop, by readiness
	store   map[*class][]*pair   // new, waiting for their first turn
	in      map[string]*pair     // by stand and role
	free    map[bool][]time.Time // when each grinder is free, by whether it is the one for backup rolls
	books   []*book
	events  []event
	pieces  []piece
	story   story
	newSets int
	opens   time.Time // of the books: what is before stands on cards
	opened  bool
	carried int
	leaves  int                 // the programme before which the set comes out that is left for the demo to grind
	waiting map[bool][]grindJob // as free
}

// story is what the demo asks about.
type story struct {
	regrind  *pair
	found    [2]int64
	aim      int64
	slipping string
}

func newShop(l *line, rng *rand.Rand, spares int) *shop {
	s := &shop{rng: rng, look: rand.New(rand.NewPCG(rng.Uint64(), 41)), line: l, classes: l.classes(spares), sets: map[*class][]*pair{}, store: map[*class][]*pair{}, in: map[string]*pair{},
		free: map[bool][]time.Time{false: make([]time.Time, l.grinders), true: make([]time.Time, 1)}}
	s.waiting = map[bool][]grindJob{}
	for _, c := range s.classes {
		if c.prefix == l.left {
			s.leaves = s.programmes() - max(2, l.leftFor, int(math.Ceil((c.coolH+0.5)/168*l.perWeek)))
		}
	}
	s.opens = s.starts(s.programmes() - int(math.Round(l.live*l.perWeek))).Add(-time.Hour)
	return s
}

func (s *shop) programmes() int { return int(math.Round(s.line.weeks * s.line.perWeek)) }

// starts is when the roll changes before a programme are made; programme
// programmes() is the one ahead.
func (s *shop) starts(programme int) time.Time {
	return anchor.Add(-time.Duration(float64(s.programmes()-programme) / s.line.perWeek * 7 * 24 * float64(time.Hour)))
}

// past says whether a moment is told by cards alone.
func (s *shop) past(t time.Time) bool { return t.Before(s.opens) }

func (s *shop) run() {
	began := s.starts(0).Add(-takeOver)
	s.line.setUp(s, s.opens.Add(-12*time.Hour))
	for _, c := range s.classes {
		for i := range c.sets {
			s.receive(c, i, began.Add(time.Duration(i)*apart(c)), s.startUM(c, i))
		}
		for i := range c.store {
			s.stockUp(c, c.firstStored()+i, began)
		}
	}
	for p := range s.programmes() {
		if at := s.starts(p); !s.opened && !s.past(at) {
			s.open(at)
		}
		s.campaign(p)
	}
	s.grindUntil(anchor)
	s.story.found, s.story.aim = s.measure(s.story.regrind)
	s.orders()
}

// takeOver is how long before the first programme the books are begun.
const takeOver = 20 * 24 * time.Hour

// apart is the time between two receipts: all of them come before the first
// programme, however many there are.
func apart(c *class) time.Duration {
	return min(30*time.Minute, takeOver/time.Duration(c.sets+8)).Truncate(time.Second)
}

// firstStored and firstNew number the sets after those of the start: of those in
// the store, and of those bought since.
func (c *class) firstStored() int { return max(60, c.sets) }

func (c *class) firstNew() int { return max(100, c.firstStored()+c.store) }

// startUM spreads the sets over their life, so that some reach their end now and
// then.
func (s *shop) startUM(c *class, i int) int64 {
	part := c.life[0] + (c.life[1]-c.life[0])*float64(i)/float64(max(1, c.sets-1))
	return int64(math.Round((c.scrapMM + (c.newMM-c.scrapMM)*part) * 1000))
}

// receive takes two rolls over at the diameter they have, pairs them and puts the
// set among the ready ones.
func (s *shop) receive(c *class, i int, at time.Time, um int64) {
	set := s.newPair(c, i, um)
	set.readyAt = at.Add(2 * time.Hour)
	for k, b := range set.rolls {
		s.post(s.dated(at), "/v1/rolls", s.receipt(b, i+k, at))
	}
	s.build(set)
	s.sets[c] = append(s.sets[c], set)
}

// stockUp puts a pair of new rolls into the store.
func (s *shop) stockUp(c *class, i int, at time.Time) {
	set := s.newPair(c, i, int64(math.Round(c.newMM*1000)))
	for k, b := range set.rolls {
		s.post(s.dated(at), "/v1/rolls", s.receipt(b, i+k, at))
	}
	s.store[c] = append(s.store[c], set)
}

// dated is when a request about a moment is sent: what is past comes with the
// cards, before the books open.
func (s *shop) dated(at time.Time) time.Time {
	if s.past(at) {
		return s.opens.Add(-6 * time.Hour)
	}
	return at
}

func (s *shop) newPair(c *class, i int, um int64) *pair {
	set := &pair{name: fmt.Sprintf("%s-set-%02d", c.prefix, i+1)}
	for k := range set.rolls {
		set.rolls[k] = &book{number: fmt.Sprintf("%s-%03d", c.prefix, 101+2*i+k), class: c, um: um - int64(k)*int64(s.rng.IntN(30)), rate: c.rate * math.Exp(c.spread*s.rng.NormFloat64())}
		s.books = append(s.books, set.rolls[k])
	}
	return set
}

func (s *shop) receipt(b *book, i int, at time.Time) object {
	c := b.class
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
		"supplier": suppliers[i%3], "certificate": fmt.Sprintf("C-%s", b.number),
		"diameter_mm": float64(b.um) / 1000, "barrel_length_mm": c.barrelMM, "bearing_span_mm": c.spanMM, "neck_diameter_mm": c.neckMM,
		"scrap": scrap, "crown_um": c.crownUM, "hardness_shore_c": round(c.hardness+s.rng.NormFloat64(), 1), "ground": true,
		"price": c.price, "received_at": stamp(at)}
	if float64(b.um) < 1000*c.newMM-100 {
		receipt["new_diameter_mm"], receipt["note"] = c.newMM, "taken over from its card"
	}
	receipt["taper_um"], receipt["runout_um"], receipt["roughness_um"] = 3, 3, c.ra
	receipt["tests"] = s.newTests(c)
	for k, v := range s.shape(b, b.um, c.crownUM, 3) {
		receipt[k] = v
	}
	if g := c.groovesOf(); g != nil {
		receipt["grooves"] = g
	}
	return receipt
}

var suppliers = []string{"Foundry North", "Foundry South", "Foundry Lake"}

// build puts a set into the books when it is ready and they are open.
func (s *shop) build(set *pair) {
	if !s.opened || set.built || set.dead {
		return
	}
	at := later(s.opens.Add(-2*time.Minute), set.readyAt.Add(-time.Minute))
	s.post(at, "/v1/sets", object{"name": set.name, "top": set.rolls[0].number, "bottom": set.rolls[1].number, "at": stamp(at)})
	set.built = true
}

// campaign changes what is due, then rolls a programme.
func (s *shop) campaign(p int) {
	at := s.starts(p)
	for _, c := range s.classes {
		for k, stand := range c.stands {
			// Rolls that a cobble went over come out for their test at the next stop.
			set := s.in[stand+c.role]
			due := (s.leaves-p+k*max(1, c.every/len(c.stands)))%c.every == 0
			if set != nil && s.story.regrind == nil && c.prefix == s.line.left && p >= s.leaves && due && !set.rolls[0].due {
				s.story.regrind = set
			}
			if set == nil || set.rolls[0].due || due {
				s.change(c, stand, at.Add(time.Duration(k)*2*time.Minute), "planned")
			}
		}
	}
	rolling := at.Add(25 * time.Minute)
	pieces := s.line.programme(s.rng, fmt.Sprintf("P%05d", p+1), s.line.pieces)
	s.chooseGrooves(pieces)
	if !s.past(at) {
		s.pieces = append(s.pieces, s.line.rolledFrom(pieces, rolling)...)
	}
	for _, c := range s.classes {
		for _, stand := range c.stands {
			s.wear(s.in[stand+c.role], c, stand, pieces)
		}
	}
	if mishap := s.line.mishaps[s.programmes()-p]; mishap != nil && !s.past(at) {
		mishap(s, rolling)
	}
}

// wear adds a campaign's exposure to the set in a stand.
func (s *shop) wear(set *pair, c *class, stand string, pieces []piece) {
	even := 0.0
	if c.role != "work" {
		even = c.barrelMM
	}
	t, km, weighted := exposure(pieces, stand, even)
	set.weighted += weighted
	set.tonnes += t
	set.rolled += len(pieces)
	set.stated[0] += km
	set.stated[1] += weighted
}

// change takes the worn set out, has it ground when it is cool and a grinder is
// free, and puts in the set that has been ready longest.
func (s *shop) change(c *class, stand string, at time.Time, why string) {
	s.grindUntil(at)
	next := s.nextReady(c, at)
	out := s.in[stand+c.role]
	if s.past(at) {
		if out != nil {
			s.carry(c, stand, out, at)
		}
	} else {
		body := object{"stand": stand, "role": c.role, "at": stamp(at), "set_in": next.name}
		if out != nil {
			body["why"] = why
		}
		s.post(at, "/v1/changes", body)
	}
	s.in[stand+c.role] = next
	next.since = at
	if out != nil {
		s.takeOut(out, at)
	}
}

// takeOut puts a set that came out among those to be ground.
func (s *shop) takeOut(out *pair, at time.Time) {
	for _, b := range out.rolls {
		if b.owed > 0 && !b.due {
			b.due, b.owed = true, b.owed-1
		}
	}
	if out == s.story.regrind {
		return // left for the demo
	}
	c := out.rolls[0].class
	s.waiting[c.heavy()] = append(s.waiting[c.heavy()], grindJob{out, at, at.Add(time.Duration(c.coolH * float64(time.Hour)))})
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

// orders are rolls that have been ordered and not come, one of them late.
func (s *shop) orders() {
	at := anchor.Add(-time.Hour)
	for i, c := range s.classes {
		if c.onOrder == 0 {
			continue
		}
		due := anchor.Add(time.Duration(20+35*i) * 24 * time.Hour)
		if i == 1 {
			due = anchor.Add(-9 * 24 * time.Hour)
		}
		s.post(at, "/v1/orders", object{"name": fmt.Sprintf("PO-%s-%d", c.prefix, 31+i), "mill": s.line.mill, "role": c.role, "stands": c.stands, "grade": c.grade, "supplier": suppliers[i%3], "roll_count": c.onOrder,
			"new_diameter_mm": c.newMM, "scrap_diameter_mm": math.Max(c.scrapMM, c.shellMM), "mass_kg": c.massKG, "price": c.price, "ordered_at": stamp(anchor.Add(-time.Duration(150+10*i) * 24 * time.Hour)), "due_at": stamp(due),
			"warranty": object{"months": 18}})
	}
}
