// Package world is hot strip works whose truth nobody in them knows, for tests
// alone: what is learned, forecast, planned and bought is held against works that
// break what the models take for granted. No world is a model of this house.
//
// A world runs day by day from a seed. A Policy decides what a shop decides (which
// set goes in when, how many rolls are ordered), and a function hears what a shop
// would write down, in order of time, with the truth beside it:
//
//	w := world.New(world.Trouble(), 1)
//	err := w.Run(540, world.Foreman{}, func(e world.Event) error {
//		switch e := e.(type) {
//		case *world.Receipt:   // a roll came: number, diameter as read
//		case *world.Built:     // a set of two rolls
//		case *world.Announced: // a programme, before its first piece: ask here;
//			// w.Ahead(stand, set, e) is what truly becomes of a set over it
//		case *world.Incident:  // a cobble in a stand
//		case *world.Rolled:    // pieces as they were rolled, in order
//		case *world.Change:    // a set out of a stand, and another in
//		case *world.Regrind:   // found and ground as written down, and as they are
//		case *world.Lost:      // a roll that broke
//		}
//		return nil
//	})
//
// Run again goes on where it stopped, so that what came of the last answers can be
// waited for with nobody listening. The same seed gives the same pieces, forces,
// trouble and gauges whatever the policy: two policies are compared on one truth.
//
// Lengths are micrometres on diameter, true ones as float64. The figures of the
// train are common practice, no source.
package world

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strconv"
	"time"
)

// Start is the first day of every world.
var Start = time.Date(2031, 1, 6, 6, 0, 0, 0, time.UTC)

// Mill and its grades by group of stands, as the events name them.
const Mill = "hot"

// World is one works as it is.
type World struct {
	Truth  Truth
	Ledger Ledger

	seed      uint64
	now       time.Time
	day       int
	programme int // programmes announced so far
	stands    []*stand
	groups    []*group
	rolls     map[string]*Roll
	order     []*Roll // all rolls that ever came, in order of receipt
	sets      map[string]*Set
	waiting   []*job // sets that cool, are ground or assembled, by the time they are ready
	grinders  []time.Time
	began     bool
	hear      func(Event) error
}

// Ledger is what a policy did to the works.
type Ledger struct {
	Days       int
	Programmes int
	Pieces     int
	Changes    int
	// MidStops are stops in a programme, Unplanned those of them that a limit
	// passed or a mishap forced.
	MidStops, Unplanned, Mishaps int
	// UnusedUM is what the sets taken out had left to their limit, BeyondUM what
	// they were past it.
	UnusedUM, BeyondUM float64
	// Waited is hours in which the mill stood because no set was ready.
	Waited float64
	// Of each group: days on which it had fewer rolls than it needs, the sum over
	// the days of the rolls beyond, and what was bought.
	ShortDays, SurplusRollDays, Bought []int
}

// New is a world on its first day. Nothing has been heard of it yet.
func New(t Truth, seed uint64) *World {
	w := &World{Truth: t, seed: seed, now: Start, rolls: map[string]*Roll{}, sets: map[string]*Set{}}
	w.grinders = make([]time.Time, len(t.Grinders))
	w.train()
	return w
}

// Now is the moment the world has come to, Day its day from 0.
func (w *World) Now() time.Time { return w.now }

// Day is the day of Now, from 0.
func (w *World) Day() int { return w.day }

// draw is a stream of its own for each thing that chance decides, so that no
// decision of a policy shifts any other draw.
func (w *World) draw(what string, keys ...int) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(what))
	for _, k := range keys {
		h.Write([]byte("/" + strconv.Itoa(k)))
	}
	return rand.New(rand.NewPCG(w.seed, h.Sum64()))
}

// factor is a positive factor of mean about 1 with the spread given, of Student's
// t with so many degrees of freedom where tail is above 0.
func factor(r *rand.Rand, cv float64, tail int) float64 {
	z := r.NormFloat64()
	if tail > 2 {
		chi := 0.0
		for range tail {
			x := r.NormFloat64()
			chi += x * x
		}
		z *= math.Sqrt(float64(tail-2) / chi) // unit variance
	}
	return math.Exp(cv*max(-6, min(6, z)) - cv*cv/2)
}
