package render

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/f64"
	"golang.org/x/image/vector"

	xdraw "golang.org/x/image/draw"

	"barrelbook/domain/drawing"
)

// dotsPerPixel makes a picture sharp on paper and on fine screens.
const dotsPerPixel = 2

// WritePNG paints a laid-out drawing as a picture of dots, two for each pixel of
// the layout.
func WritePNG(w io.Writer, p drawing.Picture, theme drawing.Theme) error {
	dark := theme == drawing.Dark
	b := image.Rect(0, 0, int(math.Ceil(p.Width*dotsPerPixel)), int(math.Ceil(p.Height*dotsPerPixel)))
	c := &canvas{image: image.NewRGBA(b), dark: dark, faces: map[faceKey]font.Face{}}
	draw.Draw(c.image, b, image.NewUniform(colourOf(drawing.Ground(dark))), image.Point{}, draw.Src)
	for _, s := range p.Shapes {
		if err := c.paint(s); err != nil {
			return err
		}
	}
	return png.Encode(w, c.image)
}

type faceKey struct {
	size float64
	bold bool
}

type canvas struct {
	image *image.RGBA
	dark  bool
	faces map[faceKey]font.Face
}

func (c *canvas) paint(s drawing.Shape) error {
	ink := colourOf(s.Ink.Colour(c.dark))
	switch s.Kind {
	case drawing.Area:
		ink.A = 46 // as thin as in SVG
		c.fill(s.Points, ink)
	case drawing.Dot:
		c.fill(circle(s.Points[0], s.Size), ink)
	case drawing.Text:
		return c.write(s, ink)
	default:
		for _, stretch := range dashed(s.Points, s.Dash) {
			c.stroke(stretch, s.Width, ink)
		}
	}
	return nil
}

func colourOf(hex string) color.NRGBA {
	r, g, b := drawing.RGB(hex)
	return color.NRGBA{r, g, b, 255}
}

func (c *canvas) fill(points []drawing.Point, ink color.NRGBA) {
	b := c.image.Bounds()
	r := vector.NewRasterizer(b.Dx(), b.Dy())
	for i, p := range points {
		x, y := float32(p.X*dotsPerPixel), float32(p.Y*dotsPerPixel)
		if i == 0 {
			r.MoveTo(x, y)
		} else {
			r.LineTo(x, y)
		}
	}
	r.ClosePath()
	r.Draw(c.image, b, image.NewUniform(ink), image.Point{})
}

// stroke fills a strip about each stretch of a line and a disc at each bend.
func (c *canvas) stroke(points []drawing.Point, width float64, ink color.NRGBA) {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		length := math.Hypot(b.X-a.X, b.Y-a.Y)
		if length == 0 {
			continue
		}
		dx, dy := -(b.Y-a.Y)/length*width/2, (b.X-a.X)/length*width/2
		c.fill([]drawing.Point{{X: a.X + dx, Y: a.Y + dy}, {X: b.X + dx, Y: b.Y + dy}, {X: b.X - dx, Y: b.Y - dy}, {X: a.X - dx, Y: a.Y - dy}}, ink)
		if i > 1 && width > 1.5 {
			c.fill(circle(a, width/2), ink)
		}
	}
}

func circle(at drawing.Point, radius float64) []drawing.Point {
	const corners = 16
	points := make([]drawing.Point, corners)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		points[i] = drawing.Point{X: at.X + radius*cos, Y: at.Y + radius*sin}
	}
	return points
}

// dashed cuts a line into what is drawn of it.
func dashed(points []drawing.Point, dash []float64) (list [][]drawing.Point) {
	if len(dash) == 0 || len(points) < 2 {
		return [][]drawing.Point{points}
	}
	k, left := 0, dash[0]
	run := []drawing.Point{points[0]}
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		length := math.Hypot(b.X-a.X, b.Y-a.Y)
		for done := 0.0; length-done > left; {
			done += left
			at := drawing.Point{X: a.X + (b.X-a.X)*done/length, Y: a.Y + (b.Y-a.Y)*done/length}
			if k%2 == 0 {
				list = append(list, append(run, at))
			}
			k++
			left, run, a, length, done = dash[k%len(dash)], []drawing.Point{at}, at, length-done, 0
		}
		left -= math.Hypot(b.X-a.X, b.Y-a.Y)
		run = append(run, b)
	}
	if k%2 == 0 {
		list = append(list, run)
	}
	return list
}

func (c *canvas) write(s drawing.Shape, ink color.NRGBA) error {
	face, err := c.face(faceKey{s.Size, s.Bold})
	if err != nil {
		return err
	}
	width := font.MeasureString(face, s.Text).Ceil()
	shift := map[drawing.Anchor]float64{drawing.Start: 0, drawing.Middle: 0.5, drawing.End: 1}[s.Anchor] * float64(width)
	x, y := s.Points[0].X*dotsPerPixel, s.Points[0].Y*dotsPerPixel
	ascent, height := face.Metrics().Ascent.Ceil(), face.Metrics().Height.Ceil()
	word := image.NewRGBA(image.Rect(0, 0, width+1, height+1))
	d := font.Drawer{Dst: word, Src: image.NewUniform(ink), Face: face}
	d.Dot.Y = face.Metrics().Ascent
	d.DrawString(s.Text)
	if !s.Turned {
		at := image.Pt(int(math.Round(x-shift)), int(math.Round(y))-ascent)
		draw.Draw(c.image, word.Bounds().Add(at), word, image.Point{}, draw.Over)
		return nil
	}
	// A quarter turn against the clock: what ran to the right runs up.
	turn := f64.Aff3{0, 1, x - float64(ascent), -1, 0, y + shift}
	xdraw.NearestNeighbor.Transform(c.image, turn, word, word.Bounds(), draw.Over, nil)
	return nil
}

func (c *canvas) face(k faceKey) (font.Face, error) {
	if f, ok := c.faces[k]; ok {
		return f, nil
	}
	ttf := goregular.TTF
	if k.bold {
		ttf = gobold.TTF
	}
	parsed, err := opentype.Parse(ttf)
	if err != nil {
		return nil, err
	}
	f, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: k.size, DPI: 72 * dotsPerPixel, Hinting: font.HintingFull})
	c.faces[k] = f
	return f, err
}
