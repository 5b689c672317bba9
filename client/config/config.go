// Package config finds the client's settings: a flag wins over the
// environment, the environment over the user's file, the file over the
// default. It is one loop over one table.
package config

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Keys of the settings, as the file spells them. A flag is the key with a
// dash for each underscore.
const (
	Data      = "data"
	Server    = "server"
	TokenFile = "token_file"
	Token     = "token"
	Units     = "units"
	TimeZone  = "time_zone"
	PlainHTTP = "plain_http"
	Timeout   = "timeout"
)

// Origin says where a setting came from.
type Origin string

// The places, from the one that wins to the one that gives way.
const (
	FromFlag        Origin = "flag"
	FromEnvironment Origin = "environment"
	FromFile        Origin = "file"
	FromDefault     Origin = "default"
)

// Setting is one value and its origin.
type Setting struct {
	Key, Env, Value string
	Origin          Origin
}

// Settings is every setting after the four places have been asked.
type Settings struct {
	File string // that was read, or would have been
	all  []Setting
	tz   string // of the environment, which is no setting of this program
}

// Sources are the places outside this package.
type Sources struct {
	// Flags holds the flags that were given, by key.
	Flags map[string]string
	// Env reads the environment.
	Env func(string) string
	// Home is the user's home directory.
	Home string
	// File is a settings file named by hand, which must then exist.
	// Defaults to barrelbook/config in the user's configuration directory.
	File string
}

// table is every setting: its key, its variable, and its default. A token has
// no flag, because other people on the machine can read a command line.
func table(src Sources) []Setting {
	return []Setting{
		{Key: Data, Env: "BARRELBOOK_DATA", Value: filepath.Join(dataHome(src), "barrelbook", "barrelbook.db")},
		{Key: Server, Env: "BARRELBOOK_SERVER"},
		{Key: Token, Env: "BARRELBOOK_TOKEN"},
		{Key: TokenFile, Env: "BARRELBOOK_TOKEN_FILE"},
		{Key: Units, Env: "BARRELBOOK_UNITS", Value: "metric"},
		{Key: TimeZone, Env: "BARRELBOOK_TIME_ZONE"},
		{Key: PlainHTTP, Env: "BARRELBOOK_PLAIN_HTTP", Value: "no"},
		{Key: Timeout, Env: "BARRELBOOK_TIMEOUT", Value: "2m"},
	}
}

// Load asks the four places for each setting.
func Load(src Sources) (Settings, error) {
	named := src.File != ""
	if !named {
		src.File = filepath.Join(configHome(src), "barrelbook", "config")
	}
	inFile, err := readFile(src.File)
	if err != nil && (named || !errors.Is(err, fs.ErrNotExist)) {
		return Settings{}, fmt.Errorf("settings file: %w", err)
	}
	s := Settings{File: src.File, tz: src.Env("TZ")}
	for _, row := range table(src) {
		row.Origin = FromDefault
		if v, ok := inFile[row.Key]; ok {
			row.Value, row.Origin = v, FromFile
		}
		if v := src.Env(row.Env); v != "" {
			row.Value, row.Origin = v, FromEnvironment
		}
		if v, ok := src.Flags[row.Key]; ok {
			row.Value, row.Origin = v, FromFlag
		}
		delete(inFile, row.Key)
		s.all = append(s.all, row)
	}
	for key := range inFile {
		return Settings{}, fmt.Errorf("settings file %s: there is no setting %q", src.File, key)
	}
	return s, nil
}

// Get is the setting of a key.
func (s Settings) Get(key string) Setting {
	for _, row := range s.all {
		if row.Key == key {
			return row
		}
	}
	panic("config: no setting " + key)
}

// All is every setting, for showing; the token is hidden.
func (s Settings) All() []Setting {
	shown := make([]Setting, len(s.all))
	for i, row := range s.all {
		if row.Key == Token && row.Value != "" {
			row.Value = "(hidden)"
		}
		shown[i] = row
	}
	return shown
}

// Zone is that of the clock on the wall: of the setting, or the machine's own, which
// TZ names where it is set.
func (s Settings) Zone() (*time.Location, error) {
	row := s.Get(TimeZone)
	name := row.Value
	if name == "" {
		if row.Env, name = "TZ", strings.TrimPrefix(s.tz, ":"); name == "" || strings.HasPrefix(name, "/") {
			return time.Local, nil
		}
		row.Origin = FromEnvironment
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("time zone %q (from the %s, %s) is not a known zone; write it like Europe/Vienna or UTC", name, row.Origin, row.Env)
	}
	return zone, nil
}

// TimeoutValue is the longest one request may take.
func (s Settings) TimeoutValue() (time.Duration, error) {
	row := s.Get(Timeout)
	d, err := time.ParseDuration(row.Value)
	if err != nil || d <= 0 {
		return 0, fmt.Errorf("timeout %q (from the %s) is not a length of time; write it like 30s or 2m", row.Value, row.Origin)
	}
	return d, nil
}

// readFile reads lines of "key = value"; # begins a comment line.
func readFile(path string) (map[string]string, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	values := map[string]string{}
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		line := strings.TrimSpace(lines.Text())
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		key, value, ok := strings.Cut(line, "=")
		if !ok {
			return nil, fmt.Errorf("%s line %d: %q is not of the form key = value", path, n, line)
		}
		values[strings.TrimSpace(key)] = strings.TrimSpace(value)
	}
	return values, lines.Err()
}

func dataHome(src Sources) string {
	if d := src.Env("XDG_DATA_HOME"); filepath.IsAbs(d) {
		return d
	}
	return filepath.Join(src.Home, ".local", "share")
}

func configHome(src Sources) string {
	if d := src.Env("XDG_CONFIG_HOME"); filepath.IsAbs(d) {
		return d
	}
	return filepath.Join(src.Home, ".config")
}
