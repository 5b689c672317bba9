package world

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"time"
)

// Roll is one roll. What is exported a shop knows; the truth is asked by methods.
type Roll struct {
	Number         string
	Group          int
	Grade          string
	NewUM, ScrapUM int64
	ReceivedAt     time.Time
	GoneAt         time.Time // scrapped or lost; zero while it is there
	Grinds         int

	index   int
	trueUM  float64
	factor  float64 // for life
	stay    float64 // of this stay
	readUM  int64   // last ground diameter, as the gauge said
	set     *Set
	crackUM float64 // of a mishap, to be ground out
	worn
}

// TrueUM is the true diameter at its last grind.
func (r *Roll) TrueUM() float64 { return r.trueUM }

// Gone says whether it is scrapped or lost.
func (r *Roll) Gone() bool { return !r.GoneAt.IsZero() }

// Set is two rolls.
type Set struct {
	Name  string
	Group int
	Rolls [2]*Roll
	// Stand it is in, empty in the shop; ReadyAt is when it was last ready there.
	Stand   string
	ReadyAt time.Time

	built, broken bool
}

// job is a set on its way through cooling and grinding.
type job struct {
	set      *Set
	done     time.Time
	grinder  int
	incident bool
}

const (
	coolingH   = 10.0
	grindMin   = 60.0
	assemblyH  = 1.0
	sizeOfDraw = 1000 // grinds of one roll that have draws of their own
)

// receive takes a new roll in, or one of those that were there at first.
func (w *World) receive(g int, um float64) *Roll {
	group := w.groups[g]
	group.received++
	n := len(w.order)
	r := &Roll{Number: fmt.Sprintf("%c%03d", 'A'+rune(g), group.received), Group: g, Grade: group.grade, NewUM: int64(group.newUM), ScrapUM: int64(group.scrapUM), ReceivedAt: w.now, index: n}
	d := w.draw("roll", g, group.received)
	r.factor = factor(d, w.Truth.RollCV, w.Truth.Tail)
	r.trueUM = math.Round(um)
	r.readUM = w.read(d, r.trueUM, 0)
	w.order, w.rolls[r.Number] = append(w.order, r), r
	group.single = append(group.single, r)
	return r
}

// read is a diameter as the gauge of a grinder gives it.
func (w *World) read(d *rand.Rand, um float64, grinder int) int64 {
	bias := 0.0
	if n := len(w.Truth.GaugeBiasUM); n > 0 {
		bias = w.Truth.GaugeBiasUM[grinder%n]
	}
	return int64(math.Round(um + bias + w.Truth.GaugeUM*d.NormFloat64()))
}

// pair builds sets of the single rolls of a group, the nearest diameters together.
func (w *World) pair(g int) error {
	group := w.groups[g]
	sort.SliceStable(group.single, func(i, j int) bool { return group.single[i].trueUM < group.single[j].trueUM })
	for len(group.single) >= 2 {
		s := &Set{Name: fmt.Sprintf("%c-S%03d", 'A'+rune(g), len(w.sets)+1), Group: g, Rolls: [2]*Roll{group.single[0], group.single[1]}, ReadyAt: w.now}
		group.single = group.single[2:]
		w.sets[s.Name] = s
		for _, r := range s.Rolls {
			r.set = s
		}
		if far := math.Abs(s.Rolls[0].trueUM - s.Rolls[1].trueUM); far > 120 { // the grinder makes them a pair first
			if _, err := w.grind(s, w.now, 0, false); err != nil {
				return err
			}
		}
		if s.gone() {
			if err := w.unpair(s); err != nil {
				return err
			}
			continue
		}
		w.freshStay(s)
		group.ready = append(group.ready, s)
		s.built = true
		if err := w.tell(&Built{At{w.now}, s}); err != nil {
			return err
		}
	}
	return nil
}

func (s *Set) gone() bool { return s.Rolls[0].Gone() || s.Rolls[1].Gone() }

// freshStay draws how the set will wear in its next stay.
func (w *World) freshStay(s *Set) {
	top := s.Rolls[0]
	shared := factor(w.draw("set stay", top.index*sizeOfDraw+top.Grinds), w.Truth.SetCV, w.Truth.Tail)
	for _, r := range s.Rolls {
		r.stay = shared * factor(w.draw("own stay", r.index*sizeOfDraw+r.Grinds), w.Truth.OwnCV, w.Truth.Tail)
	}
}

