package config

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestPrecedence tries each of the sixteen ways in which the four places can
// have or lack a setting: the nearest that has it must win.
func TestPrecedence(t *testing.T) {
	keys := []struct{ key, env string }{
		{Data, "BARRELBOOK_DATA"}, {Server, "BARRELBOOK_SERVER"}, {Units, "BARRELBOOK_UNITS"},
		{TokenFile, "BARRELBOOK_TOKEN_FILE"}, {Timeout, "BARRELBOOK_TIMEOUT"},
	}
	for _, k := range keys {
		for mask := range 8 {
			flag, env, file := mask&1 != 0, mask&2 != 0, mask&4 != 0
			t.Run(fmt.Sprintf("%s/flag=%v,env=%v,file=%v", k.key, flag, env, file), func(t *testing.T) {
				home := t.TempDir()
				src := Sources{Home: home, Flags: map[string]string{}, Env: environment(nil)}
				unset, err := Load(src)
				if err != nil {
					t.Fatal(err)
				}
				want, origin := unset.Get(k.key).Value, FromDefault
				if file {
					write(t, filepath.Join(home, ".config", "barrelbook", "config"), k.key+" = of-file\n")
					want, origin = "of-file", FromFile
				}
				if env {
					src.Env = environment(map[string]string{k.env: "of-env"})
					want, origin = "of-env", FromEnvironment
				}
				if flag {
					src.Flags[k.key] = "of-flag"
					want, origin = "of-flag", FromFlag
				}
				s, err := Load(src)
				if err != nil {
					t.Fatal(err)
				}
				if got := s.Get(k.key); got.Value != want || got.Origin != origin {
					t.Errorf("got %q from %s, want %q from %s", got.Value, got.Origin, want, origin)
				}
			})
		}
	}
}

// TestPlace tries server and data file against each other from each place.
func TestPlace(t *testing.T) {
	const url, path = "http://rollshop:8080", "/books/mill.db"
	for _, server := range []Origin{FromDefault, FromFile, FromEnvironment, FromFlag} {
		for _, data := range []Origin{FromDefault, FromFile, FromEnvironment, FromFlag} {
			t.Run(fmt.Sprintf("server by %s, data by %s", server, data), func(t *testing.T) {
				s := Settings{all: []Setting{
					{Key: Server, Value: url, Origin: server},
					{Key: Data, Value: path, Origin: data},
				}}
				if server == FromDefault {
					s.all[0].Value = "" // there is no default server
				}
				got, err := s.Place()
				switch {
				case server == FromDefault || weight[data] > weight[server]:
					if err != nil || got != (Place{Data: path, Origin: data}) {
						t.Errorf("got %+v, %v; want the data file", got, err)
					}
				case weight[data] < weight[server]:
					if err != nil || got != (Place{Server: url, Origin: server}) {
						t.Errorf("got %+v, %v; want the server", got, err)
					}
				default:
					if err == nil {
						t.Errorf("got %+v for two places given equally near; want an error", got)
					}
				}
			})
		}
	}
}

func TestPlaceRefusesWhatIsNoAddress(t *testing.T) {
	for _, bad := range []string{"rollshop:8080", "ftp://rollshop", "http://", "://"} {
		s := Settings{all: []Setting{{Key: Server, Value: bad, Origin: FromFlag}, {Key: Data, Origin: FromDefault}}}
		if got, err := s.Place(); err == nil {
			t.Errorf("server %q was taken as %+v", bad, got)
		}
	}
}

func TestSecret(t *testing.T) {
	good := filepath.Join(t.TempDir(), "token")
	write(t, good, "  bb_abc \n")
	empty := filepath.Join(t.TempDir(), "empty")
	write(t, empty, "\n")
	for _, c := range []struct {
		name        string
		token, file Setting
		want        string
		fails       bool
	}{
		{name: "none"},
		{name: "token only", token: Setting{Value: "t", Origin: FromEnvironment}, want: "t"},
		{name: "file only", file: Setting{Value: good, Origin: FromFile}, want: "bb_abc"},
		{name: "file by flag beats token by environment", token: Setting{Value: "t", Origin: FromEnvironment}, file: Setting{Value: good, Origin: FromFlag}, want: "bb_abc"},
		{name: "both by environment", token: Setting{Value: "t", Origin: FromEnvironment}, file: Setting{Value: good, Origin: FromEnvironment}, want: "t"},
		{name: "file is missing", file: Setting{Value: good + "-not", Origin: FromFlag}, fails: true},
		{name: "file is empty", file: Setting{Value: empty, Origin: FromFlag}, fails: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.token.Key, c.file.Key = Token, TokenFile
			got, err := Settings{all: []Setting{c.token, c.file}}.Secret()
			if got != c.want || (err != nil) != c.fails {
				t.Errorf("got %q, %v; want %q, failing %v", got, err, c.want, c.fails)
			}
		})
	}
}

func TestFileIsReadStrictly(t *testing.T) {
	for _, c := range []struct{ name, text, wrong string }{
		{"comments and gaps", "# books\n\n units = metric \n", ""},
		{"no equals sign", "units metric\n", "line 1"},
		{"unknown key", "colour = yes\n", `"colour"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "config")
			write(t, file, c.text)
			_, err := Load(Sources{File: file, Env: environment(nil)})
			if c.wrong == "" && err != nil {
				t.Errorf("refused: %v", err)
			}
			if c.wrong != "" && (err == nil || !strings.Contains(err.Error(), c.wrong)) {
				t.Errorf("got %v, want an error with %s", err, c.wrong)
			}
		})
	}
	if _, err := Load(Sources{File: filepath.Join(t.TempDir(), "none"), Env: environment(nil)}); err == nil {
		t.Error("a file named by hand that is missing was passed over")
	}
}

func TestDirectoriesFollowXDG(t *testing.T) {
	s, err := Load(Sources{Home: "/home/a", Env: environment(map[string]string{"XDG_DATA_HOME": "/d", "XDG_CONFIG_HOME": "relative"})})
	if err != nil {
		t.Fatal(err)
	}
	if got := s.Get(Data).Value; got != "/d/barrelbook/barrelbook.db" {
		t.Errorf("data file %s", got)
	}
	if s.File != "/home/a/.config/barrelbook/config" {
		t.Errorf("a relative XDG directory must be passed over; settings file %s", s.File)
	}
}

func TestAllHidesTheToken(t *testing.T) {
	s, err := Load(Sources{Home: t.TempDir(), Env: environment(map[string]string{"BARRELBOOK_TOKEN": "bb_secret"})})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range s.All() {
		if strings.Contains(row.Value, "bb_secret") {
			t.Errorf("%s shows the token", row.Key)
		}
	}
	if s.Get(Token).Value != "bb_secret" {
		t.Error("showing the settings changed them")
	}
}

func TestTimeout(t *testing.T) {
	for text, ok := range map[string]bool{"30s": true, "2m": true, "0s": false, "-1s": false, "ten": false} {
		_, err := Settings{all: []Setting{{Key: Timeout, Value: text}}}.TimeoutValue()
		if (err == nil) != ok {
			t.Errorf("timeout %q: %v", text, err)
		}
	}
}

func environment(values map[string]string) func(string) string {
	return func(key string) string { return values[key] }
}

func write(t *testing.T, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}
