package kit

import (
	"io"
	"os"

	"github.com/spf13/cobra"

	"barrelbook/client/render"
	"barrelbook/domain/drawing"
)

// Drawing is the flags of a command that can draw what it shows.
type Drawing struct{ SVG, PNG string }

// AddTo adds --svg and --png.
func (d *Drawing) AddTo(cmd *cobra.Command, what string) {
	cmd.Flags().StringVar(&d.SVG, "svg", "", "draw "+what+" into this `FILE` too, as SVG; one that is there is replaced")
	cmd.Flags().StringVar(&d.PNG, "png", "", "the same as a picture of dots, PNG, into this `FILE`")
}

// Asked says whether a drawing is wanted.
func (d *Drawing) Asked() bool { return d.SVG != "" || d.PNG != "" }

// Write draws the panels where a flag was given, and says so. A drawing that
// fails leaves no half of a file.
func (d *Drawing) Write(f *Factory, title string, panels []drawing.Panel) error {
	if !d.Asked() {
		return nil
	}
	if len(panels) == 0 {
		return Usagef("there is nothing to draw into %s yet", d.SVG+d.PNG)
	}
	picture, err := drawing.Sheet{Title: title, Panels: panels}.Layout()
	if err != nil {
		return err
	}
	if err := Into(f, d.SVG, func(w io.Writer) error {
		_, err := io.WriteString(w, picture.SVG(drawing.ByReader))
		return err
	}); err != nil {
		return err
	}
	return Into(f, d.PNG, func(w io.Writer) error { return render.WritePNG(w, picture, drawing.Light) })
}

// Into makes a file of what draw writes, and says so; one that fails leaves no
// half of a file. Without a path it does nothing.
func Into(f *Factory, path string, draw func(io.Writer) error) error {
	if path == "" {
		return nil
	}
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	err = draw(file)
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err != nil {
		_ = os.Remove(path)
		return err
	}
	f.Term.Say("Drawn into %s.", path)
	return nil
}
