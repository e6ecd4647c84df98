package feeds

import (
	"context"
	"errors"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
)

// letters is a post office that keeps what is mailed.
type letters struct {
	mu   sync.Mutex
	sent []string // address, newline, text
}

func (l *letters) mail(_ context.Context, to, _, text string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.sent = append(l.sent, to+"\n"+text)
	return nil
}

// take returns the path of the link in the only letter, to an address.
func (l *letters) take(b *bed, to string) string {
	b.t.Helper()
	b.server.mailing.Wait()
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.sent) != 1 || !strings.HasPrefix(l.sent[0], to+"\n") {
		b.t.Fatalf("mailed: %q, want one letter to %s", l.sent, to)
	}
	link := regexp.MustCompile(`http://trees\.example(/\S+)`).FindStringSubmatch(l.sent[0])
	if link == nil {
		b.t.Fatalf("no link in %q", l.sent[0])
	}
	l.sent = nil
	return link[1]
}

func TestPasswordByMailedLink(t *testing.T) {
	post := &letters{}
	b := accountBed(t, func(c *Config) { c.Mail = post.mail })
	elsewhere, c := b.newClient(), b.newClient()
	b.signIn(elsewhere, "ada@example.org", phrase)
	known := b.form(c, "/link", "mail", "Ada@example.org")
	link := post.take(b, "ada@example.org")
	unknown := b.form(c, "/link", "mail", "nobody@example.org")
	b.server.mailing.Wait()
	if known.text != unknown.text || known.StatusCode != unknown.StatusCode || len(post.sent) != 0 {
		t.Errorf("it shows who has an account, or a stranger is mailed %q", post.sent)
	}
	if a := b.form(c, "/link", "mail", "not an address"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no address: %s", a.Status)
	}

	// To look is not to use, as programs that check mail do.
	for range 2 {
		page := b.send(c, http.MethodGet, link, nil)
		if page.StatusCode != http.StatusOK || attr(find(page.node(t), "input", "name", "mail")[0], "value") != "ada@example.org" || page.Header.Get("Referrer-Policy") != "no-referrer" {
			t.Fatalf("%s\n%s", page.Status, page.text)
		}
	}
	if a := b.form(c, link, "mail", "ada@example.org", "password", "short"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a short one: %s", a.Status)
	}
	// The address in the form is not taken: the account keeps its own.
	if a := b.form(c, link, "mail", "evil@example.org", "password", another); a.StatusCode != http.StatusOK || !b.signedIn(c) {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if b.signedIn(elsewhere) {
		t.Error("elsewhere one is still signed in")
	}
	if told := post.take(b, "ada@example.org"); told != "/link" { // in case it was somebody else
		t.Errorf("after the change the mail links %s", told)
	}
	if a := b.form(b.newClient(), link, "mail", "ada@example.org", "password", phrase); a.StatusCode != http.StatusGone {
		t.Errorf("a second time: %s", a.Status)
	}
	if b.signIn(b.newClient(), "ada@example.org", another).StatusCode != http.StatusOK {
		t.Error("the new password is not good")
	}
	b.form(c, "/link", "mail", "ada@example.org")
	link = post.take(b, "ada@example.org")
	b.set(b.now().Add(MailedLife))
	if a := b.get(link); a.StatusCode != http.StatusGone || !strings.Contains(a.text, "too old") {
		t.Errorf("too late: %s", a.Status)
	}
	if strings.Contains(b.log.String(), strings.TrimPrefix(link, "/password/")) {
		t.Error("the log holds the secret of a link")
	}
}

func TestMailIsNotForFlooding(t *testing.T) {
	post := &letters{}
	b := accountBed(t, func(c *Config) { c.Mail = post.mail })
	for range ofMail.free {
		if a := b.form(b.newClient(), "/link", "mail", "ada@example.org"); a.StatusCode != http.StatusOK {
			t.Fatalf("%s", a.Status)
		}
	}
	if a := b.form(b.newClient(), "/link", "mail", "ada@example.org"); a.StatusCode != http.StatusTooManyRequests || a.Header.Get("Retry-After") != "900" {
		t.Errorf("%s, wait %q", a.Status, a.Header.Get("Retry-After"))
	}
	b.server.mailing.Wait()
	if len(post.sent) != ofMail.free {
		t.Errorf("%d letters, want %d", len(post.sent), ofMail.free)
	}
}

func TestFirstPasswordOfAGrowerWhomTheKeeperAdded(t *testing.T) {
	post := &letters{}
	b := accountBed(t, func(c *Config) { c.Mail = post.mail })
	id, err := AddGrower(b.ctx(), b.server.cfg, "", "Bea of the Hill", "Bea@example.org")
	b.must(err)
	if second, err := AddGrower(b.ctx(), b.server.cfg, "", "Bea of the Hill", ""); err != nil || second == id {
		t.Errorf("two of one name: %q and %q, %v", id, second, err)
	}
	if _, err := AddGrower(b.ctx(), b.server.cfg, id, "x", ""); !errors.Is(err, calendar.ErrConflict) {
		t.Errorf("the same id: %v", err)
	}
	c := b.newClient()
	b.form(c, "/link", "mail", "bea@example.org")
	link := post.take(b, "bea@example.org")
	// Another's address is not to be had.
	if a := b.form(c, link, "mail", "ada@example.org", "password", another); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, takenAddress) {
		t.Errorf("another's address: %s", a.Status)
	}
	if a := b.form(c, link, "mail", "bea@example.org", "password", another); a.StatusCode != http.StatusOK {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	post.take(b, "bea@example.org")
	// By the keeper's printed link, with another address.
	printed, err := PasswordLink(b.ctx(), b.server.cfg, "bea-of-the-hill-2", HandedLife)
	b.must(err)
	if a := b.form(c, strings.TrimPrefix(printed, "http://trees.example"), "mail", "two@example.org", "password", another); a.StatusCode != http.StatusOK {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if _, err := PasswordLink(b.ctx(), b.server.cfg, "nobody", HandedLife); !errors.Is(err, calendar.ErrNotFound) {
		t.Errorf("a link for nobody: %v", err)
	}
}

func TestJoinByInvitation(t *testing.T) {
	b := accountBed(t)
	link, err := Invitation(b.ctx(), b.server.cfg, "", InvitationLife)
	b.must(err)
	path := strings.TrimPrefix(link, "http://trees.example")
	c := b.newClient()
	if a := b.send(c, http.MethodGet, path, nil); a.StatusCode != http.StatusOK {
		t.Fatalf("%s", a.Status)
	}
	for name, row := range map[string][]string{
		"no name":         {"mail", "new@example.org", "password", another},
		"no address":      {"name", "New", "mail", "new", "password", another},
		"a taken address": {"name", "New", "mail", "ada@example.org", "password", another},
		"one's own name":  {"name", "Newcomer Name", "mail", "new@example.org", "password", "Newcomer Name"},
	} {
		a := b.form(c, path, row...)
		if a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %s", name, a.Status)
		} else if row[0] == "name" && attr(find(a.node(t), "input", "name", "name")[0], "value") != row[1] {
			t.Errorf("%s: what was typed is lost", name)
		}
	}
	if a := b.form(c, path, "name", "Ada", "mail", "new@example.org", "password", another); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "Where your trees stand") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	g, err := b.store.Grower(b.ctx(), "ada-2")
	if err != nil || g.Name != "Ada" || g.Email != "new@example.org" || g.KeyHash != "" {
		t.Errorf("the new grower: %+v, %v", g, err)
	}
	if a := b.form(b.newClient(), path, "name", "Two", "mail", "two@example.org", "password", another); a.StatusCode != http.StatusGone {
		t.Errorf("a second time: %s", a.Status)
	}
	if _, err := Invitation(b.ctx(), b.server.cfg, "not an address", time.Hour); !errors.Is(err, calendar.ErrInvalid) {
		t.Errorf("an invitation for no address: %v", err)
	}
}

