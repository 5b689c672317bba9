package main

import (
	"math"
	"slices"
	"time"
)

// grindJob is a worn set that waits for a grinder.
type grindJob struct {
	set  *pair
	out  time.Time
	cool time.Time
}

// heavy says whether the rolls go onto the grinder for backup rolls.
func (c *class) heavy() bool { return c.role == "backup" }

// grindUntil has the grinders work off the worn sets that are cool, the one that
// has been cool longest first, as far as they begin before a moment.
func (s *shop) grindUntil(until time.Time) {
	for _, heavy := range []bool{false, true} {
		s.workOff(heavy, until)
	}
}

func (s *shop) workOff(heavy bool, until time.Time) {
	free := s.free[heavy]
	for {
		jobs := s.waiting[heavy]
		slices.SortStableFunc(jobs, func(a, b grindJob) int { return a.cool.Compare(b.cool) })
		g := 0
		for i := range free {
			if free[i].Before(free[g]) {
				g = i
			}
		}
		if len(jobs) == 0 {
			return
		}
		job := jobs[0]
		begin := job.cool
		if free[g].After(begin) {
			begin = free[g]
		}
		c := job.set.rolls[0].class
		each := time.Duration(c.grindMin * float64(time.Minute))
		if !begin.Add(2 * each).Before(until) {
			return
		}
		s.waiting[heavy] = jobs[1:]
		free[g] = begin.Add(2 * each)
		s.grind(job, begin.Add(each))
	}
}

// hand is the spread of the stock that is taken: whole millimetres are turned off
// by the practice's figure, tenths are ground until the surface is clean.
func (c *class) hand() float64 {
	if c.stock > 3 {
		return 0.05
	}
	return 0.12
}

// measure is what a worn set is found at, and the diameter that both rolls are
// to be ground to.
func (s *shop) measure(set *pair) (found [2]int64, aim int64) {
	c := set.rolls[0].class
	aim = math.MaxInt64
	for k, b := range set.rolls {
		worn := b.rate * set.weighted
		if c.grooves.count > 0 {
			worn = 0 // the grooves wear, not the collars a diameter is measured on
		}
		found[k] = b.um - int64(math.Round(math.Max(0, worn+s.line.gaugeUM*s.rng.NormFloat64())))
		stock := int64(math.Round(1000 * set.redressMM(c)))
		stock += int64(math.Round(1000 * c.stock * (1 + c.hand()*s.rng.NormFloat64())))
		aim = min(aim, found[k]-max(stock, 40))
	}
	return found, aim
}

// grind measures a worn set and grinds both rolls to one diameter, the first at a
// moment, the other after it.
func (s *shop) grind(job grindJob, at time.Time) {
	set := job.set
	c := set.rolls[0].class
	found, aim := s.measure(set)
	purpose := c.usual()
	if set.rolls[0].due || s.past(job.out) && s.rng.Float64() < c.mishap {
		aim -= int64(1200 + s.rng.IntN(900))
		purpose = "incident"
	}
	s.sets[c] = append(s.sets[c], set)
	if float64(aim-40) < 1000*math.Max(c.scrapMM, c.shellMM) {
		s.replace(set, at, "found too near the scrap limit for another grind")
		return
	}
	worn := set.redressMM(c)
	set.weighted, set.tonnes, set.rolled, set.stated = 0, 0, 0, [2]float64{}
	set.grooveT, set.groove = nil, 0
	each := time.Duration(c.grindMin * float64(time.Minute))
	for k, b := range set.rolls {
		ground := aim - int64(s.rng.IntN(40))
		if job.out.After(anchor.Add(-36*time.Hour)) && set.name == s.slipping() && k == 1 {
			ground = aim - 104 // a pair about to fall out of tolerance
		}
		done := at.Add(time.Duration(k) * each)
		body := s.regrind(b, found[k], ground, purpose, done)
		if c.grooves.count > 0 {
			body["groove_worn_um"] = math.Round(1000 * worn * (1 + 0.04*s.look.NormFloat64()))
		}
		if last := len(b.card) - 1; s.past(done) {
			b.card[last]["regrind"] = body
		} else {
			s.post(done, "/v1/rolls/"+b.number+"/regrinds", body)
		}
		b.um = ground
		b.due = false
	}
	set.readyAt = at.Add(each + 30*time.Minute)
	s.retire(set, set.readyAt.Add(10*time.Minute))
	s.build(set)
}

