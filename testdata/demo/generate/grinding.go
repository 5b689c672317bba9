package main

import (
	"fmt"
	"math"
	"time"
)

// gaugeUM is the spread of one measurement of a diameter, µm.
const gaugeUM = 6

// grind measures a worn set the day after and grinds both rolls to one
// diameter. The last sets to come out before now are left for the demo.
func (s *shop) grind(set *pair, out time.Time) {
	c := set.rolls[0].class
	at := out.Add(26 * time.Hour)
	var found [2]int64
	aim := int64(math.MaxInt64)
	for k, b := range set.rolls {
		worn := b.rate * set.weighted
		if c.grooves.count > 0 {
			worn = 0 // the grooves wear, not the collars a diameter is measured on
		}
		found[k] = b.um - int64(math.Round(math.Max(0, worn+gaugeUM*s.rng.NormFloat64())))
		stock := int64(math.Round(1000 * set.redressMM(c)))
		stock += int64(math.Round(1000 * c.stock * (1 + 0.12*s.rng.NormFloat64())))
		aim = min(aim, found[k]-max(stock, 40))
	}
	purpose := c.usual()
	for _, b := range set.rolls {
		if b.due {
			aim -= int64(1200 + s.rng.IntN(900))
			purpose = "incident"
			break
		}
	}
	s.sets[c] = append(s.sets[c], set)
	if float64(aim-40) < 1000*math.Max(c.scrapMM, c.shellMM) && at.Before(anchor) {
		s.replace(set, at, "found too near the scrap limit for another grind")
		return
	}
	set.weighted, set.tonnes, set.stated = 0, 0, [2]float64{}
	set.grooveT, set.groove = nil, 0
	if at.After(anchor) {
		set.readyAt = at.Add(7 * 24 * time.Hour)
		s.leaveWorn(set, found, aim)
		return
	}
	for k, b := range set.rolls {
		ground := aim - int64(s.rng.IntN(40))
		if out.After(anchor.Add(-8*24*time.Hour)) && c.prefix == "CW" && set.name == s.slipping() && k == 1 {
			ground = aim - 104 // a pair about to fall out of tolerance
		}
		s.post(at.Add(time.Duration(k)*100*time.Minute), "/v1/rolls/"+b.number+"/regrinds", s.regrind(b, found[k], ground, purpose, at.Add(time.Duration(k)*100*time.Minute)))
		b.um = ground
		b.due = false
	}
	set.readyAt = at.Add(6 * time.Hour)
	s.retire(set, at.Add(7*time.Hour))
}

// regrind is the request for one roll.
func (s *shop) regrind(b *book, found, ground int64, purpose string, at time.Time) object {
	body := object{"found_mm": float64(found) / 1000, "ground_mm": float64(ground) / 1000, "purpose": purpose,
		"at": stamp(at), "crown_um": b.class.crownUM + round(2*s.rng.NormFloat64(), 1), "taper_um": round(math.Min(14, math.Abs(4*s.rng.NormFloat64())), 1),
		"runout_um": round(math.Min(8, 2+math.Abs(2*s.rng.NormFloat64())), 1), "roughness_um": round(b.class.ra+b.class.raSpread*s.rng.NormFloat64(), 2),
		"grinder": fmt.Sprintf("G%d", 1+s.rng.IntN(2))}
	b.grinds++
	body["tests"] = s.groundTests(b)
	for k, v := range s.shape(b, ground, body["crown_um"].(float64), body["taper_um"].(float64)) {
		body[k] = v
	}
	return body
}

// slipping names the set whose pair is about to fall out of tolerance.
func (s *shop) slipping() string {
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

// replace scraps a set and receives a new one.
func (s *shop) replace(set *pair, at time.Time, reason string) {
	s.scrapSet(set, at, "diameter", reason)
	s.receive(set.rolls[0].class, 50+s.newSets, at.Add(24*time.Hour))
	s.newSets++
}

// scrapSet breaks a set and ends both books.
func (s *shop) scrapSet(set *pair, at time.Time, why, reason string) {
	set.dead = true
	s.breakSet(set, at)
	for _, b := range set.rolls {
		s.post(at.Add(10*time.Minute), "/v1/rolls/"+b.number+"/scrappings", object{"at": stamp(at.Add(10 * time.Minute)), "why": why, "reason": reason})
	}
}

func (s *shop) breakSet(set *pair, at time.Time) {
	s.post(at, "/v1/sets/"+set.name+"/breakings", object{"at": stamp(at), "reason": "broken for scrapping"})
}
