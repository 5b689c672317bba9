package paper

import (
	"io"
	"time"
)

// Label is what is stuck on a cradle or the end of a roll: 100 by 50 mm.
type Label struct {
	Number string
	Lines  []string
	Made   time.Time
}

// Write makes the label.
func (l Label) Write(w io.Writer) error {
	const width, height, edge, square = 100.0, 50.0, 4.0, 30.0
	s := newSheet(width, height, l.Made)
	s.SetMargins(edge, edge, edge+square+2)
	s.SetAutoPageBreak(false, 0)
	s.SetTitle(l.Number, true)
	s.AddPage()
	s.qr(l.Number, width-edge-square, edge, square)
	size := 26.0
	for s.SetFont("text", "B", size); size > 10 && s.GetStringWidth(l.Number) > width-2*edge-square-4; s.SetFont("text", "B", size) {
		size--
	}
	s.CellFormat(0, 12, l.Number, "", 1, "L", false, 0, "")
	for _, line := range l.Lines {
		s.paragraph(body, "", line)
	}
	s.bars(l.Number, edge, height-edge-9, width-2*edge, 9)
	return s.Output(w)
}