// regrind is the request for one roll.
func (s *shop) regrind(b *book, found, ground int64, purpose string, at time.Time) object {
	body := object{"found_mm": float64(found) / 1000, "ground_mm": float64(ground) / 1000, "purpose": purpose,
		"at": stamp(at), "crown_um": b.class.crownUM + round(2*s.rng.NormFloat64(), 1), "taper_um": round(math.Min(14, math.Abs(4*s.rng.NormFloat64())), 1),
		"runout_um": round(math.Min(8, 2+math.Abs(2*s.rng.NormFloat64())), 1), "roughness_um": round(b.class.ra+b.class.raSpread*s.rng.NormFloat64(), 2),
		"grinder": []string{"G1", "G2", "G3"}[s.rng.IntN(s.line.grinders)]}
	b.grinds++
	body["tests"] = s.groundTests(b)
	for k, v := range s.shape(b, ground, body["crown_um"].(float64), body["taper_um"].(float64)) {
		body[k] = v
	}
	return body
}

// slipping names the set whose pair is about to fall out of tolerance.
func (s *shop) slipping() string {
	if s.line.left != "CW" {
		return "none"
	}
	if s.story.slipping == "" {
		s.story.slipping = "none"
		var latest time.Time
		for _, set := range s.sets[s.classes[1]] {
			if set.since.After(latest) && set.rolls[0].owed == 0 {
				latest, s.story.slipping = set.since, set.name
			}
		}
	}
	return s.story.slipping
}

// retire scraps a set that has no stock for another grind and receives a new
// one in its place.
func (s *shop) retire(set *pair, at time.Time) {
	c := set.rolls[0].class
	limit := math.Max(c.scrapMM, c.shellMM)
	least := 1000 * (limit + 0.25)
	if float64(set.rolls[0].um) > least && float64(set.rolls[1].um) > least {
		return
	}
	s.replace(set, at, "no stock left for another campaign")
}

// replace scraps a set and puts a new one in its place, from the store where it
// has one.
func (s *shop) replace(set *pair, at time.Time, reason string) {
	s.scrapSet(set, at, "diameter", reason)
	c := set.rolls[0].class
	if len(s.store[c]) > 0 {
		fresh := s.store[c][0]
		s.store[c] = s.store[c][1:]
		fresh.readyAt = at.Add(4 * time.Hour)
		s.build(fresh)
		s.sets[c] = append(s.sets[c], fresh)
	} else {
		s.receive(c, c.firstNew()+s.newSets, at.Add(2*time.Hour), int64(math.Round(c.newMM*1000)))
	}
	if s.past(at) { // what was used is bought again
		s.newSets++
		s.stockUp(c, c.firstNew()+s.newSets, at.Add(3*time.Hour))
		return
	}
	s.newSets++
}

// scrapSet breaks a set and ends both books.
func (s *shop) scrapSet(set *pair, at time.Time, why, reason string) {
	set.dead = true
	if set.built {
		s.breakSet(set, at)
	}
	sent := at.Add(10 * time.Minute)
	if s.past(at) {
		sent = s.opens.Add(-4 * time.Hour)
	}
	for _, b := range set.rolls {
		s.post(sent, "/v1/rolls/"+b.number+"/scrappings", object{"at": stamp(at.Add(10 * time.Minute)), "why": why, "reason": reason})
	}
}

func (s *shop) breakSet(set *pair, at time.Time) {
	s.post(at, "/v1/sets/"+set.name+"/breakings", object{"at": stamp(at), "reason": "broken for scrapping"})
}
