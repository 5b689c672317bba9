package rest

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"time"

	"golang.org/x/sync/semaphore"
)

// longestLine bounds one line. A piece of 60 passes is some 15 kB.
const longestLine = 1 << 20

// errIdle ends a stream that stood still for too long.
var errIdle = errors.New("no line came for too long")

// lineReader reads and checks lines ahead of those that are being stored.
type lineReader struct {
	server *Server
	from   *bufio.Reader
	to     chan numbered
	done   chan struct{}       // closed when nothing more is read
	held   *semaphore.Weighted // bytes of lines that are not yet stored

	// Once done is closed: how many lines there were, and what ended them, io.EOF
	// when all came.
	count int64
	err   error
}

// ended says whether all lines have come.
func (l *lineReader) ended() bool {
	select {
	case <-l.done:
		return l.err == io.EOF
	default:
		return false
	}
}

// numbered is a line with its number, from 1, and the length of its text.
type numbered struct {
	number, size int64
	pieceLine
}

// read hands on one line after the other. A sender who leaves is seen here
// first: that stops the work on the lines before.
func (l *lineReader) read(ctx context.Context, stop context.CancelFunc) {
	defer close(l.to)
	defer close(l.done)
	for l.err == nil {
		var line *numbered
		if line, l.err = l.next(ctx); line == nil {
			continue // a blank line, or the end
		}
		select {
		case l.to <- *line:
		case <-ctx.Done():
			l.err = ctx.Err()
		}
	}
	if l.err != io.EOF {
		stop()
	}
}

// next reads a line; it gives none for a blank one, which is counted and passed
// over, as a file's last line may be one.
func (l *lineReader) next(ctx context.Context) (*numbered, error) {
	text, tooLong, err := readLine(l.from)
	if err != nil && (err != io.EOF || len(text) == 0 && !tooLong) {
		return nil, err
	}
	l.count++
	switch {
	case tooLong:
		return &numbered{number: l.count, pieceLine: pieceLine{err: malformed("the line is longer than %d bytes", longestLine)}}, err
	case len(bytes.TrimSpace(text)) == 0:
		return nil, err
	}
	size := int64(len(text))
	if full := l.held.Acquire(ctx, size); full != nil {
		return nil, full
	}
	return &numbered{number: l.count, size: size, pieceLine: l.server.readPiece(text)}, err
}

// release makes room for lines to come.
func (l *lineReader) release(stored []numbered) {
	for _, line := range stored {
		l.held.Release(line.size)
	}
}

// group waits for a line and takes those that come soon after it. more is
// false when none will follow. A wait longer than idle ends the stream; 0 waits
// for ever.
func (l *lineReader) group(ctx context.Context, idle time.Duration) (lines []numbered, more bool) {
	wait, cancel := ctx, context.CancelFunc(func() {})
	if idle > 0 {
		wait, cancel = context.WithTimeoutCause(ctx, idle, errIdle)
	}
	defer cancel()
	size := int64(0)
	select {
	case first, ok := <-l.to:
		if !ok {
			return nil, false
		}
		lines, size = append(lines, first), first.size
	case <-wait.Done():
		return nil, false
	}
	pause, whole := time.NewTimer(linePause), time.NewTimer(groupPause)
	defer pause.Stop()
	defer whole.Stop()
	for len(lines) < groupSize && size < groupBytes {
		select {
		case line, ok := <-l.to:
			if !ok {
				return lines, false
			}
			lines, size = append(lines, line), size+line.size
			pause.Reset(linePause)
		case <-pause.C:
			return lines, true
		case <-whole.C:
			return lines, true
		case <-ctx.Done():
			return nil, false
		}
	}
	return lines, true
}

// readLine reads one line without its end. A longer one than allowed is read
// to its end and dropped, so that the lines after it can be taken.
func readLine(r *bufio.Reader) (line []byte, tooLong bool, err error) {
	for {
		part, err := r.ReadSlice('\n')
		if !tooLong {
			line = append(line, part...)
		}
		if len(line) > longestLine {
			line, tooLong = nil, true
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, tooLong, err
		}
	}
}
