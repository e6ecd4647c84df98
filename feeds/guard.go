package feeds

import (
	"errors"
	"math"
	"net"
	"net/netip"
	"strconv"
	"sync"
	"time"

	"github.com/labstack/echo/v4"
)

// guard slows guessing down: after some tries that failed it lets none through
// for a time that doubles with each further one. It is kept in memory, where a
// restart forgets it.
type guard struct {
	now func() time.Time

	mu    sync.Mutex
	tries map[string]tries
}

type tries struct {
	failed int
	last   time.Time
}

// patience is how many tries may fail before there is a wait, and how long the
// first and the longest wait are.
type patience struct {
	free         int
	first, limit time.Duration
}

var (
	ofAccount = patience{free: 5, first: 30 * time.Second, limit: time.Hour}
	ofAddress = patience{free: 20, first: 30 * time.Second, limit: time.Hour} // many people may share one
	ofMail    = patience{free: 3, first: 15 * time.Minute, limit: 24 * time.Hour}
)

const (
	forgotten = 24 * time.Hour // after the last failure
	mostTries = 100_000        // kept; some ten megabytes
)

// wait returns how long to wait before key may be tried.
func (g *guard) wait(key string, p patience) time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	t, ok := g.tries[key]
	if !ok || t.failed < p.free {
		return 0
	}
	wait := p.limit
	if n := t.failed - p.free; n < 20 {
		wait = min(p.limit, p.first<<n)
	}
	return max(0, t.last.Add(wait).Sub(g.now()))
}

// failed counts a try of key that failed.
func (g *guard) failed(key string) {
	now := g.now()
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.tries == nil {
		g.tries = map[string]tries{}
	}
	if _, known := g.tries[key]; !known && len(g.tries) >= mostTries {
		g.forget(now)
	}
	t := g.tries[key]
	if now.Sub(t.last) > forgotten {
		t.failed = 0
	}
	g.tries[key] = tries{t.failed + 1, now}
}

// forget makes room: first what is old, then whatever failed least.
func (g *guard) forget(now time.Time) {
	for least := 0; len(g.tries) >= mostTries; least++ {
		for k, t := range g.tries {
			if now.Sub(t.last) > forgotten || t.failed <= least {
				delete(g.tries, k)
			}
		}
	}
}

// passed forgets the failures of key.
func (g *guard) passed(key string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	delete(g.tries, key)
}

// errWait says that somebody must wait; the answer's Retry-After says how long.
var errWait = errors.New("too many tries")

// throttle runs check, which says whether a secret is that of an account, unless
// too many tries for the account, or from the address that asks, failed before:
// then it sets Retry-After and returns errWait, which is answered with 429. The
// account is whatever was typed, whether it is there or not. At most a few checks run at
// once; the others wait for them.
func (s *Server) throttle(c echo.Context, account string, check func() (bool, error)) (bool, error) {
	release, err := s.passwords.hold(c.Request().Context())
	if err != nil {
		return false, err
	}
	defer release()
	byAccount, byAddress := "account "+account, "address "+network(c.RealIP())
	if err := s.mustWait(c, max(s.guard.wait(byAccount, ofAccount), s.guard.wait(byAddress, ofAddress))); err != nil {
		s.metrics.refused.Inc()
		return false, err
	}
	ok, err := check()
	switch {
	case err != nil:
		return false, err
	case ok:
		s.guard.passed(byAccount)
	default:
		s.metrics.refused.Inc()
		s.guard.failed(byAccount)
		s.guard.failed(byAddress)
	}
	return ok, nil
}

func (s *Server) mustWait(c echo.Context, wait time.Duration) error {
	if wait <= 0 {
		return nil
	}
	c.Response().Header().Set("Retry-After", strconv.Itoa(int(math.Ceil(wait.Seconds()))))
	return errWait
}

// network returns the part of an address that one customer holds: all of an
// IPv4 address, the first 64 bits of an IPv6 one (RFC 6177).
func network(address string) string {
	a, err := netip.ParseAddr(address)
	if err != nil {
		return address
	}
	if a = a.Unmap(); a.Is4() {
		return a.String()
	}
	p, err := a.WithZone("").Prefix(64)
	if err != nil {
		return address
	}
	return p.String()
}

// trusted returns how the address of who asks is found: that of the connection,
// or, where it comes from one of the proxies, the one that they name.
func trusted(proxies []netip.Prefix) echo.IPExtractor {
	if len(proxies) == 0 {
		return echo.ExtractIPDirect()
	}
	options := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		options = append(options, echo.TrustIPRange(&net.IPNet{
			IP: p.Masked().Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen()),
		}))
	}
	return echo.ExtractIPFromXFFHeader(options...)
}
