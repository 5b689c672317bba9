package render

import (
	"bytes"
	"image/color"
	"image/png"
	"testing"

	"barrelbook/domain/drawing"
)

// TestPNGShowsTheLineWhereItLies: the dot in the middle of a level line has the
// colour of the line, its neighbours above that of the ground.
func TestPNGShowsTheLineWhereItLies(t *testing.T) {
	for _, theme := range []drawing.Theme{drawing.Light, drawing.Dark} {
		dark := theme == drawing.Dark
		p := drawing.Picture{Width: 40, Height: 20, Shapes: []drawing.Shape{
			{Kind: drawing.Path, Ink: drawing.Series(0), Width: 2, Points: []drawing.Point{{X: 0, Y: 10}, {X: 40, Y: 10}}},
			{Kind: drawing.Text, Ink: drawing.InkText, Size: 10, Text: "I", Turned: true, Points: []drawing.Point{{X: 20, Y: 8}}},
		}}
		var b bytes.Buffer
		if err := WritePNG(&b, p, theme); err != nil {
			t.Fatal(err)
		}
		got, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		if size := got.Bounds().Size(); size.X != 80 || size.Y != 40 {
			t.Fatalf("%v dots for 40 x 20 pixels", size)
		}
		if at, want := got.At(60, 20), colourOf(drawing.Series(0).Colour(dark)); !same(at, want) {
			t.Errorf("dark=%v: the line is %v, want %v", dark, at, want)
		}
		if at, want := got.At(60, 30), colourOf(drawing.Ground(dark)); !same(at, want) {
			t.Errorf("dark=%v: the ground is %v, want %v", dark, at, want)
		}
	}
}

func same(a, b color.Color) bool {
	r, g, bl, _ := a.RGBA()
	r2, g2, bl2, _ := b.RGBA()
	return r>>8 == r2>>8 && g>>8 == g2>>8 && bl>>8 == bl2>>8
}

// TestDashesCoverWhatTheySay: of a line of 100 pixels dashed 6 on, 4 off, 60 are
// drawn, whatever its bends.
func TestDashesCoverWhatTheySay(t *testing.T) {
	drawn := 0.0
	for _, run := range dashed([]drawing.Point{{X: 0, Y: 0}, {X: 33, Y: 0}, {X: 100, Y: 0}}, []float64{6, 4}) {
		drawn += run[len(run)-1].X - run[0].X
	}
	if drawn < 59.9 || drawn > 60.1 {
		t.Errorf("%.2f of 100 pixels are drawn, want 60", drawn)
	}
}
