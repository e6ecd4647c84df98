package nudge

import (
	"context"
	"fmt"

	"budswell/calendar"
)

// Mail hands one message to the mail server at once, without the outbox: for
// links that are good for a short time, and must not be kept.
func (s SMTP) Mail(ctx context.Context, n calendar.Nudge) error {
	m, err := s.compose(n)
	if err != nil {
		return fmt.Errorf("mail: %w", err)
	}
	conn, err := s.dial(ctx)
	if err != nil {
		return fmt.Errorf("mail: %w", err)
	}
	defer conn.close()
	return conn.send(m)
}
