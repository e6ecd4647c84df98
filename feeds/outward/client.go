// Package outward makes requests to addresses that somebody typed: weather
// providers, webhooks. They must not become a way into the network that the
// service stands in.
package outward

import (
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"syscall"
	"time"
)

// ErrRefused is an address that is not asked: it is no web address, or belongs to a
// network that is not public. Trying again is of no use.
var ErrRefused = errors.New("refused")

// Options are what a client may do.
type Options struct {
	// Private allows addresses that are not public, such as those of the machine
	// itself and its own network. It is for the operator to say, not for users.
	Private bool

	// Timeout bounds a whole request with its redirects and the reading of its
	// answer; 0 is half a minute.
	Timeout time.Duration

	// Redirects is how many are followed; where none is, a redirect is the answer.
	// None leads from https to http.
	Redirects int
}

// Limits of every client. The size of an answer's body is for its reader to bound;
// compression is taken off before, so that a bound holds for what is unpacked.
const (
	dialTime    = 10 * time.Second
	defaultTime = 30 * time.Second
	idleTime    = 30 * time.Second
	maxHeader   = 64 << 10
	maxConns    = 4 // to one host
)

// Client returns a client that asks http and https only, and only hosts whose
// address is public unless o.Private. The address is checked when it is dialled,
// after its name was resolved, so that a name which resolves differently the
// second time does not get past; a proxy, for which that could not be done, is
// never used.
func Client(o Options) *http.Client {
	if o.Timeout <= 0 {
		o.Timeout = defaultTime
	}
	dialer := &net.Dialer{Timeout: dialTime, KeepAlive: idleTime}
	if !o.Private {
		dialer.Control = public
	}
	return &http.Client{
		Timeout: o.Timeout,
		Transport: webOnly{&http.Transport{
			DialContext: dialer.DialContext, ForceAttemptHTTP2: true, TLSHandshakeTimeout: dialTime,
			ResponseHeaderTimeout: o.Timeout, IdleConnTimeout: idleTime, MaxConnsPerHost: maxConns,
			MaxIdleConnsPerHost: 1, MaxResponseHeaderBytes: maxHeader,
		}},
		CheckRedirect: func(next *http.Request, before []*http.Request) error {
			switch {
			case o.Redirects == 0:
				return http.ErrUseLastResponse
			case len(before) > o.Redirects:
				return fmt.Errorf("more than %d redirects: %w", o.Redirects, ErrRefused)
			case before[len(before)-1].URL.Scheme == "https" && next.URL.Scheme != "https":
				return fmt.Errorf("redirect from https to %s: %w", next.URL.Scheme, ErrRefused)
			}
			return nil
		},
	}
}

// webOnly refuses what is no web address, redirects among them.
type webOnly struct{ next http.RoundTripper }

func (t webOnly) RoundTrip(r *http.Request) (*http.Response, error) {
	u := r.URL
	if u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "" || u.User != nil {
		if r.Body != nil {
			_ = r.Body.Close() // nothing of it was sent
		}
		return nil, fmt.Errorf("address %q: want http:// or https:// with a host and no user: %w", u.Redacted(), ErrRefused)
	}
	return t.next.RoundTrip(r)
}

// CloseIdleConnections lets [http.Client.CloseIdleConnections] through.
func (t webOnly) CloseIdleConnections() {
	if c, ok := t.next.(interface{ CloseIdleConnections() }); ok {
		c.CloseIdleConnections()
	}
}

// public refuses to dial an address that is not public.
func public(network, address string, _ syscall.RawConn) error {
	at, err := netip.ParseAddrPort(address)
	if err != nil || network != "tcp4" && network != "tcp6" {
		return fmt.Errorf("%s %s: want a public address: %w", network, address, ErrRefused)
	}
	if !isPublic(at.Addr()) {
		return fmt.Errorf("%s is not a public address: %w", at.Addr(), ErrRefused)
	}
	return nil
}

// Networks that are not public although Go does not call them private, after
// the IANA registries of special-purpose addresses (RFC 6890 and its updates), from memory.
var special = prefixes(
	"0.0.0.0/8", "100.64.0.0/10", "192.0.0.0/24", "192.0.2.0/24", "192.88.99.0/24",
	"198.18.0.0/15", "198.51.100.0/24", "203.0.113.0/24", "240.0.0.0/4",
	"2001::/23", "2001:db8::/32", "2002::/16", "3fff::/20",
)

// Of IPv6 only the global unicast addresses are public, and those by which an
// IPv6-only network reaches public IPv4 addresses (RFC 6052).
var (
	global = netip.MustParsePrefix("2000::/3")
	nat64  = netip.MustParsePrefix("64:ff9b::/96")
)

func isPublic(a netip.Addr) bool {
	a = a.Unmap()
	if nat64.Contains(a) {
		b := a.As16()
		a = netip.AddrFrom4([4]byte(b[12:]))
	}
	if a.Is6() && (!global.Contains(a) || a.Zone() != "") || !a.IsGlobalUnicast() || a.IsPrivate() {
		return false
	}
	for _, p := range special {
		if p.Contains(a) {
			return false
		}
	}
	return true
}

func prefixes(texts ...string) []netip.Prefix {
	out := make([]netip.Prefix, len(texts))
	for i, s := range texts {
		out[i] = netip.MustParsePrefix(s)
	}
	return out
}
