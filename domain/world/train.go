package world

import (
	"fmt"
	"math"
	"time"

	"barrelbook/domain/mill"
)

// stand is one stand and its truth.
type stand struct {
	name  string
	group int
	in    *Set
	km    float64 // rolled by the set that is in
	rate  float64 // µm per km at 10 kN/mm
	// perPlan is the specific force of a usual piece, kN/mm, kmPerPiece its length.
	perPlan, kmPerPiece       float64
	forceBias, lengthBias     float64
	forceWander, lengthWander float64
	nominalPieces, nominalKM  float64
	trouble                   float64
}

// group is rolls that serve the same stands.
type group struct {
	grade            string
	newUM, scrapUM   float64
	stands           []int
	single           []*Roll
	ready            []*Set
	orders           []time.Time // arrivals to come
	bought, received int
}

const (
	barrelMM      = 1900.0
	stationMM     = 40.0
	stationCount  = 24 // from the middle to the end; both halves wear alike
	entryMM       = 32.0
	density       = 7850.0
	piecesMean    = 95.0
	minutesPerOne = 2.0
)

// usualPieces are how many usual pieces wear a set of each stand to its limit.
var usualPieces = []float64{420, 360, 300, 250, 215, 190, 180}

func (w *World) train() {
	t := w.Truth
	w.groups = []*group{{grade: "hicr", newUM: 740_000, scrapUM: 722_000}, {grade: "icdp", newUM: 680_000, scrapUM: 652_000}}
	for i := range t.Stands {
		r := w.draw("stand", i)
		s := &stand{name: fmt.Sprintf("F%d", i+1), nominalPieces: usualPieces[i], trouble: 1,
			forceBias: t.Force.Bias * r.NormFloat64(), lengthBias: t.Length.Bias * r.NormFloat64()}
		if i >= 3 {
			s.group = 1
		}
		w.groups[s.group].stands = append(w.groups[s.group].stands, i)
		s.perPlan = 12.5 - 5*float64(i)/float64(t.Stands-1)
		s.kmPerPiece = kilometres(21, 1250, exit(i, t.Stands, 3))
		s.nominalKM = s.nominalPieces * s.kmPerPiece
		s.rate = t.LimitUM / (t.EdgeFactor * s.nominalKM * s.perPlan / 10) * (1 + 0.15*r.NormFloat64())
		// What a foreman has learned takes the usual freshness and age with it.
		if t.Fresh > 0 {
			s.rate /= 1 + t.Fresh*t.FreshKM/s.nominalKM*(1-math.Exp(-s.nominalKM/t.FreshKM))
		}
		s.rate /= 1 + t.Softening/2
		if t.PerKM {
			s.rate = t.LimitUM / (t.EdgeFactor * s.nominalKM)
		}
		w.stands = append(w.stands, s)
	}
	w.Ledger.ShortDays, w.Ledger.SurplusRollDays, w.Ledger.Bought = make([]int, len(w.groups)), make([]int, len(w.groups)), make([]int, len(w.groups))
}

// exit is the thickness behind stand i of n for a strip of so many mm.
func exit(i, n int, final float64) float64 {
	x := float64(i+1) / float64(n)
	return entryMM * math.Pow(final/entryMM, x*(1.45-0.45*x))
}

func kilometres(tonnes, widthMM, thicknessMM float64) float64 {
	return tonnes * 1000 / (density * widthMM / 1000 * thicknessMM / 1000) / 1000
}

// wander moves each stand's bias of the day.
func (w *World) wander() {
	const keep = 0.85
	for i, s := range w.stands {
		r := w.draw("day", w.day, i)
		s.forceWander = keep*s.forceWander + math.Sqrt(1-keep*keep)*w.Truth.Force.Day*r.NormFloat64()
		s.lengthWander = keep*s.lengthWander + math.Sqrt(1-keep*keep)*w.Truth.Length.Day*r.NormFloat64()
		s.trouble = 1
		for _, t := range w.Truth.Troubles {
			if t.Stand == i && w.day >= t.From && (t.Days == 0 || w.day < t.From+t.Days) {
				s.trouble *= t.Factor
			}
		}
	}
}

// Pace is the planned pace of a day, 1 for full.
func (w *World) Pace(day int) float64 {
	for _, s := range w.Truth.Seasons {
		if day >= s.From && day < s.From+s.Days {
			return s.Pace
		}
	}
	return 1
}

// programmesOn is how many programmes a day rolls.
func (w *World) programmesOn(day int) int {
	mean := w.Truth.ProgrammesPerDay * w.Pace(day)
	whole := math.Floor(mean)
	if w.draw("programmes", day).Float64() < mean-whole {
		whole++
	}
	return int(whole)
}

// announce draws the next programme and how it will be rolled.
func (w *World) announce(at time.Time) *Announced {
	w.programme++
	r := w.draw("programme", w.programme)
	a := &Announced{At: At{at}, Number: w.programme, Programme: mill.Programme{Name: fmt.Sprintf("C%05d", w.programme), Mill: Mill, StartsAt: at, MinutesPerPiece: minutesPerOne}}
	count := 40 + int(111*r.Float64())
	final, hardness := 1.8+3.2*r.Float64(), 0.85+0.35*r.Float64()
	width := 1350 + 200*r.Float64()
	for i := range count {
		if i%12 == 11 { // the next order: narrower, of another gauge and steel
			width = max(900, width-15-45*r.Float64())
			final, hardness = 1.8+3.2*r.Float64(), 0.85+0.35*r.Float64()
		}
		p := mill.Piece{ID: fmt.Sprintf("C%05d-%03d", w.programme, i+1), Mill: Mill, MassT: math.Round(10*(16+10*r.Float64())) / 10,
			WidthMM: math.Round(width), EntryThicknessMM: entryMM, Block: fmt.Sprint(i / 12)}
		for k, s := range w.stands {
			p.Passes = append(p.Passes, mill.Pass{Stand: s.name, ExitThicknessMM: exit(k, len(w.stands), final), ForceKN: math.Round(s.perPlan * hardness * width), TemperatureC: 1000 - 20*float64(k)})
		}
		p.Passes[len(p.Passes)-1].SpeedMPerS = 10
		a.Programme.Pieces = append(a.Programme.Pieces, p)
		a.rolled = append(a.rolled, w.really(p, i, at))
	}
	for _, s := range w.stands {
		a.day = append(a.day, s.trouble)
	}
	return a
}

// really is a piece as it will be rolled. Each stand has a draw of its own.
func (w *World) really(p mill.Piece, i int, at time.Time) mill.Piece {
	r := w.draw("piece", w.programme, i)
	dropped := r.Float64() < w.Truth.Dropped
	p.Source, p.RolledAt = "mill", at.Add(time.Duration((float64(i)+0.5)*minutesPerOne*float64(time.Minute)))
	planned := p.Passes
	p.Passes = nil
	if dropped {
		return p
	}
	for k, pass := range planned {
		s := w.stands[k]
		pass.ForceKN *= math.Exp(s.forceBias + s.forceWander + w.Truth.Force.Piece*r.NormFloat64())
		pass.ExitThicknessMM /= math.Exp(s.lengthBias + s.lengthWander + w.Truth.Length.Piece*r.NormFloat64())
		p.Passes = append(p.Passes, pass)
	}
	for k := 1; k < len(p.Passes); k++ { // thinner at each stand
		p.Passes[k].ExitThicknessMM = min(p.Passes[k].ExitThicknessMM, 0.97*p.Passes[k-1].ExitThicknessMM)
	}
	return p
}
