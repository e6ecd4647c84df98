package nudge

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"budswell/calendar"
)

const (
	firstRetry = time.Minute
	lastRetry  = 4 * time.Hour
)

// Channels are the ways in which a sender delivers.
type Channels struct {
	// SMTP is the mail server; the zero value: none.
	SMTP SMTP

	// Webhooks asks the addresses that growers typed; nil: none is asked. It must
	// not reach into the network that the service stands in. Redirects are not
	// followed whatever it says of them.
	Webhooks *http.Client

	// Base is the address of the service, from which links are made.
	Base string
}

// Sender delivers the nudges of an outbox.
type Sender struct {
	store calendar.Store
	smtp  SMTP
	hooks *http.Client
	base  string
	now   func() time.Time
	log   *slog.Logger

	posts int // webhooks that are posted to at once

	// step is called between any two steps with the name of the one done; tests
	// kill the process there.
	step func(done string)
}

// NewSender returns a sender for at least one channel.
func NewSender(store calendar.Store, c Channels, now func() time.Time, log *slog.Logger) (*Sender, error) {
	if !c.SMTP.Configured() && c.Webhooks == nil {
		return nil, errors.New("no channel: want the host of a mail server, a client for webhooks, or both")
	}
	s := &Sender{store: store, posts: postsAtOnce, smtp: c.SMTP, base: strings.TrimRight(c.Base, "/"), now: now, log: log, step: func(string) {}}
	if c.SMTP.Configured() {
		if err := c.SMTP.Validate(); err != nil {
			return nil, err
		}
	}
	if c.Webhooks != nil {
		once := *c.Webhooks
		once.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		s.hooks = &once
	}
	return s, nil
}

// Send delivers what there is to deliver now, and returns how many deliveries
// were done. What the other side refuses for good is given up; what cannot be
// handed over now is tried again later, at growing intervals. When the mail server
// cannot be reached the rest of the mail waits too. In a grower's quiet hours
// nothing is delivered. When ctx ends, the delivery in hand is finished.
func (s *Sender) Send(ctx context.Context) (sent int, err error) {
	hold := &hours{store: s.store}
	if s.smtp.Configured() {
		line := &mailLine{sender: s}
		defer line.close()
		if sent, err = s.channel(ctx, calendar.ByMail, lease, hold, line.mail); err != nil {
			return sent, err
		}
	}
	if s.hooks != nil {
		n, err := s.postAll(ctx)
		return sent + n, err
	}
	return sent, nil
}

// channel delivers what there is by a channel. Deliver hands one over, and
// reports whether there is any use in going on.
func (s *Sender) channel(ctx context.Context, name string, lease time.Duration, hold *hours,
	deliver func(context.Context, *calendar.Claimed) (bool, error),
) (sent int, err error) {
	for ctx.Err() == nil {
		s.step("begin")
		now := s.now()
		c, err := s.store.Claim(ctx, name, now, lease)
		if errors.Is(err, calendar.ErrNotFound) {
			return sent, nil
		}
		if err != nil {
			return sent, err
		}
		s.step("claimed")
		// From here on a half-done delivery must be told in the outbox.
		ctx := context.WithoutCancel(ctx)
		until, err := hold.until(ctx, &c, now)
		if !until.IsZero() {
			if err := s.store.Postpone(ctx, c.Delivery.ID, c.Delivery.Attempts, until); err != nil {
				return sent, err
			}
			continue
		}
		on := true
		if err == nil {
			on, err = deliver(ctx, &c)
		}
		if errors.Is(err, errNotNow) {
			if err := s.store.Postpone(ctx, c.Delivery.ID, c.Delivery.Attempts, now.Add(firstRetry)); err != nil {
				return sent, err
			}
			continue
		}
		if err != nil {
			if err := s.failed(ctx, &c, err); err != nil || !on {
				return sent, err
			}
			continue
		}
		s.step("accepted")
		if err := s.store.Sent(ctx, c.Delivery.ID, s.now()); err != nil {
			return sent, fmt.Errorf("delivery %s was made and will be made again: %w", c.Delivery.ID, err)
		}
		sent++
		s.step("marked")
	}
	return sent, ctx.Err()
}

// failed notes in the outbox why a delivery was not made and when to try again.
func (s *Sender) failed(ctx context.Context, c *calendar.Claimed, why error) error {
	var retry time.Time
	if !errors.As(why, new(refused)) {
		retry = s.now().Add(backoff(c.Delivery.Attempts))
	}
	if errors.As(why, new(ended)) {
		if err := s.store.EndWebhook(ctx, c.Grower, c.Delivery.To, why.Error(), s.now()); err != nil {
			return err
		}
	}
	s.log.Warn("nudge not delivered", "delivery", c.Delivery.ID, "attempt", c.Delivery.Attempts, "given_up", retry.IsZero(), "error", why)
	return s.store.Failed(ctx, c.Delivery.ID, c.Delivery.Attempts, why.Error(), retry)
}

// backoff returns the wait after so many attempts: a minute, doubled each time,
// up to four hours.
func backoff(attempts int) time.Duration {
	return min(firstRetry<<min(max(attempts-1, 0), 10), lastRetry)
}

// mailLine is a connection to the mail server, made when it is first needed.
type mailLine struct {
	sender *Sender
	conn   *session
}

func (l *mailLine) close() {
	if l.conn != nil {
		l.conn.close()
		l.conn = nil
	}
}

// mail hands one delivery over, connecting where there is no connection; one
// that a failure may have upset is closed. It reports whether the server could be
// reached.
func (l *mailLine) mail(ctx context.Context, c *calendar.Claimed) (bool, error) {
	s := l.sender
	m, err := s.smtp.compose(*c, s.base)
	if err != nil {
		return true, err
	}
	if l.conn == nil {
		if l.conn, err = s.smtp.dial(ctx); err != nil {
			l.conn = nil
			return false, err
		}
	}
	s.step("connected")
	if err := l.conn.send(m); err != nil {
		l.close()
		return true, err
	}
	return true, nil
}

// hours knows when growers want nothing delivered.
type hours struct {
	store calendar.Store
	first map[string]*calendar.Place // of each grower, read once
}

// until returns the end of the quiet hours that a delivery must wait for, zero
// where there are none, and an error where the grower does not want it any more.
func (h *hours) until(ctx context.Context, c *calendar.Claimed, now time.Time) (time.Time, error) {
	p, err := h.store.Preferences(ctx, c.Grower)
	if err != nil {
		return time.Time{}, err
	}
	switch {
	case c.Delivery.Channel == calendar.ByMail && !p.Mail:
		return time.Time{}, refused{errors.New("the grower wants no mail any more")}
	case !p.Wants(c.Kind):
		return time.Time{}, refused{errors.New("the grower does not want to be told this any more")}
	case c.Urgent && p.Wake:
		return time.Time{}, nil
	}
	if h.first == nil {
		sites, err := h.store.Sites(ctx)
		if err != nil {
			return time.Time{}, err
		}
		h.first = map[string]*calendar.Place{}
		for i := range sites {
			if g := sites[i].Grower; h.first[g] == nil || sites[i].ID < h.first[g].ID {
				h.first[g] = &sites[i]
			}
		}
	}
	zone := Zone(p, nil)
	if at := h.first[c.Grower]; at != nil {
		zone = Zone(p, &at.Site)
	}
	until, _ := QuietUntil(&p, zone, now)
	return until, nil
}
