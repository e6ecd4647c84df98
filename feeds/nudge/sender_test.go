package nudge

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"

	"github.com/emersion/go-smtp"
)

var noon = time.Date(2026, 4, 12, 12, 0, 0, 0, time.UTC)

// outbox returns a store in a file with nudges decided at noon.
func outbox(t *testing.T, nudges int) (*store.Store, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "outbox.db")
	s, err := store.Open(context.Background(), "sqlite:"+path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	if err := s.PutGrower(context.Background(), storetest.Grower("a")); err != nil {
		t.Fatal(err)
	}
	awake(t, s, func(*calendar.Preferences) {})
	for i := range nudges {
		decide(t, s, nudge(i))
	}
	return s, path
}

// awake gives grower a preferences without quiet hours, changed in some way.
func awake(t *testing.T, s calendar.Store, change func(*calendar.Preferences)) {
	t.Helper()
	p := calendar.DefaultPreferences()
	p.QuietFrom, p.QuietTo = 0, 0
	change(&p)
	if err := s.PutPreferences(context.Background(), "a", p); err != nil {
		t.Fatal(err)
	}
}

func nudge(i int) calendar.Nudge {
	subjects := []string{fmt.Sprint("subject ", i)}
	n := calendar.Nudge{
		ID: id("a", BudsSwell, subjects), Grower: "a", Kind: BudsSwell, Subjects: subjects,
		Title: fmt.Sprint("Buds ", i), Body: "Look at the tree first.\n", Decided: noon,
		Links: []calendar.Link{
			{Hash: fmt.Sprint("hash ", i), Secret: fmt.Sprint("secret", i), Does: "did:repot", Label: "Done: Repot", Trees: []string{"x"}, Expires: noon.Add(time.Hour)},
			{Hash: fmt.Sprint("stop ", i), Secret: fmt.Sprint("stop", i), Does: calendar.StopMail, Expires: noon.Add(time.Hour)},
		},
	}
	return mailed(n, "a@example.org")
}

// mailed lets a nudge go to an address.
func mailed(n calendar.Nudge, to string) calendar.Nudge {
	n.Deliveries = []calendar.Delivery{{ID: n.ID + "_mail", Channel: calendar.ByMail, To: to}}
	return n
}

func decide(t *testing.T, s calendar.Store, n calendar.Nudge) {
	t.Helper()
	if added, err := s.Decide(context.Background(), []calendar.Nudge{n}); err != nil || added != 1 {
		t.Fatalf("decided %d, %v", added, err)
	}
}

