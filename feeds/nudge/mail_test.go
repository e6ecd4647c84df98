package nudge

import (
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
)

// part is one form of a message.
type mailPart struct{ kind, text string }

// parts returns the forms of a multipart/alternative message, in their order.
func (m message) parts(t *testing.T) (out []mailPart) {
	t.Helper()
	parsed := m.parse(t)
	kind, params, err := mime.ParseMediaType(parsed.Header.Get("Content-Type"))
	if err != nil || kind != "multipart/alternative" {
		t.Fatalf("%q, %v: want multipart/alternative", kind, err)
	}
	r := multipart.NewReader(parsed.Body, params["boundary"])
	for {
		p, err := r.NextRawPart()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if e := p.Header.Get("Content-Transfer-Encoding"); e != "quoted-printable" {
			t.Errorf("a part is in %q", e)
		}
		text, err := io.ReadAll(quotedprintable.NewReader(p))
		if err != nil {
			t.Fatal(err)
		}
		kind, params, _ := mime.ParseMediaType(p.Header.Get("Content-Type"))
		out = append(out, mailPart{kind + " " + params["charset"], string(text)})
	}
}

// What goes on the wire is one message for one recipient whatever the texts
// hold, and reads as the nudge in both of its forms.
func TestMessage(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := outbox(t, 0)
	n := nudge(0)
	n.Title = "Föhre & 木\r\nBcc: everyone@example.org\r\n\r\nbody"
	n.Body = "Zeile eins: ’ß木\r\n.\nRCPT TO:<x@example.org>\rlast \x01line" + strings.Repeat(" long", 400) + "\n"
	n.HTML = "<p>’ß木</p>\n"
	decide(t, s, n)
	evil := mailed(nudge(1), "a@example.org\r\nBcc: everyone@example.org")
	decide(t, s, evil)
	now := noon.Add(90 * time.Minute)
	send(t, newSender(t, s, srv.smtp(NoTLS), &now), 1)

	got := srv.got()
	if len(got) != 1 || got[0].to != "a@example.org" || got[0].from != "nudge@budswell.example" {
		t.Fatalf("the server has %+v", got)
	}
	for i, line := range strings.Split(string(got[0].raw), "\r\n") {
		if len(line) > 998 || strings.ContainsAny(line, "\r\n\x01") {
			t.Errorf("line %d is %q", i, line)
		}
	}
	m := got[0].parse(t)
	for header, want := range map[string]string{
		"Message-Id":            "<" + n.ID + "@budswell.example>",
		"Date":                  "Sun, 12 Apr 2026 12:00:00 +0000",
		"To":                    "<a@example.org>",
		"From":                  `"Budswell" <nudge@budswell.example>`,
		"Auto-Submitted":        "auto-generated",
		"List-Unsubscribe":      "<https://trees.example/act/stop0>",
		"List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
		"Bcc":                   "",
	} {
		if v := m.Header.Get(header); v != want {
			t.Errorf("%s is %q, want %q", header, v, want)
		}
	}
	title, err := new(mime.WordDecoder).DecodeHeader(m.Header.Get("Subject"))
	if want := "Föhre & 木 Bcc: everyone@example.org body"; err != nil || title != want {
		t.Errorf("subject is %q, %v; want %q", title, err, want)
	}
	parts := got[0].parts(t)
	if len(parts) != 2 || parts[0].kind != "text/plain UTF-8" || parts[1].kind != "text/html UTF-8" {
		t.Fatalf("the message has %+v", parts)
	}
	text := "Zeile eins: ’ß木\r\n.\r\nRCPT TO:<x@example.org>\r\nlast line" + strings.Repeat(" long", 400) + "\r\n\r\n"
	if !strings.HasPrefix(parts[0].text, text) {
		t.Errorf("the text is %q, want it to begin with %q", parts[0].text, text)
	}
	for _, want := range []string{"https://trees.example/act/secret0", "https://trees.example/act/stop0", "https://trees.example/nudges"} {
		for _, p := range parts {
			if !strings.Contains(p.text, want) {
				t.Errorf("%s is not in the part %s:\n%s", want, p.kind, p.text)
			}
		}
	}
	if !strings.Contains(parts[1].text, "<p>’ß木</p>") || strings.Contains(parts[1].text, "\x01") {
		t.Errorf("the HTML is %q", parts[1].text)
	}
	for _, n := range kept(t, s) {
		if d := n.Deliveries[0]; n.ID == evil.ID && (!d.GivenUp || !strings.Contains(d.Error, "want a mail address")) {
			t.Errorf("an address that is none is kept as %+v", d)
		}
	}
}

// Over plain HTTP the one-click of RFC 8058 is not offered, since it may not be.
func TestOneClickWantsHTTPS(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := outbox(t, 1)
	now := noon
	sender := newSender(t, s, srv.smtp(NoTLS), &now)
	sender.base = "http://127.0.0.1:8080"
	send(t, sender, 1)
	h := srv.got()[0].parse(t).Header
	if h.Get("List-Unsubscribe") != "<http://127.0.0.1:8080/act/stop0>" || h.Get("List-Unsubscribe-Post") != "" {
		t.Errorf("headers %v", h)
	}
}

// After the last delivery the secrets of the links are forgotten.
func TestSecretsAreForgotten(t *testing.T) {
	srv := newServer(t, NoTLS)
	s, _ := outbox(t, 1)
	now := noon
	send(t, newSender(t, s, srv.smtp(NoTLS), &now), 1)
	for _, hash := range []string{"hash 0", "stop 0"} {
		if l, err := s.LinkByHash(t.Context(), hash, noon); err != nil || l.Secret != "" {
			t.Errorf("link %q is %+v, %v", hash, l, err)
		}
	}
}

// What a grower does not want any more is not delivered, even if it was decided before.
func TestUnsubscribedMeanwhile(t *testing.T) {
	for name, change := range map[string]func(*calendar.Preferences){
		"no mail":       func(p *calendar.Preferences) { p.Mail = false },
		"not this kind": func(p *calendar.Preferences) { p.Off = []string{BudsSwell} },
	} {
		srv := newServer(t, NoTLS)
		s, _ := outbox(t, 1)
		awake(t, s, change)
		now := noon
		send(t, newSender(t, s, srv.smtp(NoTLS), &now), 0)
		if d := kept(t, s)[0].Deliveries[0]; !d.GivenUp || len(srv.got()) != 0 {
			t.Errorf("%s: %+v", name, d)
		}
	}
}
