package webhook

import (
	"errors"
	"fmt"
	"net/netip"
	"net/url"
	"slices"
	"syscall"
)

// special are the networks of IPv4 that are not public (IANA, special-purpose
// address registry; RFC 6890 and those after it), and multicast.
var special = prefixes("0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.0.0.0/24", "192.0.2.0/24", "192.88.99.0/24",
	"192.168.0.0/16", "198.18.0.0/15", "198.51.100.0/24", "203.0.113.0/24", "224.0.0.0/4", "240.0.0.0/4")

// global is all that is public of IPv6; notGlobal are parts of it that lead
// elsewhere: to IPv4 (6to4, Teredo) and to nobody.
var (
	global    = netip.MustParsePrefix("2000::/3")
	notGlobal = prefixes("2001::/23", "2001:db8::/32", "2002::/16", "3fff::/20")
)

func prefixes(texts ...string) (list []netip.Prefix) {
	for _, text := range texts {
		list = append(list, netip.MustParsePrefix(text))
	}
	return list
}

func within(address netip.Addr, list []netip.Prefix) bool {
	return slices.ContainsFunc(list, func(p netip.Prefix) bool { return p.Contains(address) })
}

// public says whether an address is one of the whole network and not of the
// machine's own surroundings.
func public(address netip.Addr) bool {
	if address = address.Unmap(); address.Is4() {
		return !within(address, special)
	}
	return global.Contains(address) && !within(address, notGlobal)
}

// mayDial is asked for the address that a name has become, when it is dialled: what
// a name stands for may change between two looks. Without TLS only networks that
// were allowed are spoken to.
func (s *Sender) mayDial(tls bool) func(network, address string, _ syscall.RawConn) error {
	return func(_, address string, _ syscall.RawConn) error {
		at, err := netip.ParseAddrPort(address)
		if err != nil {
			return err
		}
		return s.mayReach(at.Addr(), tls)
	}
}

func (s *Sender) mayReach(address netip.Addr, tls bool) error {
	address = address.Unmap().WithZone("")
	switch {
	case within(address, s.allowed):
		return nil
	case !public(address):
		return fmt.Errorf("%s is not a public address; whoever runs the service can allow its network", address)
	case !tls:
		return errors.New("http is taken for networks that were allowed only; use https")
	}
	return nil
}

// MaySend implements port.Sender.
func (s *Sender) MaySend(text string) error {
	u, err := url.Parse(text)
	switch {
	case err != nil || u.Host == "" || u.Hostname() == "":
		return errors.New("is not a URL such as https://erp.example/hooks")
	case u.Scheme != "https" && u.Scheme != "http":
		return errors.New("must begin with https://")
	case u.User != nil:
		return errors.New("must not hold a name or a password; the signature tells who sends")
	case u.Fragment != "":
		return errors.New("must not hold a fragment")
	}
	if address, err := netip.ParseAddr(u.Hostname()); err == nil {
		return s.mayReach(address, u.Scheme == "https")
	}
	if u.Scheme == "http" && len(s.allowed) == 0 {
		return errors.New("must begin with https://")
	}
	return nil
}
