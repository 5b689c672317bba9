package render

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"
)

// Plot draws y over x in characters: one column of blocks per stretch of x,
// growing down from the top line, as a worn barrel does under a straight edge,
// or up.
type Plot struct {
	X, Y         []float64
	XUnit, YUnit string
	Width        int // of the whole drawing, in characters. Defaults to 72
	Height       int // of the drawn field, in lines. Defaults to 6
	// Up draws the blocks from the bottom line up, as a load stands on a barrel.
	Up bool
}

// Fonts have blocks of eighths that fill a cell from its bottom, but none can be
// counted on to have those that fill it from the top, so both ways are drawn with
// whole and half blocks.
const (
	wholeBlock = "█"
	upperHalf  = "▀"
	lowerHalf  = "▄"
)

// Write draws the plot. It draws nothing when there is nothing to see: fewer
// than two points, no stretch in x, nothing above zero, or a value that is
// not finite.
func (p Plot) Write(w io.Writer) {
	if !p.drawable() {
		return
	}
	width, height := p.Width, p.Height
	if width <= 0 {
		width = 72
	}
	if height <= 0 {
		height = 6
	}
	top := niceTop(maximum(p.Y))
	labels := []string{"0", Number(top/2, 3), Number(top, 3) + " " + p.YUnit}
	margin := 0
	for _, l := range labels {
		margin = max(margin, utf8.RuneCountInString(l))
	}
	columns := p.resample(max(width-margin-2, 8))
	for line := range height {
		step := line // lines from where y is 0
		half := upperHalf
		if p.Up {
			step, half = height-1-line, lowerHalf
		}
		label := ""
		switch step {
		case 0:
			label = labels[0]
		case height / 2:
			label = labels[1]
		case height - 1:
			label = labels[2]
		}
		var b strings.Builder
		for _, v := range columns {
			b.WriteString(cell(v/top*float64(height)-float64(step), half))
		}
		pad := strings.Repeat(" ", margin-utf8.RuneCountInString(label))
		fmt.Fprintln(w, strings.TrimRight(pad+label+" ┤"+b.String(), " "))
	}
	left, right := Number(p.X[0], 4), Number(p.X[len(p.X)-1], 4)+" "+p.XUnit
	gap := max(len(columns)-utf8.RuneCountInString(left)-utf8.RuneCountInString(right), 1)
	fmt.Fprintln(w, strings.Repeat(" ", margin+2)+left+strings.Repeat(" ", gap)+right)
}

// cell is what a column shows in one line, given how much of the line is
// filled and the block that fills half of it.
func cell(filled float64, half string) string {
	switch {
	case filled >= 0.75:
		return wholeBlock
	case filled >= 0.25:
		return half
	}
	return " "
}

func (p Plot) drawable() bool {
	n := len(p.X)
	if n < 2 || len(p.Y) != n || !(p.X[n-1] > p.X[0]) || !(maximum(p.Y) > 0) {
		return false
	}
	for i := range p.X {
		if math.IsNaN(p.X[i]+p.Y[i]) || math.IsInf(p.X[i], 0) || math.IsInf(p.Y[i], 0) {
			return false
		}
	}
	return true
}

// resample gives n columns, each the greatest y in its stretch of x, so that a
// narrow groove is not lost; a stretch without a point takes the straight line
// between its neighbours.
func (p Plot) resample(n int) []float64 {
	first, last := p.X[0], p.X[len(p.X)-1]
	columns := make([]float64, n)
	for c := range columns {
		from := first + (last-first)*float64(c)/float64(n)
		to := first + (last-first)*float64(c+1)/float64(n)
		columns[c] = max(p.at(from), p.at(to))
		for i, x := range p.X {
			if x >= from && x <= to {
				columns[c] = max(columns[c], p.Y[i])
			}
		}
	}
	return columns
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

func maximum(values []float64) float64 {
	m := math.Inf(-1)
	for _, v := range values {
		m = math.Max(m, v)
	}
	return m
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
