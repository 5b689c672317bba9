package drawing

import (
	"fmt"
	"strconv"
	"strings"
)

// Theme says for which ground a drawing is made.
type Theme int

// The themes. ByReader follows what the reader's screen asks for, by a style of
// its own; InPage does so by the page's, which must have DarkStyle in it.
const (
	Light Theme = iota
	Dark
	ByReader
	InPage
)

// SVG writes the picture as a document of its own (SVG 1.1) that also stands
// within a page. It names no font, loads nothing and has a title for a screen
// reader.
func (p Picture) SVG(theme Theme) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" width="%[1]s" height="%[2]s" role="img" font-family="sans-serif">`, px(p.Width), px(p.Height))
	fmt.Fprintf(&b, "\n<title>%s</title>\n", escape.Replace(p.Title))
	if theme == ByReader {
		b.WriteString("<style>" + DarkStyle() + "</style>\n")
	}
	paint := painter(theme)
	fmt.Fprintf(&b, "<rect width=\"100%%\" height=\"100%%\" %s/>\n", paint("fill", Ground(theme == Dark), "ground"))
	for _, s := range p.Shapes {
		b.WriteString(s.svg(func(property string) string {
			return paint(property, s.Ink.Colour(theme == Dark), strconv.Itoa(int(s.Ink)))
		}))
		b.WriteByte('\n')
	}
	b.WriteString("</svg>\n")
	return b.String()
}

// painter writes a colour as an attribute, and where the reader chooses the
// ground a class by which DarkStyle changes it.
func painter(theme Theme) func(property, colour, ink string) string {
	return func(property, colour, ink string) string {
		if theme != ByReader && theme != InPage {
			return fmt.Sprintf(`%s="%s"`, property, colour)
		}
		return fmt.Sprintf(`%s="%s" class="ink-%s-%s"`, property, colour, property, ink)
	}
}

// DarkStyle is what changes on a dark ground. Readers that know no styles show
// the light colours of the attributes.
func DarkStyle() string {
	var b strings.Builder
	b.WriteString("@media (prefers-color-scheme:dark){.ink-fill-ground{fill:" + Ground(true) + "}")
	for i := InkText; i < Series0+seriesCount; i++ {
		fmt.Fprintf(&b, ".ink-fill-%d{fill:%s}.ink-stroke-%[1]d{stroke:%[2]s}", i, i.Colour(true))
	}
	b.WriteString("}")
	return b.String()
}

func (s Shape) svg(paint func(property string) string) string {
	switch s.Kind {
	case Area:
		return fmt.Sprintf(`<polygon points="%s" %s fill-opacity="0.18"/>`, points(s.Points), paint("fill"))
	case Dot:
		return fmt.Sprintf(`<circle cx="%s" cy="%s" r="%s" %s/>`, px(s.Points[0].X), px(s.Points[0].Y), px(s.Size), paint("fill"))
	case Text:
		return s.svgText(paint("fill"))
	}
	dash := ""
	if len(s.Dash) > 0 {
		parts := make([]string, len(s.Dash))
		for i, d := range s.Dash {
			parts[i] = px(d)
		}
		dash = ` stroke-dasharray="` + strings.Join(parts, " ") + `"`
	}
	return fmt.Sprintf(`<polyline points="%s" fill="none" %s stroke-width="%s"%s stroke-linejoin="round"/>`, points(s.Points), paint("stroke"), px(s.Width), dash)
}

func (s Shape) svgText(fill string) string {
	more := ""
	if s.Anchor != Start {
		more += ` text-anchor="` + map[Anchor]string{Middle: "middle", End: "end"}[s.Anchor] + `"`
	}
	if s.Bold {
		more += ` font-weight="bold"`
	}
	x, y := px(s.Points[0].X), px(s.Points[0].Y)
	if s.Turned {
		more += fmt.Sprintf(` transform="rotate(-90 %s %s)"`, x, y)
	}
	return fmt.Sprintf(`<text x="%s" y="%s" font-size="%s" %s%s>%s</text>`, x, y, px(s.Size), fill, more, escape.Replace(s.Text))
}

func points(list []Point) string {
	parts := make([]string, len(list))
	for i, p := range list {
		parts[i] = px(p.X) + "," + px(p.Y)
	}
	return strings.Join(parts, " ")
}

// px prints a place to a tenth of a pixel.
func px(v float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
}

// escape writes what would be read as marks.
var escape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;")
