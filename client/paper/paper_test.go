package paper

import (
	"bytes"
	"image"
	_ "image/png"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/makiuchi-d/gozxing/qrcode"

	"barrelbook/domain/drawing"
)

var made = time.Date(2026, 3, 4, 14, 5, 0, 0, time.UTC)

func card() Page {
	rows := make([][]string, 6)
	for i := range rows {
		rows[i] = []string{"2026-03-04 14:05", "738.412 mm", "737.950 mm", "wear"}
	}
	picture, err := drawing.Sheet{Title: "wear", Width: 520, Panels: []drawing.Panel{{Title: "Wear", X: "mm", Y: "µm", Curves: []drawing.Curve{
		{Name: "R-1", X: []float64{-800, 0, 800}, Y: []float64{1, 5, 2}, Low: []float64{0, 4, 1}, High: []float64{2, 6, 3}}}, Points: []drawing.Cloud{{Name: "read", X: []float64{0}, Y: []float64{3}}}}}}.Layout()
	if err != nil {
		panic(err)
	}
	return Page{Title: "Roll CW-117, work roll of cold", Code: "CW-117", Verdict: "Not fit to go out", Reasons: []string{"crown error 10 µm is over its limit 8 µm"},
		Facts: [][2]string{{"diameter", "559.640 mm"}, {"grade", "forged-5cr"}}, Tables: []Table{{Title: "Last grinds", Heads: []string{"at", "found", "ground", "for"}, Shares: []float64{0.4, 0.2, 0.2, 0.2}, Rows: rows}},
		Pictures: []drawing.Picture{picture, picture}, Cautions: []string{"Rolls spall."}, Made: made}
}

// painted renders a PDF with a reader that is not ours and gives its pages.
func painted(t *testing.T, pdf []byte) (pages []image.Image) {
	t.Helper()
	if _, err := exec.LookPath("pdftoppm"); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("pdftoppm is not installed: the gate installs it")
		}
		t.Skip("pdftoppm is not installed: pages are not looked at")
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "page.pdf"), pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	if said, err := exec.Command("pdftoppm", "-r", "150", "-png", filepath.Join(dir, "page.pdf"), filepath.Join(dir, "page")).CombinedOutput(); err != nil || len(said) > 0 {
		t.Fatalf("%v: %s", err, said)
	}
	names, _ := filepath.Glob(filepath.Join(dir, "page-*.png"))
	for _, name := range names {
		file, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		page, _, err := image.Decode(file)
		_ = file.Close()
		if err != nil {
			t.Fatal(err)
		}
		pages = append(pages, page)
	}
	return pages
}

// reads holds both codes of a picture against a number.
func reads(t *testing.T, page image.Image, number string) {
	t.Helper()
	for name, reader := range map[string]gozxing.Reader{"square code": qrcode.NewQRCodeReader(), "bar code": oned.NewCode128Reader()} {
		dots, err := gozxing.NewBinaryBitmapFromImage(page)
		if err != nil {
			t.Fatal(err)
		}
		read, err := reader.Decode(dots, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
		if err != nil {
			t.Errorf("the %s of %s cannot be read: %v", name, number, err)
		} else if read.GetText() != number {
			t.Errorf("the %s says %q, want %q", name, read.GetText(), number)
		}
	}
}

func TestCodesOfACardAreReadBack(t *testing.T) {
	var pdf bytes.Buffer
	if err := card().Write(&pdf); err != nil {
		t.Fatal(err)
	}
	pages := painted(t, pdf.Bytes())
	if len(pages) != 1 {
		t.Fatalf("%d pages, want 1", len(pages))
	}
	reads(t, pages[0], "CW-117")
}

func TestCodesOfLabelsAreReadBack(t *testing.T) {
	for _, number := range []string{"R1", "CW-117", "TW-set-04", "PLATE-BACKUP-2024-0117"} {
		var pdf bytes.Buffer
		if err := (Label{Number: number, Lines: []string{"work roll, cold", "forged-5cr"}, Made: made}).Write(&pdf); err != nil {
			t.Fatal(err)
		}
		reads(t, painted(t, pdf.Bytes())[0], number)
	}
}

// TestNumbersInOtherScripts have the square code alone.
func TestNumbersInOtherScripts(t *testing.T) {
	var pdf bytes.Buffer
	if err := (Label{Number: "Вал-7", Made: made}).Write(&pdf); err != nil {
		t.Fatal(err)
	}
	dots, err := gozxing.NewBinaryBitmapFromImage(painted(t, pdf.Bytes())[0])
	if err != nil {
		t.Fatal(err)
	}
	if read, err := qrcode.NewQRCodeReader().Decode(dots, nil); err != nil || read.GetText() != "Вал-7" {
		t.Errorf("read %v, %v", read, err)
	}
}

func TestTheSameCardIsTheSameFile(t *testing.T) {
	var first, second bytes.Buffer
	if card().Write(&first) != nil || card().Write(&second) != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("two cards of the same roll at the same moment differ")
	}
}

// TestALongListGoesOn: a grinder's list of 120 rolls takes more pages and ends on
// none without its foot.
func TestALongListGoesOn(t *testing.T) {
	list := Page{Title: "To be ground", Tables: []Table{{Heads: []string{"roll", "why"}, Shares: []float64{0.3, 0.7}}}, Made: made}
	for range 120 {
		list.Tables[0].Rows = append(list.Tables[0].Rows, []string{"CW-117", "held: the eddy current test has no known result and the partner is out of tolerance"})
	}
	var pdf bytes.Buffer
	if err := list.Write(&pdf); err != nil {
		t.Fatal(err)
	}
	if pages := painted(t, pdf.Bytes()); len(pages) < 3 || len(pages) > 5 {
		t.Errorf("%d pages", len(pages))
	}
}
