package nudge

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	stdmail "net/mail"
	"net/url"
	"strconv"
	"strings"
	"time"

	"budswell/calendar"

	"github.com/wneessen/go-mail"
)

// TLS is how the connection to a mail server is made private.
type TLS string

// The ways.
const (
	StartTLS    TLS = "starttls" // by the STARTTLS command, or not at all; port 587 as a rule
	ImplicitTLS TLS = "implicit" // from the first byte; port 465 as a rule
	NoTLS       TLS = "none"     // not: for a server on the same machine
)

const (
	// dialTimeout bounds everything up to and including sign-in.
	dialTimeout = 30 * time.Second

	// sendTimeout bounds one message. RFC 5321, section 4.5.3.2.6, asks to wait
	// ten minutes for the answer to a message's end, because to give up earlier
	// is to send it twice.
	sendTimeout = 10 * time.Minute

	// lease is how long a claim holds; longer than any attempt takes.
	lease = dialTimeout + sendTimeout + time.Minute
)

// SMTP is the mail server that nudges are handed to. The zero value is none:
// mails then stay in the outbox, where the page shows them.
type SMTP struct {
	Host     string
	Port     int // 0: 587, or 465 with implicit TLS
	User     string
	Password string
	From     string // address, with or without a name
	TLS      TLS    // empty: starttls

	// Trust replaces the machine's certificate authorities; nil leaves them.
	Trust *tls.Config
}

// Configured reports whether there is a mail server at all.
func (s SMTP) Configured() bool { return s.Host != "" }

// Validate reports the first setting of a configured server that cannot be.
func (s SMTP) Validate() error {
	if _, err := stdmail.ParseAddress(s.From); err != nil {
		return fmt.Errorf("smtp from %q: want a mail address: %w", s.From, err)
	}
	if s.Port < 0 || s.Port > 65535 {
		return fmt.Errorf("smtp port %d: want 1 to 65535", s.Port)
	}
	switch s.TLS {
	case "", StartTLS, ImplicitTLS:
	case NoTLS:
		if s.Password != "" {
			return errors.New("smtp tls none: a password would be sent in the clear: want starttls or implicit")
		}
	default:
		return fmt.Errorf("smtp tls %q: want %s, %s or %s", s.TLS, StartTLS, ImplicitTLS, NoTLS)
	}
	if (s.User == "") != (s.Password == "") {
		return errors.New("smtp: want both user and password, or neither")
	}
	return nil
}

func (s SMTP) port() int {
	switch {
	case s.Port != 0:
		return s.Port
	case s.TLS == ImplicitTLS:
		return 465
	}
	return 587
}

// session is an open connection to a mail server, signed in.
type session struct {
	client *mail.Client
	conn   net.Conn
}

// dial connects and signs in.
func (s SMTP) dial(ctx context.Context) (*session, error) {
	ctx, cancel := context.WithTimeout(ctx, dialTimeout)
	defer cancel()
	trust := &tls.Config{MinVersion: tls.VersionTLS12}
	if s.Trust != nil {
		trust = s.Trust.Clone()
	}
	if trust.ServerName == "" {
		trust.ServerName = s.Host
	}
	out := &session{}
	stop := func() bool { return true }
	options := []mail.Option{
		mail.WithPort(s.port()), mail.WithTimeout(sendTimeout), mail.WithTLSConfig(trust), mail.WithHELO(domain(s.From)),
		// The message's end is answered by the server having taken it; nothing
		// more is asked before that is written down.
		mail.WithoutRset(),
		mail.WithDialContextFunc(func(dialing context.Context, network, address string) (net.Conn, error) {
			conn, err := (&net.Dialer{}).DialContext(dialing, network, address)
			if err != nil {
				return nil, err
			}
			// A server that accepts and then says nothing is cut off when ctx ends.
			stop = context.AfterFunc(ctx, func() { conn.Close() })
			if s.TLS == ImplicitTLS {
				conn = tls.Client(conn, trust)
			}
			out.conn = conn
			return conn, nil
		}),
	}
	switch s.TLS {
	case ImplicitTLS:
		// Inside TLS no server offers STARTTLS, and the library sees by itself
		// that the connection is private.
		options = append(options, mail.WithTLSPolicy(mail.TLSOpportunistic))
	case NoTLS:
		options = append(options, mail.WithTLSPolicy(mail.NoTLS))
	default:
		options = append(options, mail.WithTLSPolicy(mail.TLSMandatory))
	}
	if s.User != "" {
		options = append(options, mail.WithSMTPAuth(mail.SMTPAuthAutoDiscover), mail.WithUsername(s.User), mail.WithPassword(s.Password))
	}
	var err error
	if out.client, err = mail.NewClient(s.Host, options...); err != nil {
		return nil, err
	}
	err = out.client.DialWithContext(ctx)
	if !stop() && err == nil {
		err = context.Cause(ctx)
	}
	if err != nil {
		out.close()
		return nil, fmt.Errorf("mail server %s: %w", net.JoinHostPort(s.Host, strconv.Itoa(s.port())), err)
	}
	return out, nil
}