func kept(t *testing.T, s calendar.Store) []calendar.Nudge {
	t.Helper()
	out, err := s.Nudges(context.Background(), "a", 0)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func (s *server) smtp(way TLS) SMTP {
	return SMTP{Host: "localhost", Port: s.port, From: "Budswell <nudge@budswell.example>", TLS: way, Trust: s.trust}
}

var silent = slog.New(slog.DiscardHandler)

func newSender(t *testing.T, s calendar.Store, smtp SMTP, now *time.Time) *Sender {
	t.Helper()
	out, err := NewSender(s, Channels{SMTP: smtp, Base: "https://trees.example/"}, func() time.Time { return *now }, silent)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func send(t *testing.T, s *Sender, want int) {
	t.Helper()
	n, err := s.Send(context.Background())
	if err != nil || n != want {
		t.Fatalf("sent %d, %v; want %d", n, err, want)
	}
}

func TestSendOverEachKindOfConnection(t *testing.T) {
	for _, way := range []TLS{StartTLS, ImplicitTLS, NoTLS} {
		t.Run(string(way), func(t *testing.T) {
			srv := newServer(t, way)
			s, _ := outbox(t, 3)
			config := srv.smtp(way)
			if way != NoTLS {
				config.User, config.Password = "grüße", "open, \"sesame\""
			}
			now := noon
			sender := newSender(t, s, config, &now)
			send(t, sender, 3)
			send(t, sender, 0)
			if got := srv.got(); len(got) != 3 || srv.user != config.User {
				t.Fatalf("the server has %d messages from user %q", len(got), srv.user)
			}
			for _, n := range kept(t, s) {
				if d := n.Deliveries[0]; !d.Sent.Equal(noon) || d.Attempts != 1 || d.Error != "" {
					t.Errorf("kept as %+v", n)
				}
			}
		})
	}
}

func TestFailures(t *testing.T) {
	answer := func(code int) error { return &smtp.SMTPError{Code: code, Message: "so it is"} }
	for _, c := range []struct {
		name    string
		prepare func(*server)
		givenUp bool
		says    string
	}{
		{"recipient unknown", func(s *server) { s.become(manners{rcpt: func(string) error { return answer(550) }}) }, true, "550"},
		{"mailbox full", func(s *server) { s.become(manners{rcpt: func(string) error { return answer(452) }}) }, false, "452"},
		{"message refused", func(s *server) { s.become(manners{data: func() error { return answer(554) }}) }, true, "554"},
		{"greylisted", func(s *server) { s.become(manners{data: func() error { return answer(451) }}) }, false, "451"},
		{"no server", func(s *server) { s.port = unused(t) }, false, "mail server localhost:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			srv := newServer(t, NoTLS)
			c.prepare(srv)
			s, _ := outbox(t, 1)
			now := noon
			sender := newSender(t, s, srv.smtp(NoTLS), &now)
			send(t, sender, 0)
			n := kept(t, s)[0].Deliveries[0]
			retry := noon.Add(time.Minute)
			if c.givenUp {
				retry = time.Time{}
			}
			if n.GivenUp != c.givenUp || !n.Retry.Equal(retry) || n.Attempts != 1 || !strings.Contains(n.Error, c.says) {
				t.Fatalf("kept as %+v", n)
			}
			srv.become(manners{})
			now = retry.Add(-time.Second)
			send(t, sender, 0) // not before its time
			if len(srv.got()) != 0 {
				t.Fatal("the server has a message")
			}
		})
	}
}

func TestRetriesUntilItWorks(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := outbox(t, 2)
	now := noon
	down := srv.smtp(NoTLS)
	down.Port = unused(t)
	sender := newSender(t, s, down, &now)
	send(t, sender, 0)
	attempts := 0
	for _, n := range kept(t, s) {
		attempts += n.Deliveries[0].Attempts
	}
	if attempts != 1 {
		t.Errorf("%d attempts while the server is down, want 1: the rest waits", attempts)
	}
	for range 12 {
		now = now.Add(lastRetry)
		send(t, sender, 0)
	}
	sender.smtp = srv.smtp(NoTLS)
	now = now.Add(lastRetry)
	send(t, sender, 2)
	if len(srv.got()) != 2 {
		t.Errorf("the server has %d messages", len(srv.got()))
	}
}

// A failure with one nudge does not keep the others, on the same connection or
// a new one.
func TestOneBadAddressAmongMany(t *testing.T) {
	srv := newServer(t, NoTLS)
	srv.become(manners{rcpt: func(to string) error {
		if to == "bad@example.org" {
			return &smtp.SMTPError{Code: 550, Message: "no such user"}
		}
		return nil
	}})
	s, _ := outbox(t, 2)
	bad := nudge(7)
	bad = mailed(bad, "bad@example.org")
	bad.Decided = noon.Add(-time.Hour)
	decide(t, s, bad)
	now := noon
	send(t, newSender(t, s, srv.smtp(NoTLS), &now), 2)
}

func TestServerThatSaysNothing(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	ctx, cancel := context.WithTimeout(context.Background(), 200*time.Millisecond)
	defer cancel()
	config := SMTP{Host: "localhost", Port: l.Addr().(*net.TCPAddr).Port, From: "a@example.org", TLS: NoTLS}
	if _, err := config.dial(ctx); err == nil {
		t.Fatal("a silent server was taken for one that answers")
	}
}

// A certificate that nobody vouches for, and a server without TLS, are not spoken to.
func TestConnectionMustBePrivate(t *testing.T) {
	strict := newServer(t, StartTLS).smtp(StartTLS)
	strict.Trust = nil
	implicit := newServer(t, ImplicitTLS).smtp(ImplicitTLS)
	implicit.Trust = nil
	plain := newServer(t, NoTLS).smtp(StartTLS)
	for name, c := range map[string]SMTP{"unknown certificate": strict, "unknown certificate, implicit": implicit, "no STARTTLS": plain} {
		if conn, err := c.dial(context.Background()); err == nil {
			conn.close()
			t.Errorf("%s: connected", name)
		}
	}
	wrong := newServer(t, StartTLS).smtp(StartTLS)
	wrong.User, wrong.Password = "a", "wrong"
	if _, err := wrong.dial(context.Background()); err == nil || !strings.Contains(err.Error(), "535") {
		t.Errorf("wrong password: %v", err)
	}
}

func TestSettings(t *testing.T) {
	good := SMTP{Host: "mail.example.org", From: "a@example.org"}
	for name, c := range map[string]struct {
		change func(*SMTP)
		says   string
	}{
		"from":              {func(s *SMTP) { s.From = "nobody" }, `from "nobody"`},
		"from with newline": {func(s *SMTP) { s.From = "a@example.org\r\nBcc: b@example.org" }, "from"},
		"port":              {func(s *SMTP) { s.Port = 70000 }, "port 70000"},
		"tls":               {func(s *SMTP) { s.TLS = "sometimes" }, `tls "sometimes"`},
		"clear password":    {func(s *SMTP) { s.TLS, s.User, s.Password = NoTLS, "u", "p" }, "in the clear"},
		"half a sign-in":    {func(s *SMTP) { s.User = "u" }, "both user and password"},
	} {
		s := good
		c.change(&s)
		if err := s.Validate(); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := good.Validate(); err != nil {
		t.Error(err)
	}
	if _, err := NewSender(nil, Channels{SMTP: SMTP{From: "a@example.org"}}, time.Now, silent); err == nil {
		t.Error("a sender without a channel")
	}
}

func TestSendStopsBetweenNudges(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := outbox(t, 3)
	ctx, cancel := context.WithCancel(context.Background())
	srv.become(manners{data: func() error { cancel(); return nil }})
	now := noon
	n, err := newSender(t, s, srv.smtp(NoTLS), &now).Send(ctx)
	if n != 1 || !errors.Is(err, context.Canceled) {
		t.Fatalf("sent %d, %v; want the one in hand and no more", n, err)
	}
}

func TestBackoff(t *testing.T) {
	for attempts, want := range map[int]time.Duration{0: time.Minute, 1: time.Minute, 2: 2 * time.Minute, 8: 128 * time.Minute, 9: lastRetry, 5000: lastRetry} {
		if got := backoff(attempts); got != want {
			t.Errorf("after %d attempts %v, want %v", attempts, got, want)
		}
	}
}

// unused returns a port on which nobody listens.
func unused(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}
