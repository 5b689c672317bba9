package drawing

import (
	"math"
	"sort"
	"unicode/utf8"
)

// The sizes of the layout, pixels.
const (
	textSize    = 12.0
	titleSize   = 13.0
	marginLeft  = 66.0
	marginOuter = 14.0
	belowField  = 46.0
	aboveField  = 30.0
	tickLength  = 4.0
	curveWidth  = 1.8
	// letterWidth is the mean width of a letter of the usual fonts to its size,
	// on the wide side: common practice, no source.
	letterWidth = 0.58
)

// Layout places everything. It fails where there is nothing to draw, lists do
// not match or a value is not finite.
func (s Sheet) Layout() (Picture, error) {
	if err := s.check(); err != nil {
		return Picture{}, err
	}
	width := s.Width
	if width <= 0 {
		width = defaultWidth
	}
	right := marginOuter
	for _, p := range s.Panels {
		right = math.Max(right, p.endRoom())
	}
	right = math.Min(right, width/3)
	picture := Picture{Title: s.Title, Width: width}
	top := 0.0
	for _, p := range s.Panels {
		height := p.Height
		if height <= 0 {
			height = defaultHeight
		}
		f := newField(p, marginLeft, top+aboveField, width-marginLeft-right, height-aboveField-belowField)
		picture.Shapes = append(picture.Shapes, f.shapes()...)
		top += height
	}
	picture.Height = top
	return picture, nil
}

// endRoom is what the names at the ends of the lines need to the right of the
// field.
func (p Panel) endRoom() float64 {
	longest := 0
	for _, name := range p.endNames() {
		longest = max(longest, utf8.RuneCountInString(name))
	}
	if longest == 0 {
		return marginOuter
	}
	return float64(longest)*textSize*letterWidth + 2*marginOuter
}

func (p Panel) endNames() (names []string) {
	for _, c := range p.Curves {
		names = append(names, c.Name)
	}
	for _, l := range p.Limits {
		names = append(names, l.Name)
	}
	for _, c := range p.Points {
		names = append(names, c.Name)
	}
	return names
}

// field is the drawn part of a panel: where values lie in pixels.
type field struct {
	Panel
	left, top, width, height float64
	xTicks, yTicks           []float64
}

func newField(p Panel, left, top, width, height float64) field {
	xLow, xHigh, yLow, yHigh := p.extent()
	f := field{Panel: p, left: left, top: top, width: width, height: height}
	f.xTicks = Ticks(xLow, xHigh, max(2, int(width/90)))
	if len(p.XNames) > 0 && xHigh > xLow { // the names stand for the ticks: no room beyond the values is needed
		f.xTicks = []float64{xLow, xHigh}
	}
	f.yTicks = Ticks(yLow, yHigh, max(2, int(height/40)))
	return f
}

// extent is the stretch of both axes that the panel needs.
func (p Panel) extent() (xLow, xHigh, yLow, yHigh float64) {
	xLow, xHigh, yLow, yHigh = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	take := func(low, high *float64, lists ...[]float64) {
		for _, list := range lists {
			for _, v := range list {
				*low, *high = math.Min(*low, v), math.Max(*high, v)
			}
		}
	}
	for _, c := range p.Curves {
		take(&xLow, &xHigh, c.X)
		take(&yLow, &yHigh, c.Y, c.Low, c.High)
	}
	for _, c := range p.Points {
		take(&xLow, &xHigh, c.X)
		take(&yLow, &yHigh, c.Y)
	}
	for _, l := range p.Limits {
		take(&yLow, &yHigh, []float64{l.At})
	}
	for _, l := range append(append([]Level(nil), p.Marks...), p.XNames...) {
		take(&xLow, &xHigh, []float64{l.At})
	}
	if p.FromZero || p.Down {
		yLow = math.Min(0, yLow)
	}
	return xLow, xHigh, yLow, yHigh
}

func (f field) x(v float64) float64 {
	low, high := f.xTicks[0], f.xTicks[len(f.xTicks)-1]
	return f.left + f.width*(v-low)/(high-low)
}

func (f field) y(v float64) float64 {
	low, high := f.yTicks[0], f.yTicks[len(f.yTicks)-1]
	share := (v - low) / (high - low)
	if f.Down {
		return f.top + f.height*share
	}
	return f.top + f.height*(1-share)
}

func (f field) shapes() []Shape {
	list := f.frame()
	list = append(list, f.marks()...)
	for i, c := range f.Curves {
		list = append(list, f.curve(i, c)...)
	}
	for i, c := range f.Points {
		for k := range c.X {
			list = append(list, Shape{Kind: Dot, Ink: Series(len(f.Curves) + i), Points: []Point{{f.x(c.X[k]), f.y(c.Y[k])}}, Size: 2.6})
		}
	}
	for _, l := range f.Limits {
		list = append(list, Shape{Kind: Path, Ink: InkLimit, Width: 1.4, Dash: []float64{6, 3}, Points: []Point{{f.left, f.y(l.At)}, {f.left + f.width, f.y(l.At)}}})
	}
	return append(list, f.ends()...)
}

