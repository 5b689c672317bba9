package drawing

import (
	"strconv"
	"strings"
)

// Ink is what a shape is drawn for. Its colour follows from it, in a light and
// in a dark hall.
type Ink int

// The inks. Series0 and those after it are the curves, in their order.
const (
	InkText Ink = iota
	InkQuiet
	InkGrid
	InkLimit
	InkMark
	Series0
)

// seriesCount is how many curves are told apart before colours and dashes
// repeat.
const seriesCount = 6

// Series is the ink of the curve with the number, from 0.
func Series(n int) Ink { return Series0 + Ink(n%seriesCount) }

// Colour of an ink as #rrggbb on a light and on a dark ground. The colours of
// the curves can be told apart by readers who do not see all colours (the set
// of Okabe and Ito, "Color Universal Design", 2008, from memory; darkened or
// lightened where the ground asks for a contrast of 3 to 1).
func (i Ink) Colour(dark bool) string {
	if dark {
		return colours[i].dark
	}
	return colours[i].light
}

var colours = map[Ink]struct{ light, dark string }{
	InkText:     {"#1a1a1a", "#ececec"},
	InkQuiet:    {"#555555", "#b4b4b4"},
	InkGrid:     {"#dcdcdc", "#3a3a3a"},
	InkLimit:    {"#b00020", "#ff8a80"},
	InkMark:     {"#6a6a6a", "#9a9a9a"},
	Series0:     {"#0072b2", "#56b4e9"},
	Series0 + 1: {"#b84e00", "#f0975a"},
	Series0 + 2: {"#007f5f", "#3fc79a"},
	Series0 + 3: {"#a6498a", "#d99abf"},
	Series0 + 4: {"#7a6a00", "#e8d44d"},
	Series0 + 5: {"#1a1a1a", "#ececec"},
}

// RGB takes a colour as Colour and Ground give it, #rrggbb, apart.
func RGB(hex string) (r, g, b uint8) {
	v, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 24)
	if err != nil {
		return 0, 0, 0
	}
	return uint8(v >> 16), uint8(v >> 8), uint8(v)
}

// Ground is the colour behind everything.
func Ground(dark bool) string {
	if dark {
		return "#161616"
	}
	return "#ffffff"
}

// dashes of the curves, in pixels drawn and left out.
var dashes = [seriesCount][]float64{nil, {8, 4}, {2, 3}, {10, 3, 2, 3}, {5, 3}, {12, 5}}

// Kind is the form of a shape.
type Kind int

// The forms.
const (
	Path Kind = iota // an open line
	Area             // a filled polygon, drawn thinly
	Dot              // a filled circle about the one point, Size its radius
	Text             // written at the one point
)

// Anchor is where text hangs at its point.
type Anchor int

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Point is a place in pixels from the top left corner.
type Point struct{ X, Y float64 }

// Shape is one thing to draw.
type Shape struct {
	Kind   Kind
	Ink    Ink
	Points []Point
	Width  float64   // of a line
	Dash   []float64 // of a line; nil for a whole one
	Text   string
	Size   float64 // of text: the height of its letters' body; of a dot: its radius
	Bold   bool
	Anchor Anchor
	Turned bool // text that reads upwards
}

// Picture is a sheet laid out.
type Picture struct {
	Title         string
	Width, Height float64
	Shapes        []Shape
}
