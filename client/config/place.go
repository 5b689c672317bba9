package config

import (
	"fmt"
	"net"
	"net/url"
	"os"
	"runtime"
	"strings"
)

// Place is where the books are: a daemon, or a file opened in-process.
type Place struct {
	Server string // the daemon's address, or empty
	Data   string // the data file, or empty
	Origin Origin // of whichever it is
}

// weight orders the origins; a flag weighs most.
var weight = map[Origin]int{FromDefault: 0, FromFile: 1, FromEnvironment: 2, FromFlag: 3}

// Place decides between server and data file. The one that was said nearer to
// the command wins: --data FILE beats BARRELBOOK_SERVER. Said equally near,
// they contradict each other and neither is guessed.
func (s Settings) Place() (Place, error) {
	server, data := s.Get(Server), s.Get(Data)
	switch {
	case server.Value == "" || weight[data.Origin] > weight[server.Origin]:
		return Place{Data: data.Value, Origin: data.Origin}, nil
	case weight[data.Origin] == weight[server.Origin]:
		return Place{}, fmt.Errorf("both a server (%s) and a data file (%s) are given by the %s: give one of them",
			server.Value, data.Value, server.Origin)
	}
	u, err := url.Parse(server.Value)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" {
		return Place{}, fmt.Errorf("server %q (from the %s) is not an address; write it like http://rollshop:8080", server.Value, server.Origin)
	}
	return Place{Server: server.Value, Origin: server.Origin}, nil
}

// MayCarry is nil where a token may go to a server: over TLS, to this machine, or
// where plain http was asked for by name. Others on the way can read plain http.
func (s Settings) MayCarry(server string) error {
	u, err := url.Parse(server)
	if err != nil || u.Scheme == "https" {
		return err
	}
	if ip := net.ParseIP(u.Hostname()); u.Hostname() == "localhost" || ip != nil && ip.IsLoopback() {
		return nil
	}
	row := s.Get(PlainHTTP)
	switch row.Value {
	case "yes":
		return nil
	case "no":
		return fmt.Errorf("the token would go to %s over plain http, where others can read it: use an https address, or allow it with --plain-http", u.Host)
	}
	return fmt.Errorf("%s %q (from the %s) is neither yes nor no", row.Key, row.Value, row.Origin)
}

// Secret is the token, or empty. The nearer of token and token file wins; the
// token wins where both are equally near.
func (s Settings) Secret() (string, error) {
	token, file := s.Get(Token), s.Get(TokenFile)
	if token.Value != "" && weight[token.Origin] >= weight[file.Origin] || file.Value == "" {
		return token.Value, nil
	}
	text, err := os.ReadFile(file.Value)
	if err != nil {
		return "", fmt.Errorf("token file (from the %s): %w", file.Origin, err)
	}
	secret := strings.TrimSpace(string(text))
	if secret == "" || strings.ContainsAny(secret, " \t\r\n") {
		return "", fmt.Errorf("token file %s must hold one token and nothing else", file.Value)
	}
	return secret, nil
}

// OpenTokenFile is the token file where others on this machine can read it too.
func (s Settings) OpenTokenFile() string {
	file := s.Get(TokenFile).Value
	if info, err := os.Stat(file); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return file
	}
	return ""
}