// frame is title, grid, ticks and names of the axes.
func (f field) frame() []Shape {
	bottom := f.top + f.height
	list := []Shape{{Kind: Text, Ink: InkText, Points: []Point{{f.left, f.top - 12}}, Text: f.Title, Size: titleSize, Bold: true}}
	for _, v := range f.yTicks {
		y := f.y(v)
		list = append(list, Shape{Kind: Path, Ink: InkGrid, Width: 1, Points: []Point{{f.left, y}, {f.left + f.width, y}}},
			Shape{Kind: Text, Ink: InkQuiet, Points: []Point{{f.left - 8, y + textSize*0.35}}, Text: label(v, f.yTicks[1]-f.yTicks[0]), Size: textSize, Anchor: End})
	}
	for _, t := range f.xLabels() {
		x := f.x(t.At)
		list = append(list, Shape{Kind: Path, Ink: InkQuiet, Width: 1, Points: []Point{{x, bottom}, {x, bottom + tickLength}}},
			Shape{Kind: Text, Ink: InkQuiet, Points: []Point{{x, bottom + tickLength + textSize + 2}}, Text: t.Name, Size: textSize, Anchor: Middle})
	}
	return append(list,
		Shape{Kind: Path, Ink: InkQuiet, Width: 1, Points: []Point{{f.left, f.top}, {f.left, bottom}, {f.left + f.width, bottom}}},
		Shape{Kind: Text, Ink: InkText, Points: []Point{{f.left + f.width/2, bottom + belowField - 10}}, Text: f.X, Size: textSize, Anchor: Middle},
		Shape{Kind: Text, Ink: InkText, Points: []Point{{f.left - marginLeft + 14, f.top + f.height/2}}, Text: f.Y, Size: textSize, Anchor: Middle, Turned: true})
}

func (f field) xLabels() []Level {
	if len(f.XNames) > 0 {
		return f.XNames
	}
	list := make([]Level, len(f.xTicks))
	for i, v := range f.xTicks {
		list[i] = Level{Name: label(v, f.xTicks[1]-f.xTicks[0]), At: v}
	}
	return list
}

func (f field) marks() (list []Shape) {
	for _, m := range f.Marks {
		x := f.x(m.At)
		list = append(list, Shape{Kind: Path, Ink: InkMark, Width: 1, Dash: []float64{2, 2}, Points: []Point{{x, f.top}, {x, f.top + f.height}}})
		if m.Name != "" {
			list = append(list, Shape{Kind: Text, Ink: InkQuiet, Points: []Point{{x + 4, f.top + f.height - 6}}, Text: m.Name, Size: textSize - 1})
		}
	}
	return list
}

func (f field) curve(i int, c Curve) (list []Shape) {
	if len(c.X) == 0 {
		return nil
	}
	if len(c.Low) > 0 {
		band := append(f.path(c.X, c.High, c.Steps), reversed(f.path(c.X, c.Low, c.Steps))...)
		list = append(list, Shape{Kind: Area, Ink: Series(i), Points: band})
	}
	if len(c.X) == 1 { // no line goes through one point
		at := Point{f.x(c.X[0]), f.y(c.Y[0])}
		if len(c.Low) == 1 {
			list = append(list, Shape{Kind: Path, Ink: Series(i), Width: 1, Points: []Point{{at.X, f.y(c.Low[0])}, {at.X, f.y(c.High[0])}}})
		}
		return append(list, Shape{Kind: Dot, Ink: Series(i), Points: []Point{at}, Size: 3.5})
	}
	return append(list, Shape{Kind: Path, Ink: Series(i), Width: curveWidth, Dash: dashes[i%seriesCount], Points: f.path(c.X, c.Y, c.Steps)})
}

func (f field) path(xs, ys []float64, steps bool) []Point {
	points := make([]Point, 0, len(xs))
	for k := range xs {
		if steps && k > 0 {
			points = append(points, Point{f.x(xs[k]), f.y(ys[k-1])})
		}
		points = append(points, Point{f.x(xs[k]), f.y(ys[k])})
	}
	return points
}

func reversed(points []Point) []Point {
	out := make([]Point, len(points))
	for i, p := range points {
		out[len(points)-1-i] = p
	}
	return out
}

// ends writes the name of each line beside its end, kept apart from one
// another.
func (f field) ends() []Shape {
	var names []Shape
	add := func(text string, ink Ink, y float64) {
		if text != "" {
			names = append(names, Shape{Kind: Text, Ink: ink, Points: []Point{{f.left + f.width + 8, y + textSize*0.35}}, Text: text, Size: textSize})
		}
	}
	for i, c := range f.Curves {
		if n := len(c.Y); n > 0 {
			add(c.Name, Series(i), f.y(c.Y[n-1]))
		}
	}
	for i, c := range f.Points {
		if n := len(c.Y); n > 0 {
			add("• "+c.Name, Series(len(f.Curves)+i), f.y(c.Y[n-1]))
		}
	}
	for _, l := range f.Limits {
		add(l.Name, InkLimit, f.y(l.At))
	}
	apart(names, textSize*1.25, f.top+textSize, f.top+f.height+belowField/2)
	return names
}

// apart moves names down, and where there is no more room up, until they do not
// lie on one another.
func apart(names []Shape, gap, top, bottom float64) {
	sort.SliceStable(names, func(i, j int) bool { return names[i].Points[0].Y < names[j].Points[0].Y })
	for i := range names {
		y := math.Max(names[i].Points[0].Y, top)
		if i > 0 {
			y = math.Max(y, names[i-1].Points[0].Y+gap)
		}
		names[i].Points[0].Y = y
	}
	for i := len(names) - 1; i >= 0; i-- {
		limit := bottom
		if i < len(names)-1 {
			limit = names[i+1].Points[0].Y - gap
		}
		names[i].Points[0].Y = math.Min(names[i].Points[0].Y, limit)
	}
}
