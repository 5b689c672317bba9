package world

import (
	"math"
	"slices"
	"sort"
	"time"

	"barrelbook/domain/mill"
)

// Run goes on for so many days under a policy. hear may be nil; its error ends
// the run.
func (w *World) Run(days int, p Policy, hear func(Event) error) error {
	w.hear = hear
	if !w.began {
		w.began = true
		if err := w.begin(); err != nil {
			return err
		}
	}
	for until := w.day + days; w.day < until; w.day++ {
		if err := w.oneDay(p); err != nil {
			return err
		}
	}
	return nil
}

func (w *World) tell(e Event) error {
	if w.hear == nil {
		return nil
	}
	return w.hear(e)
}

// begin fills the shop with rolls of all ages, the stands with sets, and the order
// book with what would be on it.
func (w *World) begin() error {
	for g, group := range w.groups {
		r := w.draw("begin", g)
		span := group.newUM - group.scrapUM
		for i := range w.Truth.RollsPerGroup {
			um := group.scrapUM + 1000 + (span-1000)*(float64(i/2)+r.Float64())/float64((w.Truth.RollsPerGroup+1)/2)
			if i%2 == 1 {
				um = w.order[len(w.order)-1].trueUM - 100*r.Float64() // the second of a pair
			}
			one := w.receive(g, um)
			if err := w.tell(&Receipt{At{w.now}, one, one.readUM}); err != nil {
				return err
			}
		}
		for range int(w.Truth.LeadDays / 400 * float64(w.Truth.RollsPerGroup)) {
			group.orders = append(group.orders, w.now.Add(hours(24*w.Truth.LeadDays*r.Float64())))
		}
		if err := w.pair(g); err != nil {
			return err
		}
		r.Shuffle(len(group.ready), func(i, j int) { group.ready[i], group.ready[j] = group.ready[j], group.ready[i] })
		for i, s := range group.ready {
			s.ReadyAt = w.now.Add(-time.Duration(len(group.ready)-i) * time.Minute)
		}
	}
	for i := range w.stands {
		if _, err := w.change(nil, i, "", Chosen, 0); err != nil {
			return err
		}
	}
	return nil
}

func (w *World) oneDay(p Policy) error {
	day := Start.AddDate(0, 0, w.day)
	w.now = later(w.now, day)
	w.wander()
	if err := w.arrive(); err != nil {
		return err
	}
	for i, n := 0, w.programmesOn(w.day); i < n; i++ {
		at := later(w.now.Add(15*time.Minute), day.Add(hours(24*float64(i)/float64(n))))
		if err := w.finish(at); err != nil {
			return err
		}
		w.now = later(w.now, at)
		if err := w.roll(p); err != nil {
			return err
		}
	}
	if err := w.finish(day.Add(24 * time.Hour)); err != nil {
		return err
	}
	w.count()
	if w.day%7 == 0 {
		w.buy(p)
	}
	return nil
}

