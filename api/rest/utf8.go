package rest

import (
	"errors"
	"io"
	"unicode/utf8"
)

// utf8Reader ends with an error at the first byte that is not UTF-8, which
// encoding/json would replace.
type utf8Reader struct {
	from io.Reader
	rest []byte // of a character that is not complete
	bad  bool
}

var errNotUTF8 = errors.New("not UTF-8")

// Read implements io.Reader.
func (r *utf8Reader) Read(into []byte) (int, error) {
	n, err := r.from.Read(into)
	text := into[:n]
	if len(r.rest) > 0 {
		text = append(r.rest, text...)
	}
	whole := len(text)
	for back := 1; back < utf8.UTFMax && back <= len(text); back++ {
		if last := text[len(text)-back:]; utf8.RuneStart(last[0]) {
			if !utf8.FullRune(last) {
				whole -= back
			}
			break
		}
	}
	r.rest = append([]byte(nil), text[whole:]...)
	if !utf8.Valid(text[:whole]) || err == io.EOF && len(r.rest) > 0 {
		r.bad = true
		return 0, errNotUTF8
	}
	return n, err
}
