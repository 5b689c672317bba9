package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"
)

const (
	density          = 7850.0
	minutesPerPiece  = 2.5
	piecesPerProgram = 205
)

var finishing = []string{"F1", "F2", "F3", "F4", "F5", "F6"}

// pass and piece are what the mill did, in the contract's names.
type pass struct {
	Stand    string  `json:"stand"`
	ExitMM   float64 `json:"exit_thickness_mm"`
	ForceKN  float64 `json:"force_kn"`
	SpeedMPS float64 `json:"speed_m_per_s"`
	OffsetMM float64 `json:"lateral_offset_mm,omitempty"`
	TempC    float64 `json:"temperature_c,omitempty"`
	Reverse  bool    `json:"reverse,omitempty"`
}

type piece struct {
	Source   string  `json:"source,omitempty"`
	ID       string  `json:"id"`
	Mill     string  `json:"mill,omitempty"`
	RolledAt string  `json:"rolled_at,omitempty"`
	Material string  `json:"material"`
	Block    string  `json:"block,omitempty"`
	MassT    float64 `json:"mass_t"`
	WidthMM  float64 `json:"width_mm"`
	EntryMM  float64 `json:"entry_thickness_mm"`
	Passes   []pass  `json:"passes"`
}

// blocks are the parts of a programme: warm-up, then wide to narrow.
var blocks = []struct {
	name       string
	share      float64
	wide, slim float64 // width from, to
	thick      float64 // final thickness about
	material   string
	hard       float64
}{
	{"warm-up", 0.05, 1080, 1120, 3.6, "low-carbon", 1.0},
	{"wide", 0.25, 1680, 1500, 3.4, "low-carbon", 1.0},
	{"pipe", 0.15, 1480, 1440, 5.2, "micro-alloyed", 1.28},
	{"middle", 0.35, 1420, 1180, 2.7, "structural", 1.1},
	{"narrow", 0.20, 1160, 980, 2.1, "low-carbon", 1.0},
}

// programme makes the pieces of one campaign of about n pieces.
func programme(rng *rand.Rand, name string, n int) []piece {
	var pieces []piece
	for _, b := range blocks {
		count := max(3, int(math.Round(b.share*float64(n))))
		for i := range count {
			part := float64(i) / float64(count)
			width := math.Round(b.wide + (b.slim-b.wide)*part + rng.NormFloat64()*6)
			final := round(b.thick*math.Exp(0.12*rng.NormFloat64()), 2)
			p := piece{ID: fmt.Sprintf("%s-%03d", name, len(pieces)+1), Material: b.material, Block: b.name,
				MassT: round(width*(0.0112+0.0006*rng.NormFloat64()), 3), WidthMM: width, EntryMM: 225}
			p.Passes = append(rough(rng, width, b.hard), finish(rng, width, final, b.hard)...)
			pieces = append(pieces, p)
		}
	}
	return pieces
}

// rough rolls the slab to a transfer bar in five reversing passes.
func rough(rng *rand.Rand, width, hard float64) []pass {
	passes := make([]pass, 5)
	for i, h := range []float64{172, 122, 80, 51, 34} {
		specific := []float64{8.6, 9.3, 10.4, 11.8, 13.0}[i] * hard * math.Exp(0.04*rng.NormFloat64())
		passes[i] = pass{Stand: "R1", ExitMM: h, ForceKN: math.Round(min(31500, specific*width)), SpeedMPS: round(2.2+0.35*float64(i), 2), TempC: math.Round(1190 - 22*float64(i) + 6*rng.NormFloat64()), Reverse: i%2 == 1}
	}
	return passes
}

// finish rolls the bar to strip through the six stands in one pass.
func finish(rng *rand.Rand, width, final, hard float64) []pass {
	passes := make([]pass, len(finishing))
	// The share of the logarithmic thickness change left after each stand.
	left := []float64{0.78, 0.57, 0.385, 0.225, 0.095, 0}
	offset := math.Round(rng.NormFloat64() * 4)
	last := math.Min(9.5, 26/final+1.5)
	for i, name := range finishing {
		h := final * math.Pow(34/final, left[i])
		specific := []float64{14.2, 14.0, 13.2, 12.0, 10.6, 8.6}[i] * hard * math.Pow(3/final, 0.28) * math.Exp(0.05*rng.NormFloat64())
		passes[i] = pass{Stand: name, ExitMM: round(h, 3), ForceKN: math.Round(min(specific*width, 27500-1500*float64(i))),
			SpeedMPS: round(last*final/h, 3), OffsetMM: offset, TempC: math.Round(1010 - 24*float64(i) + 5*rng.NormFloat64())}
	}
	return passes
}

// exposure sums what pieces did at a stand: tonnes, km, and km weighted with
// specific force at 10 kN/mm. even is the barrel length for backup rolls, over
// which the force is spread; 0 for the strip's width.
func exposure(pieces []piece, stand string, even float64) (t, km, weighted float64) {
	for _, p := range pieces {
		for _, pass := range p.Passes {
			if pass.Stand != stand {
				continue
			}
			over := p.WidthMM
			if even > 0 {
				over = even
			}
			l := p.MassT * 1000 / (density * p.WidthMM / 1000 * pass.ExitMM / 1000) / 1000
			t += p.MassT
			km += l
			weighted += l * pass.ForceKN / over / 10
		}
	}
	return t, km, weighted
}

// rolledFrom dates the pieces of a campaign one after the other.
func rolledFrom(pieces []piece, start time.Time) []piece {
	dated := make([]piece, len(pieces))
	for i, p := range pieces {
		p.Source, p.Mill, p.Block = "mill-log", millName, ""
		p.RolledAt = stamp(start.Add(time.Duration(float64(i) * minutesPerPiece * float64(time.Minute))))
		dated[i] = p
	}
	return dated
}

func round(v float64, digits int) float64 {
	scale := math.Pow(10, float64(digits))
	return math.Round(v*scale) / scale
}
