package nudge

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"budswell/calendar"
)

const (
	firstRetry = time.Minute
	lastRetry  = 4 * time.Hour
)

// Sender mails the nudges of an outbox.
type Sender struct {
	store calendar.Store
	smtp  SMTP
	now   func() time.Time
	log   *slog.Logger

	// step is called between any two steps with the name of the one done; tests
	// kill the process there.
	step func(done string)
}

// NewSender returns a sender for a configured mail server.
func NewSender(store calendar.Store, smtp SMTP, now func() time.Time, log *slog.Logger) (*Sender, error) {
	if !smtp.Configured() {
		return nil, errors.New("smtp host is empty: want the name of a mail server")
	}
	if err := smtp.Validate(); err != nil {
		return nil, err
	}
	return &Sender{store: store, smtp: smtp, now: now, log: log, step: func(string) {}}, nil
}

// Send mails what there is to mail now over one connection, and returns how many
// nudges were sent. A nudge that the mail server refuses for good is given up; one
// that cannot be handed over now is tried again later, at growing intervals. When
// the server cannot be reached the rest waits too. When ctx ends, the nudge in
// hand is finished.
func (s *Sender) Send(ctx context.Context) (sent int, err error) {
	var conn *session
	defer func() {
		if conn != nil {
			conn.close()
		}
	}()
	for ctx.Err() == nil {
		s.step("begin")
		n, err := s.store.Claim(ctx, s.now(), lease)
		if errors.Is(err, calendar.ErrNotFound) {
			return sent, nil
		}
		if err != nil {
			return sent, err
		}
		s.step("claimed")
		// From here on a half-done nudge must be told in the outbox.
		ctx := context.WithoutCancel(ctx)
		var dialed bool
		if conn, dialed, err = s.mail(ctx, conn, n); err != nil {
			if err := s.failed(ctx, n, err); err != nil {
				return sent, err
			}
			if !dialed {
				return sent, nil
			}
			continue
		}
		s.step("accepted")
		if err := s.store.Sent(ctx, n.ID, s.now()); err != nil {
			return sent, fmt.Errorf("nudge %s was mailed and will be mailed again: %w", n.ID, err)
		}
		sent++
		s.step("marked")
	}
	return sent, ctx.Err()
}

// mail hands one nudge over, connecting where there is no connection. It returns
// the connection to go on with, nil after a failure that may have upset it, and
// whether the server could be reached.
func (s *Sender) mail(ctx context.Context, conn *session, n calendar.Nudge) (*session, bool, error) {
	m, err := s.smtp.compose(n)
	if err != nil {
		return conn, true, err
	}
	if conn == nil {
		if conn, err = s.smtp.dial(ctx); err != nil {
			return nil, false, err
		}
	}
	s.step("connected")
	if err := conn.send(m); err != nil {
		conn.close()
		return nil, true, err
	}
	return conn, true, nil
}

// failed notes in the outbox why n was not sent and when to try again.
func (s *Sender) failed(ctx context.Context, n calendar.Nudge, why error) error {
	var retry time.Time
	if !errors.As(why, new(refused)) {
		retry = s.now().Add(backoff(n.Attempts))
	}
	s.log.Warn("nudge not sent", "nudge", n.ID, "attempt", n.Attempts, "given_up", retry.IsZero(), "error", why)
	return s.store.Failed(ctx, n.ID, n.Attempts, why.Error(), retry)
}

// backoff returns the wait after so many attempts: a minute, doubled each time,
// up to four hours.
func backoff(attempts int) time.Duration {
	return min(firstRetry<<min(max(attempts-1, 0), 10), lastRetry)
}
