package render

import (
	"math"
	"strings"

	"barrelbook/client/term"
)

// Plot draws y over x in characters: blocks from zero to y, growing down from the
// top, as a worn barrel does under a straight edge, or up. A limit is a line of
// dashes, a mark a line of points, so that neither needs colour.
type Plot struct {
	X, Y         []float64
	XUnit, YUnit string
	Width        int // of the whole drawing, in characters. Defaults to 72
	Height       int // of the drawn field, in lines. Defaults to 8
	// Up draws greater values above, as a load stands on a barrel.
	Up bool
	// Limit is drawn across, where it is not 0; a limit far beyond all values is
	// left to the words.
	Limit float64
	// Marks are places along x: the edges of the strip.
	Marks []float64
}

// Fonts have blocks of eighths that fill a cell from its bottom, but none can be
// counted on to have those that fill it from the top, so both ways are drawn with
// whole and half blocks.
const (
	wholeBlock = "█"
	upperHalf  = "▀"
	lowerHalf  = "▄"
	limitLine  = "╌"
	markLine   = "┊"
)

// String is the drawing; nothing where there is nothing to see: fewer than two
// points, no stretch in x, all zero, or a value that is not finite.
func (p Plot) String() string {
	if !p.drawable() {
		return ""
	}
	if p.Width <= 0 {
		p.Width = 72
	}
	if p.Height <= 0 {
		p.Height = 8
	}
	y := p.scale()
	margin := 0
	for _, l := range y.labels {
		margin = max(margin, term.Cells(l))
	}
	columns := p.resample(max(p.Width-margin-2, 8))
	var b strings.Builder
	for line, label := range y.labels {
		tick := " │"
		if label != "" {
			tick = " ┤"
		}
		b.WriteString(strings.TrimRight(strings.Repeat(" ", margin-term.Cells(label))+label+tick+p.line(columns, y, line), " ") + "\n")
	}
	axis, numbers := p.axis(len(columns))
	room := strings.Repeat(" ", margin+1)
	b.WriteString(room + "└" + axis + "\n" + strings.TrimRight(room+" "+numbers, " ") + "\n")
	return b.String()
}

// line is one line of the field.
func (p Plot) line(columns []float64, y scale, line int) string {
	from, to := y.at(line), y.at(line+1)
	upper, lower := from+(to-from)/4, from+(to-from)*3/4
	limited := p.Limit != 0 && line == y.line(p.Limit)
	cells := make([]string, len(columns))
	for c, v := range columns {
		switch above, below := between(upper, v), between(lower, v); {
		case limited && c%2 == 0:
			cells[c] = limitLine
		case above && below:
			cells[c] = wholeBlock
		case above:
			cells[c] = upperHalf
		case below:
			cells[c] = lowerHalf
		default:
			cells[c] = " "
		}
	}
	for _, mark := range p.Marks {
		if c := p.column(mark, len(columns)); c >= 0 && cells[c] == " " {
			cells[c] = markLine
		}
	}
	return strings.Join(cells, "")
}

// between says whether y lies between zero and v.
func between(y, v float64) bool { return y > 0 && y < v || y < 0 && y > v }

// scale is how values lie on lines: of the value at the top of the field and the
// step from line to line, which is negative where greater values are above.
type scale struct {
	top, step float64
	labels    []string
}

func (s scale) at(line int) float64    { return s.top + float64(line)*s.step }
func (s scale) line(value float64) int { return int(math.Floor((value - s.top) / s.step)) }