// send puts a set that came out on its way to the grinder.
func (w *World) send(s *Set, at time.Time, incident bool) {
	g := 0
	for i, free := range w.grinders {
		if free.Before(w.grinders[g]) {
			g = i
		}
	}
	from := at.Add(hours(coolingH))
	if w.grinders[g].After(from) {
		from = w.grinders[g]
	}
	done := from.Add(hours(2 * grindMin / 60))
	w.grinders[g] = done
	w.waiting = append(w.waiting, &job{s, done, g, incident})
	sort.SliceStable(w.waiting, func(i, j int) bool { return w.waiting[i].done.Before(w.waiting[j].done) })
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// finish grinds the sets that are due by a moment, and puts them by.
func (w *World) finish(by time.Time) error {
	for len(w.waiting) > 0 && !w.waiting[0].done.After(by) {
		j := w.waiting[0]
		w.waiting = w.waiting[1:]
		w.now = later(w.now, j.done)
		gone, err := w.grind(j.set, w.now, j.grinder, j.incident)
		if err != nil {
			return err
		}
		if gone {
			if err := w.unpair(j.set); err != nil {
				return err
			}
			continue
		}
		j.set.ReadyAt = j.done.Add(hours(assemblyH))
		w.freshStay(j.set)
		w.groups[j.set.Group].ready = append(w.groups[j.set.Group].ready, j.set)
	}
	return nil
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// unpair breaks a set of which a roll is gone; the other waits for a partner.
func (w *World) unpair(s *Set) error {
	s.broken = true
	g := w.groups[s.Group]
	for _, r := range s.Rolls {
		r.set = nil
		if !r.Gone() {
			g.single = append(g.single, r)
		}
	}
	if s.built {
		if err := w.tell(&Broken{At{w.now}, s}); err != nil {
			return err
		}
	}
	return w.pair(s.Group)
}

// grind grinds both rolls of a set, and says whether one of them is gone.
func (w *World) grind(s *Set, at time.Time, grinder int, incident bool) (gone bool, err error) {
	t := &w.Truth
	var regrinds []*Regrind
	var targets [2]float64
	for i, r := range s.Rolls {
		d := w.draw("grind", r.index*sizeOfDraw+r.Grinds)
		middle, deepest := r.contour[0], r.deepest()
		found := r.trueUM - middle
		e := &Regrind{At: At{at}, Roll: r, Grinder: grinder, ForIncident: incident, TrueWearUM: middle, DeepestUM: deepest}
		warm := 0.0
		if d.Float64() < t.Warm {
			warm = 11.5e-6 * r.trueUM * (2 + 6*d.Float64())
		}
		e.ReadFoundUM = w.read(d, found+warm, grinder)
		take := max(t.LeastUM, deepest-middle+t.Grinders[grinder].StockUM*factor(d, t.Grinders[grinder].CV, 0))
		targets[i] = found - take - r.crackUM
		if incident && r.crackUM == 0 {
			targets[i] -= 50
		}
		if d.Float64() < t.Loss {
			r.GoneAt = at
		}
		regrinds = append(regrinds, e)
	}
	if t.Even {
		least := min(targets[0], targets[1])
		targets = [2]float64{least, least}
	}
	for i, r := range s.Rolls {
		if r.Gone() {
			gone = true
			if err := w.tell(&Lost{At{at}, r}); err != nil {
				return gone, err
			}
			continue
		}
		e := regrinds[i]
		d := w.draw("ground", r.index*sizeOfDraw+r.Grinds)
		// The wheel stops when the gauge reads the target.
		e.ReadGroundUM = min(int64(math.Round(targets[i])), e.ReadFoundUM)
		e.TrueGroundUM = float64(e.ReadGroundUM) - float64(w.read(d, 0, grinder))
		e.FoundUM, e.GroundUM = e.ReadFoundUM, e.ReadGroundUM
		w.slip(d, e)
		r.trueUM, r.readUM, r.worn, r.crackUM = e.TrueGroundUM, e.ReadGroundUM, worn{}, 0
		r.Grinds++
		if e.ReadGroundUM < r.ScrapUM {
			r.GoneAt, e.Scraps, gone = at, true, true
			e.FoundUM, e.GroundUM = e.ReadFoundUM, e.ReadGroundUM
		}
		if err := w.tell(e); err != nil {
			return gone, err
		}
	}
	return gone, nil
}

// slip writes a figure down wrongly, now and then: a digit, or two that changed
// places.
func (w *World) slip(d *rand.Rand, e *Regrind) {
	if d.Float64() >= 2*w.Truth.Slips {
		return
	}
	wrong := []int64{-1000, 1000, -100, 100, -270, 270, -2000, -90}[d.IntN(8)]
	if d.IntN(2) == 0 {
		e.FoundUM = max(e.FoundUM+wrong, e.GroundUM)
	} else {
		e.GroundUM = min(e.GroundUM+wrong, e.FoundUM)
	}
}
