package main

import (
	"math/rand/v2"
	"time"
)

// line is one mill of the works: its data and what is particular to it. The
// roll shop behind it is the same for all.
type line struct {
	folder     string // under testdata/demo, and the name on the command line
	mill       string
	minutes    float64 // per piece
	perWeek    int     // pieces of a weekly campaign
	weeks      int     // of history
	pieceWeeks int     // at the end for which each piece is kept
	left       string  // prefix of the class whose worn set is left for the demo to grind
	ahead      int     // pieces of the programme ahead
	stops      []object
	classes    func(spares int) []*class
	setUp      func(s *shop, at time.Time)
	programme  func(rng *rand.Rand, name string, n int) []piece
	mishaps    func(s *shop, week int, rolling time.Time)
	// eve is the last day before now: some stands change for the programme
	// ahead, and their worn sets lie in the shop.
	eve func(s *shop)
}

// lines are the mills; a mill's place decides its random numbers.
func lines() []*line {
	return []*line{hotStrip(), cogging(), billet(), bar(), plate(), coldTandem(), temper(), sixHigh()}
}

// class is a sort of roll that shares stands, grade and practice.
type class struct {
	prefix   string
	role     string
	stands   []string
	grade    string
	newMM    float64
	scrapMM  float64
	shellMM  float64 // of a composite roll, else the hardened depth
	barrelMM float64
	spanMM   float64
	neckMM   float64
	hardness float64
	price    int64
	sets     int // per spare factor
	weeks    int // between changes at a stand
	crownUM  float64
	stock    float64 // mm ground off below the wear
	rate     float64 // hidden true wear, µm per km at 10 kN/mm
	spread   float64 // of the rate from roll to roll
	wear     float64 // mm a campaign wears about, for spreading the diameters only
	ra       float64 // µm after grinding
	raSpread float64
	purpose  string // of a normal grind, wear when empty
	grooves  grooving
}

// mishapless is a mill without a bad day.
func mishapless(*shop, int, time.Time) {}

// changeSome changes so many stands of a class on the eve.
func changeSome(class, stands int) func(*shop) {
	return func(s *shop) {
		at := anchor.Add(-22 * time.Hour)
		c := s.classes[class]
		for k, stand := range c.stands[:stands] {
			s.change(c, stand, at.Add(time.Duration(k)*12*time.Minute), "planned")
		}
	}
}

// practiceOf is a practice of a mill for a stand, role or grade; "" for any.
func practiceOf(mill, name, stand, role, grade string, values object) object {
	scope := object{"mill": mill}
	for k, v := range map[string]string{"stand": stand, "role": role, "grade": grade} {
		if v != "" {
			scope[k] = v
		}
	}
	return object{"name": name, "scope": scope, "values": values}
}

// postAll posts a list to one path.
func (s *shop) postAll(at time.Time, path string, list []object) {
	for _, o := range list {
		s.post(at, path, o)
	}
}
