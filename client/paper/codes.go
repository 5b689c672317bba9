package paper

import (
	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/qr"
)

// qr draws a square code of a text. Every text of up to 100 letters has one.
func (s sheet) qr(text string, x, y, size float64) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		s.SetError(err)
		return
	}
	s.modules(code, x, y, size/float64(code.Bounds().Dx()), size/float64(code.Bounds().Dx()))
}

// narrowest is the width of the thinnest bar that a reader on the neck of a roll
// still reads, mm: the usual 0.25 (from memory of ISO/IEC 15417's practice).
const narrowest = 0.25

// bars draws a bar code of a text, no wider than there is room. What it has no
// sign for, and what would be too fine to read, has the square code alone.
func (s sheet) bars(text string, x, y, width, height float64) {
	code, err := code128.Encode(text)
	if err != nil {
		return
	}
	module := min(2*narrowest, width/float64(code.Bounds().Dx()))
	if module >= narrowest {
		s.modules(code, x, y, module, height)
	}
}

// modules draws the dark fields of a code, runs of them in one.
func (s sheet) modules(code barcode.Barcode, x, y, wide, high float64) {
	s.SetFillColor(0, 0, 0)
	b := code.Bounds()
	dark := func(i, k int) bool { r, _, _, _ := code.At(i, k).RGBA(); return r == 0 }
	for k := b.Min.Y; k < b.Max.Y; k++ {
		for i := b.Min.X; i < b.Max.X; i++ {
			from := i
			for i < b.Max.X && dark(i, k) {
				i++
			}
			if i > from {
				s.Rect(x+float64(from-b.Min.X)*wide, y+float64(k-b.Min.Y)*high, float64(i-from)*wide, high, "F")
			}
		}
	}
}
