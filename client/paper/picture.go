package paper

import (
	"codeberg.org/go-pdf/fpdf"

	"barrelbook/domain/drawing"
)

// least is how high a drawing must be, mm, to be read.
const least = 25.0

// pictures places drawings, two in a row, into the room that is left on the page;
// those that would be too small to read are left out.
func (s sheet) pictures(list []drawing.Picture) {
	const between = 4.0
	_, pageHeight := s.GetPageSize()
	wide := (textWidth - between) / 2
	for i := 0; i < len(list); i += 2 {
		row, high := list[i:min(i+2, len(list))], 0.0
		for _, p := range row {
			high = max(high, p.Height*wide/p.Width)
		}
		shrink := min(1, (pageHeight-margin-8-s.GetY())/high)
		if high*shrink < least {
			return
		}
		top := s.GetY()
		for k, p := range row {
			s.picture(p, margin+float64(k)*(wide+between), top, shrink*wide/p.Width)
		}
		s.SetXY(margin, top+high*shrink+1)
	}
}

// picture draws the shapes of one, scale mm to a pixel.
func (s sheet) picture(p drawing.Picture, x, y, scale float64) {
	at := func(q drawing.Point) fpdf.PointType { return fpdf.PointType{X: x + q.X*scale, Y: y + q.Y*scale} }
	for _, shape := range p.Shapes {
		r, g, b := rgb(shape.Ink.Colour(false))
		switch shape.Kind {
		case drawing.Area:
			points := make([]fpdf.PointType, len(shape.Points))
			for i, q := range shape.Points {
				points[i] = at(q)
			}
			s.SetFillColor(r, g, b)
			s.SetAlpha(0.18, "Normal")
			s.Polygon(points, "F")
			s.SetAlpha(1, "Normal")
		case drawing.Dot:
			s.SetFillColor(r, g, b)
			c := at(shape.Points[0])
			s.Circle(c.X, c.Y, shape.Size*scale, "F")
		case drawing.Text:
			s.SetTextColor(r, g, b)
			s.label(shape, at(shape.Points[0]), scale)
			s.SetTextColor(0, 0, 0)
		default:
			s.SetDrawColor(r, g, b)
			s.stroke(shape, at, scale)
		}
	}
	s.SetDrawColor(0, 0, 0)
}

func (s sheet) stroke(shape drawing.Shape, at func(drawing.Point) fpdf.PointType, scale float64) {
	dash := make([]float64, len(shape.Dash))
	for i, d := range shape.Dash {
		dash[i] = d * scale
	}
	s.SetDashPattern(dash, 0)
	s.SetLineWidth(shape.Width * scale)
	for i, q := range shape.Points {
		if p := at(q); i == 0 {
			s.MoveTo(p.X, p.Y)
		} else {
			s.LineTo(p.X, p.Y)
		}
	}
	s.DrawPath("D")
	s.SetDashPattern(nil, 0)
}

// pointMM is a printer's point.
const pointMM = 25.4 / 72

func (s sheet) label(shape drawing.Shape, p fpdf.PointType, scale float64) {
	style := ""
	if shape.Bold {
		style = "B"
	}
	s.SetFont("text", style, shape.Size*scale/pointMM)
	shift := map[drawing.Anchor]float64{drawing.Middle: 0.5, drawing.End: 1}[shape.Anchor] * s.GetStringWidth(shape.Text)
	if shape.Turned {
		s.TransformBegin()
		s.TransformRotate(90, p.X, p.Y)
		defer s.TransformEnd()
	}
	s.Text(p.X-shift, p.Y, shape.Text)
}

func rgb(hex string) (r, g, b int) {
	red, green, blue := drawing.RGB(hex)
	return int(red), int(green), int(blue)
}
