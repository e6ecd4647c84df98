package nudge

import (
	"context"
	"fmt"
	"time"

	"github.com/wneessen/go-mail"
)

// Mail hands one message to the mail server at once, without the outbox: for
// links that are good for a short time, and must not be kept. The id must be
// one that no other message has.
func (s SMTP) Mail(ctx context.Context, id, to, title, text string, at time.Time) error {
	m := mail.NewMsg(mail.WithCharset(mail.CharsetUTF8), mail.WithEncoding(mail.EncodingQP), mail.WithNoDefaultUserAgent())
	if err := m.From(s.From); err != nil {
		return fmt.Errorf("mail: from: %w", err)
	}
	if err := m.To(to); err != nil {
		return fmt.Errorf("mail: to: %w", err)
	}
	m.Subject(title)
	m.SetDateWithValue(at.UTC())
	m.SetMessageIDWithValue(messageID(id, s.From))
	m.SetGenHeader("Auto-Submitted", "auto-generated")
	m.SetBodyString(mail.TypeTextPlain, crlf(text))
	conn, err := s.dial(ctx)
	if err != nil {
		return fmt.Errorf("mail: %w", err)
	}
	defer conn.close()
	return conn.send(m)
}
