// Package kit is what every command is made with: the factory of the things a
// command needs, the reading of flags, and the shapes of answer and error that
// all commands share.
package kit

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"barrelbook/client/config"
	"barrelbook/client/conn"
	"barrelbook/client/render"
	"barrelbook/client/term"
	"barrelbook/domain/quantity"
)

// Build says which program this is.
type Build struct{ Version, Commit string }

// Service is a service opened in this process.
type Service struct {
	Handler http.Handler
	Close   func() error
}

// Open opens a service on a data file; a volatile one forgets everything when
// the process is killed and is for throwing away.
type Open func(ctx context.Context, path string, volatile bool) (Service, error)

// Factory makes what commands need when they need it, so that a command which
// talks to nobody opens nothing.
type Factory struct {
	Term  *term.Streams
	Build Build
	Now   func() time.Time
	Env   func(string) string
	Home  string
	Open  Open
	Files Files

	// JSON asks for the service's own answer.
	JSON bool
	// Debug tells of each request on the talk stream.
	Debug bool
	// ConfigFile is a settings file named by hand.
	ConfigFile string
	// Given holds the settings that were given as flags.
	Given map[string]string

	settings *config.Settings
	conn     *conn.Conn
	service  *Service
}

// Settings are read once.
func (f *Factory) Settings() (config.Settings, error) {
	if f.settings == nil {
		file := f.ConfigFile
		if file == "" {
			file = f.Env("BARRELBOOK_CONFIG")
		}
		s, err := config.Load(config.Sources{Flags: f.Given, Env: f.Env, Home: f.Home, File: file})
		if err != nil {
			return s, &UsageError{Err: err}
		}
		if f.Term.Zone, err = s.Zone(); err != nil {
			return s, &UsageError{Err: err}
		}
		f.settings = &s
	}
	return *f.settings, nil
}

// Units is the system that bare numbers are read in and answers shown in.
func (f *Factory) Units() (render.Units, error) {
	s, err := f.Settings()
	if err != nil {
		return render.Units{}, err
	}
	row := s.Get(config.Units)
	system, err := quantity.ParseSystem(row.Value)
	if err != nil {
		return render.Units{}, &UsageError{Err: fmt.Errorf("units (from the %s): %w", row.Origin, err)}
	}
	return render.Units{System: system}, nil
}

// Conn is the connection to the books, made on first use.
func (f *Factory) Conn(ctx context.Context) (*conn.Conn, error) {
	if f.conn != nil {
		return f.conn, nil
	}
	s, err := f.Settings()
	if err != nil {
		return nil, err
	}
	// Before anything is asked or recorded: an answer that cannot be shown is
	// no use.
	if _, err := f.Units(); err != nil {
		return nil, err
	}
	place, err := s.Place()
	if err != nil {
		return nil, &UsageError{Err: err}
	}
	o, err := f.options(s)
	if err != nil {
		return nil, err
	}
	if place.Server != "" {
		if o.Token, err = s.Secret(); err != nil {
			return nil, &UsageError{Err: err}
		}
		if o.Token != "" {
			if err := s.MayCarry(place.Server); err != nil {
				return nil, &UsageError{Err: err}
			}
		}
		if file := s.OpenTokenFile(); o.Token != "" && file != "" {
			f.Term.Say("The token file %s can be read by others on this machine: chmod 600 %s", file, file)
		}
		o.Server = place.Server
	} else {
		service, err := f.openData(ctx, place.Data)
		if err != nil {
			return nil, err
		}
		o.Handler = service.Handler
	}
	f.conn, err = conn.New(o)
	return f.conn, err
}

// Throwaway is a connection to a fresh service of its own, apart from the
// user's books. An empty path is a file that the caller's closing removes.
func (f *Factory) Throwaway(ctx context.Context, path string) (*conn.Conn, func() error, error) {
	s, err := f.Settings()
	if err != nil {
		return nil, nil, err
	}
	o, err := f.options(s)
	if err != nil {
		return nil, nil, err
	}
	dir := ""
	if path == "" {
		if dir, err = os.MkdirTemp("", "barrelbook-demo-"); err != nil {
			return nil, nil, err
		}
		path = filepath.Join(dir, "demo.db")
	}
	service, err := f.Open(ctx, path, dir != "")
	if err != nil {
		return nil, nil, errors.Join(err, removeAll(dir))
	}
	o.Handler = service.Handler
	c, err := conn.New(o)
	if err != nil {
		return nil, nil, errors.Join(err, service.Close(), removeAll(dir))
	}
	return c, func() error { return errors.Join(c.Close(), service.Close(), removeAll(dir)) }, nil
}

func removeAll(dir string) error {
	if dir == "" {
		return nil
	}
	return os.RemoveAll(dir)
}

func (f *Factory) options(s config.Settings) (conn.Options, error) {
	limit, err := s.TimeoutValue()
	if err != nil {
		return conn.Options{}, &UsageError{Err: err}
	}
	o := conn.Options{Agent: "barrelbook/" + f.Build.Version, Timeout: limit}
	if f.Debug {
		o.Trace = func(line string) { fmt.Fprintln(f.Term.Err, "debug: "+line) }
	}
	return o, nil
}

func (f *Factory) openData(ctx context.Context, path string) (Service, error) {
	if path == "" {
		return Service{}, &UsageError{Err: errors.New("the name of the data file is empty")}
	}
	if !DataExists(path) {
		fresh := &freshBooks{f: f, ctx: ctx, path: path}
		f.service = &Service{Handler: fresh, Close: fresh.close}
		return *f.service, nil
	}
	service, err := f.Open(ctx, path, false)
	if err != nil {
		return Service{}, notOpened(path, err)
	}
	f.service = &service
	return service, nil
}

// notOpened says why a data file cannot be used, and what to do.
func notOpened(path string, err error) error {
	if !strings.Contains(err.Error(), path) {
		err = fmt.Errorf("%s: %w", path, err)
	}
	if errors.Is(err, fs.ErrPermission) {
		err = fmt.Errorf("%w; ask its owner for the right to read and write it, or name another file with --data", err)
	}
	return Failure{What: "the books were not opened"}.Explain(err)
}

// DataExists is true when there are books at path already. A database that is
// named by a URL is taken to be there.
func DataExists(path string) bool {
	if strings.Contains(path, "://") {
		return true
	}
	_, err := os.Stat(path)
	return err == nil
}

// Close lets go of what was opened.
func (f *Factory) Close() error {
	if f.service == nil {
		return nil
	}
	service, c := f.service, f.conn
	f.service, f.conn = nil, nil
	if c == nil {
		return service.Close()
	}
	return errors.Join(c.Close(), service.Close())
}
