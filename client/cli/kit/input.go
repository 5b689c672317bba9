package kit

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
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
	if is, err := os.Stat(name); err == nil && is.IsDir() {
		return nil, &Input{Err: fmt.Errorf("%s is a folder: name the file with %s", name, wants)}
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

// ReadJSON reads the whole of an input that must be JSON; what is none is said by
// its place before anything is sent anywhere.
func ReadJSON(f *Factory, name, wants string) ([]byte, error) {
	body, err := ReadInput(f, name, wants)
	if err != nil {
		return nil, err
	}
	return body, BrokenJSON(name, body)
}

// BrokenJSON says where a text stops being JSON; nil for one that is.
func BrokenJSON(name string, body []byte) error {
	if _, err := JSONOf(bytes.NewReader(body), name); err != nil {
		return err
	}
	var any any
	err := json.Unmarshal(body, &any)
	if err == nil {
		return nil
	}
	if name == "" || name == "-" {
		name = "what was piped in"
	}
	syntax, ok := err.(*json.SyntaxError)
	switch line := 1; {
	case len(bytes.TrimSpace(body)) == 0:
		err = fmt.Errorf("%s is empty", name)
	case ok && int(syntax.Offset) >= len(bytes.TrimSpace(body)):
		err = fmt.Errorf("%s ends in the middle: a part of it is missing", name)
	case ok:
		line += bytes.Count(body[:syntax.Offset], []byte("\n"))
		err = fmt.Errorf("line %d of %s is not JSON: %w", line, name, syntax)
	}
	return &Input{Err: err}
}

// JSONOf is an input that must be JSON, looked at before anything is sent: a table
// or a page in its place is named for what it is.
func JSONOf(in io.Reader, name string) (io.Reader, error) {
	lines := bufio.NewReader(in)
	head, _ := lines.Peek(4096)
	text := strings.TrimSpace(string(head))
	what := ""
	switch {
	case text == "" || text[0] == '{' || text[0] == '[' || strings.Contains(text, "\n{"): // a bad line among good ones is named by its number
		return lines, nil
	case strings.HasPrefix(text, "\xef\xbb\xbf"):
		what = "begins with a byte order mark: save it as UTF-8 without one"
	case strings.HasPrefix(text, "\x1f\x8b"):
		what = "is compressed: unpack it first, as with zcat"
	case strings.HasPrefix(text, "PK"):
		what = "is a spreadsheet or an archive: save it as the text that is asked for"
	case strings.HasPrefix(text, "SQLite format"):
		what = "is a data file of books: name it with --data"
	default:
		first, _, _ := strings.Cut(text, "\n")
		what = fmt.Sprintf("holds no JSON; its first line begins %.40q", first)
	}
	if name == "" || name == "-" {
		name = "what was piped in"
	}
	return nil, &Input{Err: fmt.Errorf("%s %s", name, what)}
}

// Arg is the nth argument, or empty.
func Arg(args []string, n int) string {
	if n < len(args) {
		return args[n]
	}
	return ""
}
