// Package paper makes the cards that hang on a roll or lie on a grinder: pages
// as PDF, with codes that a reader types the number from.
package paper

import (
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"barrelbook/domain/drawing"
)

// Page is one sheet of A4.
type Page struct {
	// Title is the heading, Code what the codes hold: a number of a roll or set;
	// empty for none.
	Title, Code string
	// Verdict stands out below the heading, its reasons in small.
	Verdict string
	Reasons []string
	Facts   [][2]string
	Tables  []Table
	// Pictures stand two in a row, where there is room left.
	Pictures []drawing.Picture
	Cautions []string
	// Made is when, as the reader's clock shows it.
	Made time.Time
}

// Table is rows under heads.
type Table struct {
	Title string
	Heads []string
	// Shares of the width that the columns take; as many as heads.
	Shares []float64
	Rows   [][]string
}

// Sizes in mm and, of letters, points.
const (
	margin    = 14.0
	pageWidth = 210.0
	textWidth = pageWidth - 2*margin
	qrSize    = 28.0
	lineRoom  = 5.0
	body      = 9.5
	small     = 8.0
)

// sheet is a page being written.
type sheet struct{ *fpdf.Fpdf }

func newSheet(width, height float64, made time.Time) sheet {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: width, Ht: height}})
	pdf.AddUTF8FontFromBytes("text", "", goregular.TTF)
	pdf.AddUTF8FontFromBytes("text", "B", gobold.TTF)
	// The same card made twice is the same file.
	pdf.SetCreationDate(made)
	pdf.SetModificationDate(made)
	pdf.SetCatalogSort(true)
	return sheet{pdf}
}

// Write makes the page, and more where it does not fit on one.
func (p Page) Write(w io.Writer) error {
	s := newSheet(pageWidth, 297, p.Made)
	s.SetMargins(margin, margin, margin)
	s.SetAutoPageBreak(true, margin+6)
	s.SetTitle(p.Title, true)
	s.SetFooterFunc(func() { s.footer(p.Made) })
	s.AddPage()
	s.head(p)
	s.facts(p.Facts)
	for _, t := range p.Tables {
		s.table(t)
	}
	for _, c := range p.Cautions {
		s.paragraph(small, "", c)
	}
	s.Ln(2)
	s.pictures(p.Pictures)
	return s.Output(w)
}

// head is the heading with the codes to its right, and the verdict.
func (s sheet) head(p Page) {
	right := margin
	if p.Code != "" {
		s.qr(p.Code, pageWidth-margin-qrSize, margin, qrSize)
		right += qrSize + 6
	}
	s.SetRightMargin(right)
	s.paragraph(17, "B", p.Title)
	if p.Code != "" {
		s.bars(p.Code, margin, s.GetY()+1, 80, 11)
		s.SetY(s.GetY() + 14)
	}
	s.paragraph(12, "B", p.Verdict)
	s.SetRightMargin(margin)
	if p.Code != "" {
		s.SetY(max(s.GetY(), margin+qrSize+2))
	}
	for _, r := range p.Reasons {
		s.paragraph(body, "", "– "+r)
	}
	s.Ln(1.5)
}

func (s sheet) paragraph(size float64, style, text string) {
	if text == "" {
		return
	}
	s.SetFont("text", style, size)
	s.MultiCell(0, size*0.48, text, "", "L", false)
}

func (s sheet) facts(facts [][2]string) {
	const names = 34.0
	for _, f := range facts {
		s.SetFont("text", "B", body)
		s.CellFormat(names, lineRoom, f[0], "", 0, "L", false, 0, "")
		s.SetFont("text", "", body)
		s.MultiCell(0, lineRoom, f[1], "", "L", false)
	}
	s.Ln(2)
}

func (s sheet) footer(made time.Time) {
	s.SetY(-margin - 2)
	s.SetFont("text", "", small)
	s.SetDrawColor(190, 190, 190)
	s.SetLineWidth(0.15)
	s.CellFormat(0, 4, "Within the limits entered. The mill's own practice, local codes and licensed people decide. As the books stood on "+made.Format("2006-01-02 15:04 MST"), "T", 0, "L", false, 0, "")
}
