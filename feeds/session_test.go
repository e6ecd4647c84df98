package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

func TestSessions(t *testing.T) {
	b := accountBed(t)
	cookie := func(c *http.Client) string {
		u, _ := url.Parse(b.http.URL)
		for _, k := range c.Jar.Cookies(u) {
			if k.Name == "session" {
				return k.Value
			}
		}
		return ""
	}
	c := b.newClient()
	b.send(c, http.MethodGet, "/", nil)
	if cookie(c) != "" {
		t.Error("a visitor gets a session")
	}
	b.signIn(c, "ada@example.org", phrase)
	first := cookie(c)
	b.signIn(c, "ada@example.org", phrase)
	if second := cookie(c); second == first || second == "" {
		t.Error("signing in does not renew the session's secret")
	}
	if a := b.send(b.newClient(), http.MethodGet, "/", nil, "Cookie", "session="+first); strings.Contains(a.text, "ridge maple") {
		t.Error("the session of before is still good")
	}

	// The service starts anew on the same database: the session is still there.
	again, err := New(b.server.cfg)
	b.must(err)
	again.planner = b.server.planner
	b.http.Config.Handler = again.Handler()
	if !b.signedIn(c) {
		t.Error("a restart ends sessions")
	}

	// Two weeks without a visit, or a month in all, end it.
	idle := b.newClient()
	b.signIn(idle, "ada@example.org", phrase)
	b.set(b.now().Add(sessionIdle - time.Hour))
	if !b.signedIn(c) {
		t.Error("ended too early")
	}
	b.set(b.now().Add(time.Hour))
	if b.signedIn(idle) || !b.signedIn(c) {
		t.Error("idle sessions do not end by themselves")
	}
	b.set(b.now().Add(sessionIdle - 2*time.Hour))
	if !b.signedIn(c) {
		t.Error("ended before the month was over")
	}
	b.set(b.now().Add(3 * 24 * time.Hour))
	if b.signedIn(c) {
		t.Error("a session that is used outlives the month")
	}
}

func TestEndSessions(t *testing.T) {
	b := accountBed(t)
	c, phone, tablet := b.newClient(), b.newClient(), b.newClient()
	for i, k := range []*http.Client{tablet, phone, c} {
		b.send(k, http.MethodPost, "/sign-in", url.Values{"mail": {"ada@example.org"}, "password": {phrase}},
			"Sec-Fetch-Site", "same-origin", "User-Agent", []string{"Tablet <b>", "Phone", "Desk"}[i])
		b.set(b.now().Add(2 * time.Minute))
	}
	list := func() []string {
		var out []string
		page := b.send(c, http.MethodGet, "/account", nil)
		if strings.Contains(page.text, "Tablet <b>") {
			t.Error("what a browser calls itself is not escaped")
		}
		for _, li := range find(find(page.node(t), "ul", "class", "feeds")[0], "li", "", "") {
			out = append(out, text(find(li, "b", "", "")[0])+" "+attr(find(li, "button", "", "")[0], "value"))
		}
		return out
	}
	all := list()
	if len(all) != 3 || !strings.HasPrefix(all[0], "Desk ") || !strings.HasPrefix(all[2], "Tablet <b> ") {
		t.Fatalf("sessions: %q", all)
	}
	// One of one's own, and none of another's.
	b.grower("bea", "south")
	b.setPassword("bea", "bea@example.org", phrase)
	bea := b.newClient()
	b.signIn(bea, "bea@example.org", phrase)
	hash := strings.TrimPrefix(all[1], "Phone ")
	b.form(bea, "/account/sessions", "end", hash)
	if !b.signedIn(phone) {
		t.Error("another grower ended a session")
	}
	b.form(c, "/account/sessions", "end", hash)
	if b.signedIn(phone) || !b.signedIn(tablet) || !b.signedIn(c) {
		t.Error("the wrong session ended")
	}
	b.form(c, "/account/sessions", "end", "others")
	if b.signedIn(tablet) || !b.signedIn(c) || !b.signedIn(bea) {
		t.Error("the others did not end, or too many did")
	}
	b.form(c, "/account/sessions", "end", strings.Fields(list()[0])[1])
	if b.signedIn(c) {
		t.Error("this one did not end")
	}
}

// TestAnEndedSessionDoesNotComeBack by a request that was under way.
func TestAnEndedSessionDoesNotComeBack(t *testing.T) {
	b := accountBed(t)
	c := b.newClient()
	b.signIn(c, "ada@example.org", phrase)
	list, err := b.store.Sessions(b.ctx(), "ada", b.now())
	b.must(err)
	b.must(b.store.EndSession(b.ctx(), list[0].Hash))
	var token string
	u, _ := url.Parse(b.http.URL)
	for _, k := range c.Jar.Cookies(u) {
		if k.Name == "session" {
			token = k.Value
		}
	}
	store := &sessionStore{b.store, b.now}
	b.must(store.CommitCtx(b.ctx(), token, list[0].Data, b.now()))
	if _, found, err := store.FindCtx(b.ctx(), token); found || err != nil {
		t.Errorf("found %v, %v", found, err)
	}
}
