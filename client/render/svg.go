package render

import (
	"fmt"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/plotutil"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Panel is one drawing of a sheet: curves over a common x, with the quantity and
// unit of each axis.
type Panel struct {
	Title, X, Y string
	Curves      []Curve
	// Down draws y downwards, as wear lies below the ground surface.
	Down bool
}

// Curve is y over x under a name.
type Curve struct {
	Name string
	X, Y []float64
}

// The size of a panel on paper.
const (
	panelWidth  = 18 * vg.Centimeter
	panelHeight = 8 * vg.Centimeter
)

// WriteSVG draws panels one under the other, their x axes lined up. It fails
// where there is nothing to draw or a value is not finite.
func WriteSVG(w io.Writer, panels []Panel) error {
	if len(panels) == 0 {
		return fmt.Errorf("there is nothing to draw yet")
	}
	sheet := make([][]*plot.Plot, len(panels))
	for i, p := range panels {
		drawn, err := p.plot()
		if err != nil {
			return err
		}
		sheet[i] = []*plot.Plot{drawn}
	}
	canvas := vgsvg.New(panelWidth, panelHeight*vg.Length(len(panels)))
	const gap = 4 * vg.Millimeter
	tiles := draw.Tiles{Rows: len(panels), Cols: 1, PadX: gap, PadY: gap, PadTop: gap, PadBottom: gap, PadLeft: gap, PadRight: gap}
	for i, row := range plot.Align(sheet, tiles, draw.New(canvas)) {
		sheet[i][0].Draw(row[0])
	}
	_, err := canvas.WriteTo(w)
	return err
}

func (p Panel) plot() (*plot.Plot, error) {
	drawn := plot.New()
	drawn.Title.Text, drawn.X.Label.Text, drawn.Y.Label.Text = p.Title, p.X, p.Y
	drawn.Legend.Top = true
	drawn.Add(plotter.NewGrid())
	for i, c := range p.Curves {
		if len(c.X) != len(c.Y) {
			return nil, fmt.Errorf("%s: %d places and %d values", c.Name, len(c.X), len(c.Y))
		}
		points := make(plotter.XYs, len(c.X))
		for k := range c.X {
			points[k] = plotter.XY{X: c.X[k], Y: c.Y[k]}
		}
		line, err := plotter.NewLine(points)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", c.Name, err)
		}
		line.Color, line.Dashes, line.Width = plotutil.Color(i), plotutil.Dashes(i), vg.Points(1.2)
		drawn.Add(line)
		drawn.Legend.Add(c.Name, line)
	}
	// From 0, with room for the legend over the curves.
	drawn.Y.Min, drawn.Y.Max = math.Min(0, drawn.Y.Min), drawn.Y.Max+(drawn.Y.Max-math.Min(0, drawn.Y.Min))/4
	if p.Down {
		drawn.Y.Scale = plot.InvertedScale{Normalizer: drawn.Y.Scale}
		drawn.Legend.Top = false
	}
	return drawn, nil
}
