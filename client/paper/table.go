package paper

// table writes rows under a repeated head; a row is as high as its longest cell.
func (s sheet) table(t Table) {
	if len(t.Rows) == 0 {
		return
	}
	s.paragraph(11, "B", t.Title)
	s.SetFont("text", "B", small)
	s.row(t.Heads, t.Shares)
	s.SetFont("text", "", small)
	for _, cells := range t.Rows {
		s.row(cells, t.Shares)
	}
	s.Ln(3)
}

func (s sheet) row(cells []string, shares []float64) {
	const line = 4.0
	lines, high := make([][]string, len(cells)), 1
	for i, c := range cells {
		lines[i] = s.SplitText(c, shares[i]*textWidth-1)
		high = max(high, len(lines[i]))
	}
	_, pageHeight := s.GetPageSize()
	if s.GetY()+float64(high)*line > pageHeight-margin-8 {
		s.AddPage()
	}
	top, x := s.GetY(), margin
	for i, cell := range lines {
		for k, text := range cell {
			s.SetXY(x, top+0.6+float64(k)*line)
			s.CellFormat(shares[i]*textWidth, line, text, "", 0, "L", false, 0, "")
		}
		x += shares[i] * textWidth
	}
	bottom := top + 1.2 + float64(high)*line
	s.SetDrawColor(190, 190, 190)
	s.SetLineWidth(0.15)
	s.Line(margin, bottom, margin+textWidth, bottom)
	s.SetXY(margin, bottom)
}
