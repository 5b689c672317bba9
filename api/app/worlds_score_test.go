package app_test

import (
	"math"
	"testing"
	"time"

	"barrelbook/domain/finish"
	"barrelbook/domain/forecast"
	"barrelbook/domain/mill"
	"barrelbook/domain/world"
)

type dates = forecast.Dates

// worldScores is how the answers did.
type worldScores struct {
	finish     chances
	sheet      chances // the spreadsheet's P(finish)
	sure, held int     // "90 % sure not before piece N", and how often it was so
	wearEnd    intervals
	change     dated
	scrap      map[string]*dated // by stock left
	askedBack  int
	undated    int
}

// chances are probabilities said and what came.
type chances struct {
	p    []float64
	came []bool
}

func (c *chances) add(p float64, came bool) { c.p, c.came = append(c.p, p), append(c.came, came) }
func (c *chances) count() int               { return len(c.p) }

// brier is the mean square of said less came.
func (c *chances) brier() float64 {
	sum := 0.0
	for i, p := range c.p {
		sum += (p - oneIf(c.came[i])) * (p - oneIf(c.came[i]))
	}
	return sum / float64(len(c.p))
}

func oneIf(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// ece is the expected calibration error in ten equal bins.
func (c *chances) ece() float64 {
	var n, said, came [10]float64
	for i, p := range c.p {
		b := min(9, int(10*p))
		n[b]++
		said[b] += p
		came[b] += oneIf(c.came[i])
	}
	sum := 0.0
	for b := range n {
		sum += math.Abs(said[b] - came[b])
	}
	return sum / float64(len(c.p))
}

// slope is that of a logistic regression of what came on the log odds said: 1
// where the answers are as sure as they may be, below 1 where they are too sure.
// Chances are taken between 0.001 and 0.999.
func (c *chances) slope() float64 {
	a, b := 0.0, 1.0
	for range 50 {
		var g0, g1, h00, h01, h11 float64
		for i, p := range c.p {
			p = min(max(p, 0.001), 0.999)
			x := math.Log(p / (1 - p))
			q := 1 / (1 + math.Exp(-a-b*x))
			d, v := oneIf(c.came[i])-q, q*(1-q)
			g0, g1 = g0+d, g1+d*x
			h00, h01, h11 = h00+v, h01+v*x, h11+v*x*x
		}
		det := h00*h11 - h01*h01
		if det < 1e-9 {
			return math.NaN()
		}
		a += (h11*g0 - h01*g1) / det
		b += (h00*g1 - h01*g0) / det
	}
	return b
}

// intervals of 90 %.
type intervals struct {
	n, within, low, high int // low: the truth lay below
	bias, squares, sheet float64
}

func (c *intervals) count() int { return c.n }
func (c *intervals) add(low, mean, high, sheet, came float64) {
	c.n++
	switch {
	case came < low:
		c.low++
	case came > high:
		c.high++
	default:
		c.within++
	}
	c.bias += came/mean - 1
	c.squares += (came - mean) * (came - mean)
	c.sheet += (came - sheet) * (came - sheet)
}

// dated are dates said as P10, P50 and P90.
type dated struct {
	n, within, before, early int // early: before P50
	err, sheet, bias, far    float64
}

func (c *dated) count() int {
	if c == nil {
		return 0
	}
	return c.n
}

func (c *dated) add(at time.Time, said dates, sheet, came time.Time) {
	days := func(t time.Time) float64 { return t.Sub(at).Hours() / 24 }
	c.n++
	switch {
	case came.Before(said.P10):
		c.before++
	case !came.After(said.P90):
		c.within++
	}
	if came.Before(said.P50) {
		c.early++
	}
	c.err += math.Abs(days(said.P50) - days(came))
	c.sheet += math.Abs(days(sheet) - days(came))
	c.bias += days(came) - days(said.P50)
	c.far += days(came)
}

const anyStock = "any"

func (s *worldScores) scrapped(o openScrap) {
	if s.scrap == nil {
		s.scrap = map[string]*dated{}
	}
	left := "16 mm and more"
	for _, b := range []struct {
		mm   float64
		name string
	}{{2, "under 2 mm"}, {4, "under 4 mm"}, {8, "under 8 mm"}, {16, "under 16 mm"}} {
		if o.leftMM < b.mm {
			left = b.name
			break
		}
	}
	for _, k := range []string{anyStock, left} {
		if s.scrap[k] == nil {
			s.scrap[k] = &dated{}
		}
		s.scrap[k].add(o.at, o.said, o.sheet, o.roll.GoneAt)
	}
}

// scoreFinish holds one stand's answer against what would truly have become of
// its set.
func (s *worldShop) scoreFinish(a finish.Answer, set *world.Set, e *world.Announced) {
	fate := s.w.Ahead(a.Stand, set, e, 0)
	s.scores.finish.add(a.Probability, fate.Passes == 0)
	km := s.sheet.kmOf(a.Stand, e)
	rate, sd := s.sheet.rate(a.Stand)
	_, so := s.w.In(a.Stand)
	end := rate * (so + km)
	p := 0.5 * math.Erfc(-(s.w.Truth.LimitUM-end)/(math.Sqrt2*max(1, sd*(so+km))))
	s.scores.sheet.add(p, fate.Passes == 0)
	first := 0
	for _, m := range a.Margins {
		if m.ReachedP10 != nil && (first == 0 || m.ReachedP10.Piece < first) {
			first = m.ReachedP10.Piece
		}
		if m.Criterion != "wear" || m.AtEnd <= 0 {
			continue
		}
		for i, r := range set.Rolls {
			if r.Number == m.Roll {
				s.scores.wearEnd.add(m.AtEndLow, m.AtEnd, m.AtEndHigh, end, fate.EndUM()[i])
			}
		}
	}
	if first > 1 {
		s.scores.sure++
		if fate.Passes == 0 || fate.Passes >= first {
			s.scores.held++
		}
	}
}

func (s *worldScores) report(t testing.TB) {
	f := &s.finish
	share := func(a, n int) float64 { return float64(a) / math.Max(1, float64(n)) }
	t.Logf("P(finish): %d answers, ECE %.3f, slope %.2f, Brier %.4f (spreadsheet %.4f)", f.count(), f.ece(), f.slope(), f.brier(), s.sheet.brier())
	t.Logf("90 %% sure not before piece N: %d said, %.3f held", s.sure, share(s.held, s.sure))
	w := &s.wearEnd
	n := math.Max(1, float64(w.n))
	t.Logf("wear at the end, P5-P95: %d, %.3f within, %.3f below, %.3f above; truth %+.1f %% of said; rms %.2f of the spreadsheet's", w.n, share(w.within, w.n), share(w.low, w.n), share(w.high, w.n), 100*w.bias/n, math.Sqrt(w.squares/w.sheet))
	say := func(what string, d *dated) {
		if d.count() == 0 {
			return
		}
		n := float64(d.n)
		t.Logf("%s: %d, P10-P90 %.3f, before P10 %.3f, before P50 %.3f; error %.2f days, %.2f of the spreadsheet's; truth %+.2f days of %.1f", what, d.n, float64(d.within)/n, float64(d.before)/n, float64(d.early)/n, d.err/n, d.err/d.sheet, d.bias/n, d.far/n)
	}
	say("next change", &s.change)
	for _, k := range []string{anyStock, "under 2 mm", "under 4 mm", "under 8 mm", "under 16 mm", "16 mm and more"} {
		say("scrap date, stock "+k, s.scrap[k])
	}
	t.Logf("%d regrinds were asked back, %d scrap dates not said", s.askedBack, s.undated)
}

// spreadsheet is what the shop would work out by itself: µm a km over the last ten
// stays at the stand, days of the last ten stays, and stock by mean mm a day over
// the last ten grinds of the roll.
type spreadsheet struct {
	w     *world.World
	km    map[string]float64 // of the set in each stand
	out   map[string]stayKM  // of each roll that came out: where and how far
	since map[string]time.Time
	rates map[string][]float64
	days  map[string][]float64
	marks map[string][]mark
}

type stayKM struct {
	stand string
	km    float64
}

type mark struct {
	at time.Time
	um float64
}

func newSpreadsheet(w *world.World) spreadsheet {
	return spreadsheet{w: w, km: map[string]float64{}, out: map[string]stayKM{}, since: map[string]time.Time{}, rates: map[string][]float64{}, days: map[string][]float64{}, marks: map[string][]mark{}}
}

func (p *spreadsheet) received(e *world.Receipt) {
	p.marks[e.Roll.Number] = []mark{{e.When(), float64(e.DiameterUM)}}
}

func passKM(piece *mill.Piece, pass *mill.Pass) float64 {
	return piece.MassT / (7.85 * piece.WidthMM * pass.ExitThicknessMM / 1000)
}

func (p *spreadsheet) rolled(e *world.Rolled) {
	for i := range e.Pieces {
		for k := range e.Pieces[i].Passes {
			p.km[e.Pieces[i].Passes[k].Stand] += passKM(&e.Pieces[i], &e.Pieces[i].Passes[k])
		}
	}
}

func (p *spreadsheet) kmOf(stand string, e *world.Announced) (km float64) {
	for i := range e.Programme.Pieces {
		for k := range e.Programme.Pieces[i].Passes {
			if pass := &e.Programme.Pieces[i].Passes[k]; pass.Stand == stand {
				km += passKM(&e.Programme.Pieces[i], pass)
			}
		}
	}
	return km
}

func lastTen[T any](list []T) []T { return list[max(0, len(list)-10):] }

func (p *spreadsheet) changed(e *world.Change) {
	if e.Out != nil {
		for _, r := range e.Out.Rolls {
			p.out[r.Number] = stayKM{e.Stand, p.km[e.Stand]}
		}
		p.days[e.Stand] = append(p.days[e.Stand], e.When().Sub(p.since[e.Stand]).Hours()/24)
	}
	p.since[e.Stand], p.km[e.Stand] = e.When(), 0
}

func (p *spreadsheet) ground(e *world.Regrind) {
	n := e.Roll.Number
	last := p.marks[n][len(p.marks[n])-1]
	if o, ok := p.out[n]; ok && o.km > 0 {
		p.rates[o.stand] = append(p.rates[o.stand], (last.um-float64(e.FoundUM))/o.km)
		delete(p.out, n)
	}
	p.marks[n] = append(p.marks[n], mark{e.When(), float64(e.GroundUM)})
}

// rate is µm per km at a stand, mean and spread.
func (p *spreadsheet) rate(stand string) (mean, sd float64) {
	list := lastTen(p.rates[stand])
	for _, x := range list {
		mean += x / float64(len(list))
	}
	for _, x := range list {
		sd += (x - mean) * (x - mean) / math.Max(1, float64(len(list)-1))
	}
	return mean, math.Sqrt(sd)
}

func (p *spreadsheet) nextChange(stand string, now time.Time) time.Time {
	mean, list := 0.0, lastTen(p.days[stand])
	for _, d := range list {
		mean += d / float64(len(list))
	}
	at := p.since[stand].Add(time.Duration(mean * 24 * float64(time.Hour)))
	if at.Before(now) {
		return now
	}
	return at
}

func (p *spreadsheet) scrap(r *world.Roll, now time.Time) (time.Time, bool) {
	marks := p.marks[r.Number]
	marks = marks[max(0, len(marks)-11):]
	first, last := marks[0], marks[len(marks)-1]
	days := last.at.Sub(first.at).Hours() / 24
	if len(marks) < 3 || days <= 0 || first.um <= last.um {
		return time.Time{}, false
	}
	left := (last.um - float64(r.ScrapUM)) / ((first.um - last.um) / days)
	at := last.at.Add(time.Duration(left * 24 * float64(time.Hour)))
	if at.Before(now) {
		at = now
	}
	return at, true
}