// close says goodbye if the server still listens, and closes the connection.
func (s *session) close() {
	if s.conn == nil {
		return
	}
	_ = s.conn.SetDeadline(time.Now().Add(time.Second))
	_ = s.client.Close() // the connection is closed whatever the server answers
	s.conn.Close()
}

// refused is that the server will never take a message.
type refused struct{ error }

func (r refused) Unwrap() error { return r.error }

// send hands a message over. A nil error says that the server took it.
func (s *session) send(m *mail.Msg) error {
	err := s.client.Send(m)
	if err == nil || m.IsDelivered() {
		return nil
	}
	var e *mail.SendError
	if errors.As(err, &e) && e.ErrorCode() >= 500 {
		// What is said before the recipient is named is not about the message,
		// but about us, and the keeper can put it right.
		switch e.Reason {
		case mail.ErrSMTPRcptTo, mail.ErrSMTPData, mail.ErrSMTPDataClose:
			return refused{err}
		}
	}
	return err
}

// compose writes a delivery as a mail with its text as plain text and as HTML.
// The same delivery gives the same bytes.
func (s SMTP) compose(c calendar.Claimed, base string) (*mail.Msg, error) {
	m := mail.NewMsg(mail.WithCharset(mail.CharsetUTF8), mail.WithEncoding(mail.EncodingQP), mail.WithNoDefaultUserAgent())
	if err := m.From(s.From); err != nil {
		return nil, fmt.Errorf("from %q: %w", s.From, err)
	}
	to, err := stdmail.ParseAddress(c.Delivery.To)
	if err != nil {
		return nil, refused{fmt.Errorf("to %q: want a mail address: %w", c.Delivery.To, err)}
	}
	m.SetAddrHeaderFromMailAddress(mail.HeaderTo, to)
	m.Subject(clean(c.Title))
	m.SetDateWithValue(c.Decided.UTC())
	m.SetMessageIDWithValue(messageID(c.ID, s.From))
	m.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834: no holiday replies
	for _, l := range c.Links {
		if l.Does == calendar.StopMail && l.Secret != "" {
			m.SetGenHeader(mail.HeaderListUnsubscribe, "<"+actLink(base, l)+">")
			if strings.HasPrefix(base, "https://") { // as RFC 8058, section 3.1, asks
				m.SetGenHeader(mail.HeaderListUnsubscribePost, "List-Unsubscribe=One-Click")
			}
		}
	}
	m.SetBoundary("part_" + c.ID)
	m.SetBodyString(mail.TypeTextPlain, crlf(c.Body+"\n"+linksText(c.Links, base)))
	if c.HTML != "" {
		html, err := pageHTML(c, base)
		if err != nil {
			return nil, refused{err}
		}
		m.AddAlternativeString(mail.TypeTextHTML, crlf(html))
	}
	return m, nil
}

// messageID is made from the nudge's id alone, so that a repeat has it too; all
// that is escaped is allowed in it (RFC 5322, section 3.6.4).
func messageID(id, from string) string { return url.QueryEscape(id) + "@" + domain(from) }

// domain returns the part of an address after the @.
func domain(address string) string {
	a, err := stdmail.ParseAddress(address)
	if err != nil {
		return "localhost"
	}
	return a.Address[strings.LastIndexByte(a.Address, '@')+1:]
}

// crlf makes text fit for mail: UTF-8, no control characters, lines ended by CRLF.
func crlf(text string) string {
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	text = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\n' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "?"))
	return strings.ReplaceAll(text, "\n", "\r\n")
}