func TestWhoMayJoin(t *testing.T) {
	post := &letters{}
	b := accountBed(t, func(c *Config) { c.Mail, c.Open = post.mail, true })
	c := b.newClient()
	b.form(c, "/link", "mail", "new@example.org")
	link := post.take(b, "new@example.org")
	// Only with the address that the mail reached.
	b.form(c, link, "name", "New", "mail", "other@example.org", "password", another)
	if a, err := b.store.Account(b.ctx(), "new"); err != nil || a.Mail != "new@example.org" {
		t.Errorf("the account: %+v %v", a, err)
	}
	// Who is there already gets a link to set a password.
	b.form(c, "/link", "mail", "ada@example.org")
	if link := post.take(b, "ada@example.org"); !strings.HasPrefix(link, "/password/") {
		t.Errorf("link %s", link)
	}
	if _, err := New(Config{Store: b.store, Lore: knowledge, Base: "http://x", Now: b.now, Random: strings.NewReader(""), Open: true}); err == nil {
		t.Error("open to all without mail")
	}

	closed := accountBed(t)
	if a := closed.form(closed.newClient(), "/link", "mail", "new@example.org"); a.StatusCode != http.StatusNotFound {
		t.Errorf("without mail: %s", a.Status)
	}
	if a := closed.get("/link"); !strings.Contains(a.text, "sends no mail") {
		t.Errorf("without mail: %s", a.text)
	}
	for _, path := range []string{"/join/", "/password/"} {
		for _, secret := range []string{"x", strings.Repeat("a", 32), strings.Repeat("a", 33)} {
			if a := closed.get(path + secret); a.StatusCode != http.StatusNotFound && a.StatusCode != http.StatusGone {
				t.Errorf("%s%s: %s", path, secret, a.Status)
			}
		}
	}
}
