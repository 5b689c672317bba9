// Package pgtest gives tests a PostgreSQL of their own: a throwaway server made
// from the installed binaries, or the one that BARRELBOOK_TEST_POSTGRES names,
// and on it an empty, migrated database for each test.
package pgtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// errNoBinaries says that there is no PostgreSQL to start.
var errNoBinaries = errors.New("no PostgreSQL binaries: set BARRELBOOK_TEST_POSTGRES to a connection string, or install initdb and postgres")

// server is one throwaway cluster.
type server struct {
	dir    string
	args   []string // of the postgres program, which is bin
	bin    string
	who    *syscall.Credential
	log    lockedBuffer
	cmd    *exec.Cmd
	exited chan struct{}
}

// lockedBuffer is a log that is written while it is read.
type lockedBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}

// notSynced are the settings of a cluster that never outlives the tests: nothing
// on it is synced to the disk.
var notSynced = []string{"fsync=off", "full_page_writes=off", "synchronous_commit=off", "wal_level=minimal", "max_wal_senders=0", "autovacuum=off"}

// start makes a cluster with settings and waits until it answers. Its data are
// in a folder under parent.
func start(parent string, settings ...string) (*server, error) {
	bin, err := binaries()
	if err != nil {
		return nil, err
	}
	who, err := runAs()
	if err != nil {
		return nil, err
	}
	sweep()
	// Directly under /tmp by default: the path of a socket has at most 107 bytes.
	dir, err := os.MkdirTemp(parent, fmt.Sprintf("%s%d-", prefix, os.Getpid()))
	if err != nil {
		return nil, err
	}
	s := &server{dir: dir, who: who, bin: filepath.Join(bin, "postgres")}
	if who != nil {
		if err := errors.Join(os.Chown(dir, int(who.Uid), int(who.Gid)), os.Chmod(dir, 0o711)); err != nil {
			return nil, err
		}
	}
	data := filepath.Join(dir, "data")
	initdb := exec.Command(filepath.Join(bin, "initdb"), "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "-N", "--no-instructions")
	initdb.Dir = dir // the caller's folder may not be readable to that user
	initdb.SysProcAttr = &syscall.SysProcAttr{Credential: who}
	if out, err := initdb.CombinedOutput(); err != nil {
		_ = os.RemoveAll(dir)
		return nil, fmt.Errorf("initdb: %w\n%s", err, out)
	}
	s.args = []string{"-D", data, "-k", dir}
	for _, setting := range append([]string{"listen_addresses=", "timezone=UTC", "max_connections=200"}, settings...) {
		s.args = append(s.args, "-c", setting)
	}
	if err := s.boot(); err != nil {
		_ = os.RemoveAll(dir)
		return nil, err
	}
	return s, nil
}

// boot starts the server, for the first time or again.
func (s *server) boot() error {
	s.cmd, s.exited = exec.Command(s.bin, s.args...), make(chan struct{})
	s.cmd.Dir, s.cmd.Stderr = s.dir, &s.log
	s.cmd.SysProcAttr = attributes(s.who)
	if err := s.launch(); err != nil {
		return err
	}
	if err := s.await(); err != nil {
		_ = s.cmd.Process.Signal(syscall.SIGQUIT)
		<-s.exited
		return fmt.Errorf("%w\n%s", err, s.log.String())
	}
	return nil
}

// launch starts the server from a thread that lives as long as it does: it is
// told of the death of the thread that started it, not of the process.
func (s *server) launch() error {
	started, cmd, exited := make(chan error), s.cmd, s.exited
	go func() {
		runtime.LockOSThread()
		defer close(exited)
		err := cmd.Start()
		started <- err
		if err == nil {
			_ = cmd.Wait()
		}
	}()
	return <-started
}

func (s *server) await() error {
	ctx, cancel := context.WithTimeout(context.Background(), 60*time.Second)
	defer cancel()
	for {
		conn, err := pgx.Connect(ctx, s.dsn("postgres"))
		if err == nil {
			return conn.Close(ctx)
		}
		select {
		case <-s.exited:
			return fmt.Errorf("the server ended: %w", err)
		case <-ctx.Done():
			return fmt.Errorf("the server does not answer: %w", err)
		case <-time.After(20 * time.Millisecond):
		}
	}
}

func (s *server) dsn(database string) string {
	return "postgres:///" + database + "?host=" + url.QueryEscape(s.dir) + "&port=5432&user=postgres&sslmode=disable"
}

// stop ends the server at once and removes what it left.
func (s *server) stop() {
	_ = s.cmd.Process.Signal(syscall.SIGQUIT)
	<-s.exited
	_ = os.RemoveAll(s.dir)
}

// prefix begins the names of the folders of clusters; the number of the
// process that made it follows.
const prefix = "barrelbook-pg-"

// sweep removes folders that a test left which was killed; their servers have
// ended with it. The owner is read from the name: a folder is there before any
// file in it could tell.
func sweep() {
	dirs, _ := filepath.Glob("/tmp/" + prefix + "*")
	for _, dir := range dirs {
		owner, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(dir), prefix), "-")
		pid, err := strconv.Atoi(owner)
		if err == nil && pid > 0 && errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
			_ = os.RemoveAll(dir)
		}
	}
}

// binaries is the folder with initdb and postgres.
func binaries() (string, error) {
	candidates := []string{os.Getenv("PGBIN")}
	if path, err := exec.LookPath("postgres"); err == nil {
		if real, err := filepath.EvalSymlinks(path); err == nil {
			candidates = append(candidates, filepath.Dir(real))
		}
	}
	installed, _ := filepath.Glob("/usr/lib/postgresql/*/bin")
	for i := len(installed) - 1; i >= 0; i-- {
		candidates = append(candidates, installed[i])
	}
	for _, dir := range candidates {
		if dir != "" && executable(filepath.Join(dir, "initdb")) && executable(filepath.Join(dir, "postgres")) {
			return dir, nil
		}
	}
	return "", errNoBinaries
}

func executable(path string) bool {
	info, err := os.Stat(path)
	return err == nil && !info.IsDir() && info.Mode()&0o111 != 0
}

// runAs is the user to run the server as. It refuses to run as root; others
// run it as they are.
func runAs() (*syscall.Credential, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err := strconv.ParseUint(u.Uid, 10, 32)
		if err != nil {
			continue
		}
		gid, err := strconv.ParseUint(u.Gid, 10, 32)
		if err != nil {
			continue
		}
		return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid), Groups: []uint32{}}, nil
	}
	return nil, errors.New("PostgreSQL does not run as root, and there is neither a user postgres nor nobody")
}