// scale reaches over zero, every value and a limit that is not far, in whole ticks
// of two lines each.
func (p Plot) scale() scale {
	low, high := 0.0, 0.0
	for _, v := range p.Y {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	if p.Limit > 0 && p.Limit <= 2.5*high {
		high = math.Max(high, p.Limit)
	}
	tick := niceTop((high - low) * 2 / float64(p.Height))
	first, last := math.Floor(low/tick), math.Ceil(high/tick)
	if p.Limit == high { // a line of its own under the last tick
		last = math.Floor(high/tick) + 1
	}
	lines := int(2 * (last - first))
	s := scale{top: first * tick, step: tick / 2, labels: make([]string, lines)}
	if p.Up {
		s.top, s.step = last*tick, -tick/2
	}
	for n := first; n <= last; n++ {
		line := int(2 * (n - first))
		if p.Up {
			line = int(2*(last-n)) - 1 // beside the line whose foot it is
		}
		if line >= 0 && line < lines {
			s.labels[line] = Number(n*tick, 3)
		}
	}
	return s
}

// axis is the line under the field, with a tick at round places, and their numbers.
func (p Plot) axis(n int) (axis, numbers string) {
	first, last := p.X[0], p.X[len(p.X)-1]
	tick := niceTop((last - first) / 6)
	line := []rune(strings.Repeat("─", n))
	text := []byte(strings.Repeat(" ", n+12))
	free := 0
	for x := math.Ceil(first/tick) * tick; x <= last+tick/1e6; x += tick {
		c := max(p.column(math.Min(x, last), n), 0)
		line[c] = '┬'
		label := Number(math.Round(x/tick)*tick, 4)
		if at := min(max(c-len(label)/2, 0), n-len(label)); at >= free {
			copy(text[at:], label)
			free = at + len(label) + 1
		}
	}
	return string(line), string(text)
}

// column is where a place along x is drawn, -1 outside.
func (p Plot) column(x float64, n int) int {
	first, last := p.X[0], p.X[len(p.X)-1]
	if x < first || x > last {
		return -1
	}
	return min(int((x-first)/(last-first)*float64(n)), n-1)
}

func (p Plot) drawable() bool {
	n := len(p.X)
	if n < 2 || len(p.Y) != n || !(p.X[n-1] > p.X[0]) {
		return false
	}
	any := false
	for i := range p.X {
		if math.IsNaN(p.X[i]+p.Y[i]) || math.IsInf(p.X[i], 0) || math.IsInf(p.Y[i], 0) {
			return false
		}
		any = any || p.Y[i] != 0
	}
	return any
}

// resample gives n columns, each the y furthest from zero in its stretch of x, so
// that a narrow groove is not lost; a stretch without a point takes the straight
// line between its neighbours.
func (p Plot) resample(n int) []float64 {
	first, last := p.X[0], p.X[len(p.X)-1]
	columns := make([]float64, n)
	for c := range columns {
		from := first + (last-first)*float64(c)/float64(n)
		to := first + (last-first)*float64(c+1)/float64(n)
		columns[c] = further(p.at(from), p.at(to))
		for i, x := range p.X {
			if x >= from && x <= to {
				columns[c] = further(columns[c], p.Y[i])
			}
		}
	}
	return columns
}

func further(a, b float64) float64 {
	if math.Abs(b) > math.Abs(a) {
		return b
	}
	return a
}

// at is y on the straight line between the points beside x.
func (p Plot) at(x float64) float64 {
	for i := 1; i < len(p.X); i++ {
		if x <= p.X[i] {
			step := p.X[i] - p.X[i-1]
			if step <= 0 {
				return p.Y[i]
			}
			return p.Y[i-1] + (p.Y[i]-p.Y[i-1])*(x-p.X[i-1])/step
		}
	}
	return p.Y[len(p.Y)-1]
}

// niceTop is the next 1, 2, 5 times a power of ten at or above v.
func niceTop(v float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, step := range []float64{1, 2, 5} {
		if v <= step*power {
			return step * power
		}
	}
	return 10 * power
}

// Draw prints the drawing under its title, with what its lines mean.
func (p Plot) Draw(s *term.Streams, title string) {
	p.Width = min(s.Width(), 100)
	text := p.String()
	if text == "" {
		return
	}
	s.Print("\n%s (%s over %s):", title, p.YUnit, p.XUnit)
	s.Block(text)
	var says []string
	if high := highest(p.Y); p.Limit > 0 && p.Limit <= 2.5*high {
		says = append(says, limitLine+" limit "+Number(p.Limit, 4)+" "+p.YUnit)
	} else if p.Limit > 0 {
		says = append(says, "the limit is "+Number(p.Limit, 4)+" "+p.YUnit)
	}
	if len(p.Marks) > 0 {
		says = append(says, markLine+" strip edges")
	}
	if len(says) > 0 {
		s.Print("  %s", strings.Join(says, "   "))
	}
}

func highest(values []float64) (high float64) {
	for _, v := range values {
		high = math.Max(high, v)
	}
	return high
}
