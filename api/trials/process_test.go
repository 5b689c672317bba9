package trials

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"barrelbook/api/embedded"
	"barrelbook/api/store/pgtest"
)

// asDaemon makes this binary serve: the address, how far its clock is ahead, and
// the database.
const asDaemon = "BARRELBOOK_TRIAL_DAEMON"

func TestMain(m *testing.M) {
	if text := os.Getenv(asDaemon); text != "" {
		if err := serveUntilKilled(text); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(pgtest.Main(m))
}

func serveUntilKilled(text string) error {
	go func() { // it ends with the test
		_, _ = io.Copy(io.Discard, os.Stdin)
		os.Exit(0)
	}()
	part := strings.SplitN(text, " ", 3)
	ahead, err := time.ParseDuration(part[1])
	if err != nil {
		return err
	}
	var s *embedded.Service
	for range 200 { // the database may be recovering
		o := plain(part[2])
		o.Edge.Log = slog.New(slog.DiscardHandler) // it fails all the time, as it should
		o.KeepSchema, o.MaxConns, o.Machine = true, 12, func() time.Time { return time.Now().Add(ahead) }
		if s, err = embedded.Open(context.Background(), o); err == nil {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", part[0])
	if err != nil {
		return err
	}
	return http.Serve(listener, s.Handler())
}

// process is a daemon in a process of its own.
type process struct {
	t        *testing.T
	url      string
	settings string
	cmd      *exec.Cmd
	stdin    io.Closer // closed when this process ends, however that happens
}

func startProcess(t *testing.T, database string, ahead time.Duration) *process {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0") // a port that is free
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	_ = l.Close()
	p := &process{t: t, url: "http://" + address, settings: address + " " + ahead.String() + " " + database}
	p.start()
	t.Cleanup(p.kill)
	return p
}

func (p *process) start() {
	p.cmd = exec.Command(os.Args[0])
	p.cmd.Env = append(os.Environ(), asDaemon+"="+p.settings)
	p.cmd.Stderr = os.Stderr
	var err error
	if p.stdin, err = p.cmd.StdinPipe(); err == nil {
		err = p.cmd.Start()
	}
	if err != nil {
		p.t.Error(err)
	}
}

// kill ends it at once.
func (p *process) kill() {
	_ = p.cmd.Process.Kill()
	_ = p.cmd.Wait()
	_ = p.stdin.Close()
}

// ask sends a request to one of several daemons after the other until one says
// what came of it. A record carries one key throughout, so that it has one
// effect. It gives up after a long while.
func ask(urls []string, from int, method, path, key, body string, header ...string) (reply, error) {
	var last reply
	for try := range 600 {
		last = send(urls[(from+try)%len(urls)], method, path, key, body, header...)
		if last.err == nil && last.status < 500 && last.status != http.StatusTooManyRequests {
			return last, nil
		}
		if last.err == nil && last.status != http.StatusServiceUnavailable {
			return last, fmt.Errorf("%s %s: %s", method, path, last)
		}
		time.Sleep(time.Duration(5+try) * time.Millisecond)
	}
	return last, errors.New("nobody answered: " + last.String())
}