// arrive takes in what was ordered.
func (w *World) arrive() error {
	for g, group := range w.groups {
		slices.SortFunc(group.orders, time.Time.Compare)
		came := false
		for len(group.orders) > 0 && !group.orders[0].After(w.now) {
			group.orders = group.orders[1:]
			r := w.receive(g, group.newUM-50*float64(group.received%2))
			if err := w.tell(&Receipt{At{w.now}, r, r.readUM}); err != nil {
				return err
			}
			came = true
		}
		if came {
			if err := w.pair(g); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *World) buy(p Policy) {
	for g, n := range p.Buy(w) {
		for range n {
			d := w.draw("delivery", g, w.groups[g].bought)
			w.groups[g].bought++
			w.Ledger.Bought[g]++
			w.groups[g].orders = append(w.groups[g].orders, w.now.Add(hours(24*w.Truth.LeadDays*factor(d, w.Truth.LeadCV, 0))))
		}
	}
}

func (w *World) count() {
	w.Ledger.Days++
	for g := range w.groups {
		switch over := w.Present(g) - w.Truth.Needed; {
		case over < 0:
			w.Ledger.ShortDays[g]++
		default:
			w.Ledger.SurplusRollDays[g] += over
		}
	}
}

// rolling is a programme under way.
type rolling struct {
	*Announced
	late  time.Duration // by what its stops took
	batch []mill.Piece
	// stopped is the piece before which the mill stands, -1 for none.
	stopped int
}

// roll rolls one programme under the policy's choices.
func (w *World) roll(p Policy) error {
	r := &rolling{Announced: w.announce(w.now), stopped: -1}
	if err := w.tell(r.Announced); err != nil {
		return err
	}
	w.Ledger.Programmes++
	choices := p.Changes(w, r.Announced)
	sort.SliceStable(choices, func(i, j int) bool { return choices[i].Before < choices[j].Before })
	mishaps := w.mishaps(len(r.rolled))
	for i := range r.rolled {
		for ; len(choices) > 0 && choices[0].Before <= i; choices = choices[1:] {
			if _, err := w.change(r, w.indexOf(choices[0].Stand), choices[0].In, Chosen, i); err != nil {
				return err
			}
		}
		if len(r.rolled[i].Passes) == 0 {
			continue
		}
		if err := w.one(r, i, mishaps); err != nil {
			return err
		}
	}
	return w.stop(r, len(r.rolled))
}

// one rolls a piece, and changes what cannot go on after it.
func (w *World) one(r *rolling, i int, mishaps []int) error {
	piece := r.rolled[i]
	piece.RolledAt = piece.RolledAt.Add(r.late)
	r.batch = append(r.batch, piece)
	w.Ledger.Pieces++
	for k, s := range w.stands {
		if s.in == nil {
			continue
		}
		s.km += kilometres(piece.MassT, piece.WidthMM, piece.Passes[k].ExitThicknessMM)
		for _, one := range s.in.Rolls {
			w.wearOf(&one.worn, one, s, r.day[k], &piece, k)
		}
		why := Why("")
		switch {
		case mishaps[k] == i:
			why = Mishap
		case max(s.in.Rolls[0].deepest(), s.in.Rolls[1].deepest()) > w.Truth.LimitUM:
			why = Passed
		}
		if why != "" {
			if err := w.forced(r, k, why, i+1); err != nil {
				return err
			}
		}
	}
	return nil
}

// stop brings the works to the moment before piece i, with the pieces before it
// written down.
func (w *World) stop(r *rolling, i int) error {
	at := r.Time.Add(r.late + time.Duration(float64(i)*minutesPerOne*float64(time.Minute)))
	if err := w.finish(at); err != nil {
		return err
	}
	w.now = later(w.now, at)
	if len(r.batch) == 0 {
		return nil
	}
	e := &Rolled{At{w.now}, r.batch}
	r.batch = nil
	return w.tell(e)
}

// mishaps draws the piece at which each stand has a cobble, -1 for none.
func (w *World) mishaps(pieces int) []int {
	list := make([]int, len(w.stands))
	for k := range list {
		r := w.draw("mishap", w.programme, k)
		if list[k] = -1; r.Float64() < w.Truth.Mishap {
			list[k] = r.IntN(pieces)
		}
	}
	return list
}

// forced changes a set that cannot go on.
func (w *World) forced(r *rolling, k int, why Why, piece int) error {
	s := w.stands[k]
	if why == Mishap {
		w.Ledger.Mishaps++
		if err := w.stop(r, piece); err != nil {
			return err
		}
		if err := w.tell(&Incident{At{w.now}, s.name}); err != nil {
			return err
		}
		d := w.draw("crack", w.programme, k)
		for _, one := range s.in.Rolls {
			one.crackUM = 1000 * (w.Truth.CrackMM + w.Truth.CrackMoreMM*d.ExpFloat64())
		}
	}
	changed, err := w.change(r, k, "", why, piece)
	if changed {
		w.Ledger.Unplanned++
	}
	return err
}

// change takes the set out of a stand before a piece and puts another in. Where
// none is ready the mill waits for the next one; where none is to come the set
// stays.
func (w *World) change(r *rolling, k int, want string, why Why, piece int) (bool, error) {
	s := w.stands[k]
	at := w.now
	if r != nil {
		at = later(at, r.Time.Add(r.late+time.Duration(float64(piece)*minutesPerOne*float64(time.Minute))))
	}
	if ready, ok := w.nextReady(s.group); !ok || ready.Sub(at) > 48*time.Hour {
		return false, nil
	}
	if r != nil {
		if err := w.stop(r, piece); err != nil {
			return false, err
		}
	}
	in, err := w.awaitSet(s.group, want)
	if in == nil || err != nil {
		return false, err
	}
	if r != nil && piece > 0 && r.stopped != piece {
		r.stopped = piece
		w.Ledger.MidStops++
		w.now = w.now.Add(stopMin * time.Minute)
	}
	if r != nil && w.now.After(at) {
		r.late += w.now.Sub(at)
	}
	out := s.in
	e := &Change{At: At{w.now}, Stand: s.name, Out: out, In: in, Why: why, Piece: piece}
	g := w.groups[s.group]
	g.ready = slices.DeleteFunc(g.ready, func(r *Set) bool { return r == in })
	if out != nil {
		e.DeepestUM = [2]float64{out.Rolls[0].deepest(), out.Rolls[1].deepest()}
		left := w.Truth.LimitUM - max(e.DeepestUM[0], e.DeepestUM[1])
		w.Ledger.Changes++
		w.Ledger.UnusedUM += math.Max(0, left)
		w.Ledger.BeyondUM += math.Max(0, -left)
		out.Stand = ""
		w.send(out, w.now, why == Mishap)
	}
	s.in, s.km = in, 0
	in.Stand = s.name
	return true, w.tell(e)
}

// stopMin is what a stop in a programme takes.
const stopMin = 10

// awaitSet waits for the first set of a group that is ready, or the one wanted if
// it is among them. Nil where none comes within two days.
func (w *World) awaitSet(g int, want string) (*Set, error) {
	for {
		if ready := w.Ready(g, w.now); len(ready) > 0 {
			for _, s := range ready {
				if s.Name == want {
					return s, nil
				}
			}
			return ready[0], nil
		}
		at, ok := w.nextReady(g)
		if !ok || at.Sub(w.now) > 48*time.Hour {
			return nil, nil
		}
		w.Ledger.Waited += at.Sub(w.now).Hours()
		if err := w.finish(at); err != nil {
			return nil, err
		}
		w.now = later(w.now, at)
	}
}

// nextReady is when the next set of a group that is on its way can go in.
func (w *World) nextReady(g int) (time.Time, bool) {
	var first time.Time
	add := func(t time.Time) {
		if first.IsZero() || t.Before(first) {
			first = t
		}
	}
	for _, s := range w.groups[g].ready {
		add(s.ReadyAt)
	}
	for _, j := range w.waiting {
		if j.set.Group == g {
			add(j.done.Add(hours(assemblyH)))
		}
	}
	return first, !first.IsZero()
}
