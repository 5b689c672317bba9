package stockplan_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"barrelbook/domain/stockplan"
)

var shops = flag.Int("shops", 10, "simulated shops that follow the buying plan")

// shopOf is a shop whose rolls end when they end: a life of so many days, of which
// the forecast knows the law, with a pace that all share and that wanders.
type shopOf struct {
	random *rand.Rand
	needed int
	lead   float64
	life   float64
	rolls  []lifeOf
	due    []float64 // day each roll on order comes, as ordered
	comes  []float64 // and as it will
	count  int
}

type lifeOf struct {
	name string
	left float64 // days at the usual pace
}

func (s *shopOf) add(left float64) {
	s.count++
	s.rolls = append(s.rolls, lifeOf{name: fmt.Sprint(s.count), left: left})
}

// plan asks which rolls to order now. The forecasts are honest: the truth is drawn
// from the law that is told.
func (s *shopOf) plan(t *testing.T, day, shared, level float64) int {
	g := stockplan.Group{Name: "g", Needed: s.needed, DeliveryDays: s.lead, ShortChance: level}
	at := func(d float64) time.Time { return now.Add(time.Duration((day + d) * 24 * float64(time.Hour))) }
	for _, r := range s.rolls {
		sd := math.Hypot(ownSD(r.left), shared*r.left)
		g.Rolls = append(g.Rolls, stockplan.Roll{Number: r.name, ScrapP10: at(math.Max(0, r.left-1.2816*sd)), ScrapP50: at(math.Max(0, r.left)), ScrapP90: at(math.Max(0, r.left+1.2816*sd)), SharedCV: shared})
	}
	for _, d := range s.due {
		g.Due = append(g.Due, at(d-day))
	}
	p, err := stockplan.Make(stockplan.Input{Now: at(0), Until: at(7), Pace: 1, Groups: []stockplan.Group{g}})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, o := range p.Orders {
		if !o.OrderBy.After(at(3.5)) { // nearer to this asking than to the next
			n++
		}
	}
	return n
}

// dayCV is the spread of what one day takes off a roll over what it takes on average:
// that of grinds each 8 days which differ by 0.6 of their mean.
const dayCV = 1.7

// ownSD is how far the end of a roll may be off by that: a walk of so many steps.
func ownSD(left float64) float64 { return dayCV * math.Sqrt(left) }

// TestBuyingFollowed follows the plan in simulated shops: the share of days on which
// one is short is to be within 2 points of the level asked, and the rolls that lie
// beyond what is needed few. Run it with -shops 1000.
func TestBuyingFollowed(t *testing.T) {
	for _, level := range []float64{0.05, 0.10} {
		shortDays, days, over := 0, 0, 0.0
		for seed := range *shops {
			s := &shopOf{random: rand.New(rand.NewPCG(uint64(seed), 9)), needed: 18, lead: 120, life: 400}
			for range s.needed + 2 {
				s.add(s.life * s.random.Float64())
			}
			// A pace of each quarter by itself; over the time of a delivery two thirds of
			// that are left.
			const quarter, shared = 0.08, 0.063
			pace := 1.0
			for day := 0.0; day < 900; day++ {
				if int(day)%7 == 0 {
					for range s.plan(t, day, shared, level) {
						s.due = append(s.due, day+s.lead)
						s.comes = append(s.comes, day+s.lead*(1+0.1*s.random.NormFloat64()))
					}
				}
				if int(day)%90 == 0 {
					pace = math.Exp(quarter * s.random.NormFloat64())
				}
				for i := 0; i < len(s.comes); {
					if s.comes[i] > day {
						i++
						continue
					}
					s.comes, s.due = append(s.comes[:i], s.comes[i+1:]...), append(s.due[:i], s.due[i+1:]...)
					s.add(s.life * (1 + 0.1*s.random.NormFloat64()))
				}
				left := s.rolls[:0]
				for _, r := range s.rolls {
					if r.left -= pace * (1 + dayCV*s.random.NormFloat64()); r.left > 0 {
						left = append(left, r)
					}
				}
				s.rolls = left
				if day >= 300 {
					days++
					if len(s.rolls) < s.needed {
						shortDays++
					}
					over += math.Max(0, float64(len(s.rolls)-s.needed))
				}
			}
		}
		share, beyond := float64(shortDays)/float64(days), over/float64(days)
		t.Logf("level %.2f: short on %.3f of %d days, %.2f rolls beyond the %d needed", level, share, days, beyond, 18)
		within := 0.02
		if *shops < 80 { // as far as so few shops can tell
			within = 0.045
		}
		if math.Abs(share-level) > within {
			t.Errorf("short on %.3f of the days, asked for %.2f", share, level)
		}
	}
}
