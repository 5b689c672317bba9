package piece

import (
	"io"
	"os"

	"github.com/schollz/progressbar/v3"

	"barrelbook/client/term"
)

// progress shows how much of a file has been sent, on a terminal only.
type progress struct{ bar *progressbar.ProgressBar }

func newProgress(t *term.Streams, in io.Reader) *progress {
	if !t.ErrIsTTY() || t.Quiet {
		return &progress{}
	}
	size := int64(-1) // a pipe has no length, and the bar only spins
	if file, ok := in.(*os.File); ok {
		if info, err := file.Stat(); err == nil && info.Mode().IsRegular() {
			size = info.Size()
		}
	}
	return &progress{progressbar.NewOptions64(size, progressbar.OptionSetWriter(t.Err), progressbar.OptionShowBytes(true),
		progressbar.OptionSetDescription("importing"), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100_000_000))}
}

func (p *progress) reader(in io.Reader) io.Reader {
	if p.bar == nil {
		return in
	}
	return io.TeeReader(in, p.bar)
}

// clear makes room for a line of text.
func (p *progress) clear() {
	if p.bar != nil {
		p.bar.Clear()
	}
}

func (p *progress) done() {
	if p.bar != nil {
		p.bar.Finish()
		p.bar = nil
	}
}
