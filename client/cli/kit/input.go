package kit

import (
	"io"
	"os"
)

// OpenInput opens the file a command reads; "-" or nothing is standard input.
// When that is a terminal nobody is going to type a file into it, and the
// command says what it waits for instead of hanging.
func OpenInput(f *Factory, name, wants string) (io.ReadCloser, error) {
	if name == "" || name == "-" {
		if f.Term.InIsTTY() {
			return nil, Usagef("give a FILE with %s, or pipe it in", wants)
		}
		return io.NopCloser(f.Term.In), nil
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, &Input{Err: err}
	}
	return file, nil
}

// ReadInput reads the whole of it.
func ReadInput(f *Factory, name, wants string) ([]byte, error) {
	in, err := OpenInput(f, name, wants)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return io.ReadAll(in)
}

// Arg is the nth argument, or empty.
func Arg(args []string, n int) string {
	if n < len(args) {
		return args[n]
	}
	return ""
}
