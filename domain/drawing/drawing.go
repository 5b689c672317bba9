// Package drawing lays out the pictures of the trade: wear and load along a
// barrel, diameter over a roll's life, limits as they fill. A Sheet goes in,
// shapes at places in pixels come out; SVG writes them as text, and whoever
// can paint may turn them into a picture of dots. All is pure: the same sheet
// gives the same drawing.
//
// Lines are told apart three ways, so that a reader who does not see colours
// can: by colour, by dash, and by their name at the line's end.
package drawing

import (
	"fmt"
	"math"
)

// Sheet is one drawing: panels one under the other with their x axes lined up.
type Sheet struct {
	// Title says in words what is drawn; it is also the text for a screen reader.
	Title  string
	Panels []Panel
	// Width of the whole in pixels. Defaults to 720.
	Width float64
}

// Panel is one field with curves over a common x.
type Panel struct {
	Title string
	// X and Y name the quantity and unit of each axis: "along the barrel, mm".
	X, Y   string
	Curves []Curve
	// Limits are levels of y that count, drawn across the field with their name.
	Limits []Level
	// Marks are places on x that count, as the edges of the strip.
	Marks []Level
	// Points stand for themselves: readings, regrinds.
	Points []Cloud
	// Down draws y downwards, as wear lies below the ground surface.
	Down bool
	// FromZero makes the y axis start at zero whatever the values are.
	FromZero bool
	// Height in pixels. Defaults to 260.
	Height float64
	// XNames write words in place of numbers at the ticks of x: dates, stands.
	XNames []Level
}

// Curve is y over x under a name. A Low and High of the same length as Y are
// drawn as a band about it.
type Curve struct {
	Name      string
	X, Y      []float64
	Low, High []float64
	// Steps holds each value until the next x, as a diameter between two grinds.
	Steps bool
}

// Level is a named value on an axis.
type Level struct {
	Name string
	At   float64
}

// Cloud is points under a name.
type Cloud struct {
	Name string
	X, Y []float64
}

const (
	defaultWidth  = 720
	defaultHeight = 260
)

// check refuses what cannot be drawn.
func (s Sheet) check() error {
	if len(s.Panels) == 0 {
		return fmt.Errorf("there is nothing to draw yet")
	}
	for _, p := range s.Panels {
		if err := p.check(); err != nil {
			return fmt.Errorf("%s: %w", p.Title, err)
		}
	}
	return nil
}

func (p Panel) check() error {
	drawn := 0
	for _, c := range p.Curves {
		if len(c.X) != len(c.Y) || len(c.Low) != len(c.High) || len(c.Low) != 0 && len(c.Low) != len(c.Y) {
			return fmt.Errorf("%s: %d places, %d values, a band of %d and %d", c.Name, len(c.X), len(c.Y), len(c.Low), len(c.High))
		}
		if !finite(c.X, c.Y, c.Low, c.High) {
			return fmt.Errorf("%s: a value is not finite", c.Name)
		}
		drawn += len(c.X)
	}
	for _, c := range p.Points {
		if len(c.X) != len(c.Y) || !finite(c.X, c.Y) {
			return fmt.Errorf("%s: %d places and %d values, all of which must be finite", c.Name, len(c.X), len(c.Y))
		}
		drawn += len(c.X)
	}
	for _, l := range append(append(append([]Level(nil), p.Limits...), p.Marks...), p.XNames...) {
		if math.IsNaN(l.At) || math.IsInf(l.At, 0) {
			return fmt.Errorf("%s: is not finite", l.Name)
		}
	}
	if drawn == 0 {
		return fmt.Errorf("there is nothing to draw yet")
	}
	return nil
}

func finite(lists ...[]float64) bool {
	for _, list := range lists {
		for _, v := range list {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return false
			}
		}
	}
	return true
}
