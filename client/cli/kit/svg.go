package kit

import (
	"os"

	"github.com/spf13/cobra"

	"barrelbook/client/render"
)

// SVG is the flag of a command that can draw what it shows.
type SVG struct{ Path string }

// AddTo adds --svg.
func (s *SVG) AddTo(cmd *cobra.Command, what string) {
	cmd.Flags().StringVar(&s.Path, "svg", "", "draw "+what+" into this `FILE` too, as SVG; one that is there is replaced")
}

// Write draws the panels where --svg was given, and says so. A drawing that
// fails leaves no half of a file.
func (s *SVG) Write(f *Factory, panels []render.Panel) (err error) {
	if s.Path == "" {
		return nil
	}
	if len(panels) == 0 {
		return Usagef("there is nothing to draw into %s yet", s.Path)
	}
	file, err := os.Create(s.Path)
	if err != nil {
		return err
	}
	err = render.WriteSVG(file, panels)
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err != nil {
		_ = os.Remove(s.Path)
		return err
	}
	f.Term.Say("Drawn into %s.", s.Path)
	return nil
}
