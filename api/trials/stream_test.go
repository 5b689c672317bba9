package trials

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"barrelbook/api/embedded"
	"barrelbook/api/rest"
)

// stream sends lines one by one and reads the answers as they come.
type stream struct {
	t       *testing.T
	send    *io.PipeWriter
	answers *bufio.Reader
	close   func()
}

func openStream(t *testing.T, s *site, first string) *stream {
	t.Helper()
	body, send := io.Pipe()
	r, err := http.NewRequestWithContext(t.Context(), "POST", s.url+"/v1/pieces", body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-ndjson")
	go io.WriteString(send, first)
	w, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatalf("no answer to the first line: %v", err)
	}
	t.Cleanup(func() { send.Close(); w.Body.Close() })
	return &stream{t: t, send: send, answers: bufio.NewReader(w.Body), close: func() { w.Body.Close() }}
}

// answer reads one line of the answer, or fails after a while.
func (s *stream) answer() (string, error) {
	type read struct {
		line string
		err  error
	}
	got := make(chan read, 1)
	go func() {
		line, err := s.answers.ReadString('\n')
		got <- read{line, err}
	}()
	select {
	case r := <-got:
		return r.line, r.err
	case <-time.After(5 * time.Second):
		s.t.Fatal("no answer within 5 s")
		return "", nil
	}
}

// TestSlowStream sends a line, waits for its answer, and lets time go by until
// the next: in all longer than a stream may stand still, but never so long for
// one line.
func TestSlowStream(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, database string) {
		s := open(t, embedded.Options{Path: database, Edge: rest.Options{StreamIdle: 600 * time.Millisecond}})
		s.mill()
		at := time.Now().Add(-time.Hour)
		lines := openStream(t, s, piece("P0", at, 1000, "F1"))
		for i := 1; ; i++ {
			line, err := lines.answer()
			if err != nil || !strings.Contains(line, `"status":"stored"`) {
				t.Fatalf("line %d: %v %s", i, err, line)
			}
			if i == 5 {
				break
			}
			time.Sleep(300 * time.Millisecond)
			if _, err := io.WriteString(lines.send, piece("P"+string(rune('0'+i)), at, 1000, "F1")); err != nil {
				t.Fatalf("line %d was not taken: %v", i+1, err)
			}
		}
		lines.send.Close()
		if line, err := lines.answer(); err != nil || !strings.Contains(line, `"stored_count":5`) {
			t.Errorf("the summary: %v %s", err, line)
		}
		// One that does stand still is cut, and says so by having no summary.
		still := openStream(t, s, piece("Q", at, 1000, "F1"))
		if line, err := still.answer(); err != nil || !strings.Contains(line, "stored") {
			t.Fatalf("%v %s", err, line)
		}
		begun := time.Now()
		if line, err := still.answer(); err == nil || line != "" {
			t.Errorf("a stream that stands still went on: %s", line)
		}
		if took := time.Since(begun); took < 300*time.Millisecond || took > 3*time.Second {
			t.Errorf("it was cut after %s", took)
		}
	})
}

// TestGoneWhileStoring leaves while the first group waits to be stored and nothing
// more is read: nothing of it is stored.
func TestGoneWhileStoring(t *testing.T) {
	both(t, func(t *testing.T, database string) {
		s := open(t, plain(database))
		s.mill()
		at := time.Now().UTC().Add(-10 * time.Hour).Truncate(time.Second)
		release := holdWriters(t, database)
		conn, err := net.Dial("tcp", strings.TrimPrefix(s.url, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		var lines strings.Builder
		for i := range 1280 { // a group is being stored, another read ahead, and the rest unread
			lines.WriteString(piece(fmt.Sprint("P", i), at.Add(time.Duration(i)*time.Second), 9000, "F1"))
		}
		if _, err := fmt.Fprintf(conn, "POST /v1/pieces HTTP/1.1\r\nHost: x\r\nContent-Type: application/x-ndjson\r\nContent-Length: %d\r\n\r\n%s", 2*lines.Len(), lines.String()); err != nil {
			t.Fatal(err)
		}
		time.Sleep(300 * time.Millisecond)
		conn.Close()
		time.Sleep(300 * time.Millisecond)
		release()
		time.Sleep(300 * time.Millisecond)
		if kept := s.read("/v1/works")["piece_count"]; kept != 0.0 {
			t.Errorf("%v pieces were stored after their sender had left", kept)
		}
		s.must("/v1/pieces", piece("NEXT", at, 9000, "F1"))
	})
}

// holdWriters keeps the service from storing pieces until it is released.
func holdWriters(t *testing.T, database string) (release func()) {
	t.Helper()
	driver, dsn, hold := "sqlite", "file:"+database+"?_txlock=immediate&_pragma=busy_timeout(5000)", "SELECT 1"
	if strings.HasPrefix(database, "postgres") {
		driver, dsn, hold = "pgx", database, "LOCK TABLE pieces IN EXCLUSIVE MODE"
	}
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	tx, err := db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tx.Exec(hold); err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := tx.Rollback(); err != nil {
			t.Fatal(err)
		}
	}
}

// TestGoneSender leaves in the middle of a long stream: the work stops. A group
// whose lines were all read may still be stored, and no other after it.
func TestGoneSender(t *testing.T) {
	t.Parallel()
	both(t, func(t *testing.T, database string) {
		s := open(t, plain(database))
		s.mill()
		at := time.Now().UTC().Add(-10 * time.Hour).Truncate(time.Second)
		for i, stand := range []string{"F1", "F2"} {
			s.set("W"+stand, "work", 700+float64(i), at.Add(-time.Hour))
			s.set("B"+stand, "backup", 1500, at.Add(-time.Hour))
			s.must("/v1/changes", change(stand, "work", "W"+stand, at.Add(-time.Minute)))
			s.must("/v1/changes", change(stand, "backup", "B"+stand, at.Add(-time.Minute)))
		}
		const sent = 20_000
		body, send := io.Pipe()
		ctx, leave := context.WithCancel(t.Context())
		r, err := http.NewRequestWithContext(ctx, "POST", s.url+"/v1/pieces", body)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-ndjson")
		go func() {
			for i := range sent {
				if _, err := io.WriteString(send, piece(fmt.Sprint("P", i), at.Add(time.Duration(i)*time.Second), 9000, "F1", "F2")); err != nil {
					return
				}
			}
		}()
		time.AfterFunc(200*time.Millisecond, func() { leave(); send.CloseWithError(context.Canceled) })
		if w, err := http.DefaultClient.Do(r); err == nil {
			io.Copy(io.Discard, w.Body)
			w.Body.Close()
		}
		// The next import would wait for the work of the one that was left.
		s.must("/v1/pieces", piece("NEXT", at, 9000, "F1", "F2"))
		kept := s.read("/v1/works")["piece_count"]
		if kept.(float64) > sent/2 {
			t.Errorf("%v of %d pieces were stored though the sender had left", kept, sent)
		}
		time.Sleep(300 * time.Millisecond)
		if later := s.read("/v1/works")["piece_count"]; later.(float64) > kept.(float64)+500 {
			t.Errorf("the work went on: %v pieces, then %v", kept, later)
		}
	})
}
