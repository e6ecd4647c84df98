package feeds

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/labstack/echo/v4"
)

func TestFailuresAreForgivenWithTime(t *testing.T) {
	now := time.Date(2027, 3, 1, 6, 0, 0, 0, time.UTC)
	g := &guard{now: func() time.Time { return now }}
	// A slip a day, for a year, never makes anybody wait.
	for range 365 {
		g.failed("ada", ofAccount)
		if w := g.wait("ada"); w != 0 {
			t.Fatalf("a slip a day: wait %v", w)
		}
		now = now.Add(24 * time.Hour)
	}
	// One who tries whenever it is allowed comes to some hundred and fifty tries a day, not to
	// the hundred an hour that ASVS 2.2.1 has for its bound.
	tried := 0
	for end := now.Add(24 * time.Hour); now.Before(end); tried++ {
		g.failed("ada", ofAccount)
		now = now.Add(g.wait("ada"))
	}
	if tried < 24 || tried > 200 {
		t.Errorf("%d tries in a day", tried)
	}
	g.passed("ada")
	if w := g.wait("ada"); w != 0 {
		t.Errorf("after success: wait %v", w)
	}
}

// TestGuardIsBounded: a flood of names does not take the memory, nor wash out
// what is being tried hardest.
func TestGuardIsBounded(t *testing.T) {
	now := time.Date(2027, 3, 1, 6, 0, 0, 0, time.UTC)
	g := &guard{now: func() time.Time { return now }}
	for range 12 {
		g.failed("victim", ofAccount)
	}
	for i := range mostTries + 10 {
		g.failed(fmt.Sprint("made up ", i), ofAccount)
	}
	if len(g.tries) > mostTries || g.wait("victim") == 0 {
		t.Errorf("%d are kept; the victim's wait is %v", len(g.tries), g.wait("victim"))
	}
}

func TestNetwork(t *testing.T) {
	for address, want := range map[string]string{
		"192.0.2.7": "192.0.2.7", "::ffff:192.0.2.7": "192.0.2.7", "2001:db8:1:2:3:4:5:6": "2001:db8:1:2::/64",
		"fe80::1%eth0": "fe80::/64", "": "", "nonsense": "nonsense",
	} {
		if got := network(address); got != want {
			t.Errorf("network(%q) is %q, want %q", address, got, want)
		}
	}
}

// TestWaysInCountApart: a program that goes on with an old password is slowed
// down, and nobody who signs in is.
func TestWaysInCountApart(t *testing.T) {
	b := accountBed(t)
	b.server.echo.GET("/program", func(c echo.Context) error {
		ok, err := b.server.throttle(c, "program", "ada@example.org", func() (bool, error) { return false, nil })
		if err != nil || ok {
			return err
		}
		return c.NoContent(http.StatusUnauthorized)
	})
	for range ofAccount.free {
		if a := b.get("/program"); a.StatusCode != http.StatusUnauthorized {
			t.Fatalf("%s", a.Status)
		}
	}
	if a := b.get("/program"); a.StatusCode != http.StatusTooManyRequests || a.Header.Get("Retry-After") != "30" {
		t.Errorf("%s", a.Status)
	}
	if c := b.newClient(); b.signIn(c, "ada@example.org", phrase).StatusCode != http.StatusOK || !b.signedIn(c) {
		t.Error("signing in must wait too")
	}
}
