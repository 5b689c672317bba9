package main

import (
	"math/rand/v2"
	"time"
)

// line is one mill of the works: its data and what is particular to it. The
// roll shop behind it is the same for all.
type line struct {
	folder    string // under testdata/demo, and the name on the command line
	mill      string
	minutes   float64 // per piece
	pieces    int     // of a programme
	perWeek   float64 // programmes
	weeks     float64 // of history
	live      float64 // weeks at its end with each change, grind and piece
	grinders  int
	gaugeUM   float64 // spread of one measurement of a diameter
	left      string  // prefix of the class whose worn set is left for the demo to grind
	leftFor   int     // programmes that it has lain there; 0 for the fewest in which it cools
	ahead     int     // pieces of the programme ahead
	stops     []object
	classes   func(spares int) []*class
	setUp     func(s *shop, at time.Time)
	programme func(rng *rand.Rand, name string, n int) []piece
	// mishaps are the bad days, by programmes before now.
	mishaps map[int]func(s *shop, rolling time.Time)
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
	massKG   float64
	hardness float64
	price    int64
	sets     int        // that go round, per spare factor
	life     [2]float64 // share of the life left, from the most worn set to the least
	store    int        // pairs of new rolls in the store
	onOrder  int        // rolls
	every    int        // programmes between changes at a stand
	coolH    float64    // as the practice has it
	grindMin float64    // per roll, as the practice has it
	crownUM  float64
	stock    float64 // mm ground off below the wear
	rate     float64 // hidden true wear, µm per km at 10 kN/mm
	spread   float64 // of the rate from roll to roll
	mishap   float64 // share of past campaigns that ended in a mishap
	ra       float64 // µm after grinding
	raSpread float64
	purpose  string // of a normal grind, wear when empty
	grooves  grooving
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
