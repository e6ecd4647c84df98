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
// for a time that doubles with each further one. Failures are forgiven with time.
// It is kept in memory, where a restart forgets it.
type guard struct {
	now func() time.Time

	mu    sync.Mutex
	tries map[string]tries
}

// tries are the failures not yet forgiven at the time of the last.
type tries struct {
	failed float64
	last   time.Time
	patience
}

// patience is how many tries may fail before there is a wait, how long the first
// and the longest wait are, and in which time one failure is forgiven.
type patience struct {
	free                  int
	first, limit, forgive time.Duration
}

var (
	ofAccount = patience{free: 5, first: 30 * time.Second, limit: time.Hour, forgive: 10 * time.Minute}
	ofAddress = patience{free: 20, first: 30 * time.Second, limit: time.Hour, forgive: 2 * time.Minute} // many people may share one
	ofMail    = patience{free: 3, first: 15 * time.Minute, limit: 24 * time.Hour, forgive: 4 * time.Hour}
)

// mostTries is how many accounts and addresses are kept; some ten megabytes.
const mostTries = 100_000

func (t tries) left(now time.Time) float64 {
	if t.forgive <= 0 {
		return 0
	}
	return max(0, t.failed-now.Sub(t.last).Seconds()/t.forgive.Seconds())
}

// wait returns how long to wait before key may be tried.
func (g *guard) wait(key string) time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	t := g.tries[key]
	over := int(math.Round(t.failed)) - t.free
	if t.free == 0 || over < 0 {
		return 0
	}
	wait := t.limit
	if over < 20 {
		wait = min(t.limit, t.first<<over)
	}
	return max(0, t.last.Add(wait).Sub(g.now()))
}

// failed counts a try of key that failed.
func (g *guard) failed(key string, p patience) {
	now := g.now()
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.tries == nil {
		g.tries = map[string]tries{}
	}
	if _, known := g.tries[key]; !known && len(g.tries) >= mostTries {
		g.forget(now)
	}
	g.tries[key] = tries{g.tries[key].left(now) + 1, now, p}
}

// forget makes room: first what is forgiven, then whatever failed least.
func (g *guard) forget(now time.Time) {
	for least := 0.0; len(g.tries) >= mostTries; least++ {
		for k, t := range g.tries {
			if t.left(now) <= least {
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
// account is whatever was typed, whether it is there or not. Each way in counts
// by itself, so that a program with an old password keeps nobody from signing in.
func (s *Server) throttle(c echo.Context, way, account string, check func() (bool, error)) (bool, error) {
	byAccount, byAddress := way+" of "+account, way+" from "+network(c.RealIP())
	if err := s.mustWait(c, max(s.guard.wait(byAccount), s.guard.wait(byAddress))); err != nil {
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
		s.guard.failed(byAccount, ofAccount)
		s.guard.failed(byAddress, ofAddress)
	}
	return ok, nil
}

// passwordWay is the way in by mail address and password.
const passwordWay = "sign-in"

// throttlePassword is throttle for passwords that people chose. A few are checked at once,
// and the others wait for them, so that many guesses at once do not slip through.
func (s *Server) throttlePassword(c echo.Context, account string, check func() (bool, error)) (bool, error) {
	release, err := s.passwords.hold(c.Request().Context())
	if err != nil {
		return false, err
	}
	defer release()
	return s.throttle(c, passwordWay, account, check)
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
