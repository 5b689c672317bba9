package trials

import (
	"bytes"
	"net"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// proxy stands between a service and PostgreSQL and can cut a connection at the
// worst moment: a COMMIT has gone to the server, and its answer is dropped.
type proxy struct {
	address string
	socket  string
	commits atomic.Int64 // how many to cut
	mu      sync.Mutex
	open    []net.Conn
}

func newProxy(t *testing.T, socket string) *proxy {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	p := &proxy{address: listener.Addr().String(), socket: socket}
	t.Cleanup(func() {
		listener.Close()
		p.mu.Lock()
		defer p.mu.Unlock()
		for _, c := range p.open {
			c.Close()
		}
	})
	go func() {
		for {
			from, err := listener.Accept()
			if err != nil {
				return
			}
			go p.serve(from)
		}
	}()
	return p
}

func (p *proxy) cutCommits(n int64) { p.commits.Store(n) }

func (p *proxy) serve(from net.Conn) {
	defer from.Close()
	to, err := net.Dial("unix", p.socket)
	if err != nil {
		return
	}
	defer to.Close()
	p.mu.Lock()
	p.open = append(p.open, from, to)
	p.mu.Unlock()
	var deaf atomic.Bool // the answers of the server are dropped
	go func() {
		defer from.Close()
		buffer := make([]byte, 32<<10)
		for {
			n, err := to.Read(buffer)
			if err != nil || deaf.Load() {
				return
			}
			if _, err := from.Write(buffer[:n]); err != nil {
				return
			}
		}
	}()
	buffer, writes := make([]byte, 32<<10), false
	for {
		n, err := from.Read(buffer)
		if err != nil {
			return
		}
		said := bytes.ToLower(buffer[:n])
		if at := bytes.LastIndex(said, []byte("begin")); at >= 0 { // what only reads has nothing to lose
			writes = !bytes.Contains(said[at:], []byte("read only"))
		}
		cut := writes && bytes.Contains(said, []byte("commit\x00")) && p.commits.Add(-1) >= 0
		if cut {
			deaf.Store(true)
		}
		if _, err := to.Write(buffer[:n]); err != nil {
			return
		}
		if cut {
			time.Sleep(50 * time.Millisecond) // the server commits
			return
		}
	}
}
