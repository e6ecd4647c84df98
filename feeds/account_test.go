package feeds

import (
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
)

// quick is a cost that tests can pay often.
var quick = cost{memory: 64, time: 1, lanes: 1}

const (
	phrase  = "four larches and a stone"
	another = "six hornbeams in the rain"
)

// accountBed is a bed whose grower signs in as ada@example.org with phrase.
func accountBed(t *testing.T, change ...func(*Config)) *bed {
	t.Helper()
	b := newBed(t, change...)
	b.server.passwords = newPasswords(quick)
	b.setPassword("ada", "ada@example.org", phrase)
	return b
}

func (b *bed) setPassword(grower, mail, password string) {
	b.t.Helper()
	hash, err := b.server.passwords.hash(b.ctx(), b.server.cfg.Random, password)
	b.must(err)
	b.must(b.store.PutAccount(b.ctx(), calendar.Account{Grower: grower, Mail: mail, Password: hash, Changed: b.now()}, ""))
}

// form posts a form from our own pages.
func (b *bed) form(c *http.Client, path string, fields ...string) answered {
	b.t.Helper()
	v := url.Values{}
	for i := 0; i+1 < len(fields); i += 2 {
		v.Add(fields[i], fields[i+1])
	}
	return b.send(c, http.MethodPost, path, v, "Sec-Fetch-Site", "same-origin")
}

func (b *bed) signIn(c *http.Client, mail, password string) answered {
	b.t.Helper()
	return b.form(c, "/sign-in", "mail", mail, "password", password)
}

func (b *bed) signedIn(c *http.Client) bool {
	b.t.Helper()
	return strings.Contains(b.send(c, http.MethodGet, "/", nil).text, "ridge maple")
}

func TestSignInWithPassword(t *testing.T) {
	b := accountBed(t)
	for name, typed := range map[string][2]string{
		"as it is":              {"ada@example.org", phrase},
		"in another case":       {" Ada@Example.ORG ", phrase},
		"composed another way":  {"uwe@example.org", "fünf Lärchen im Nebel"},
		"with a no-break space": {"ada@example.org", strings.Replace(phrase, " ", "\u00a0", 1)},
	} {
		b.grower("uwe-"+fmt.Sprint(len(name)), "south")
		if name == "composed another way" {
			b.setPassword("uwe-"+fmt.Sprint(len(name)), "uwe@example.org", "fu\u0308nf La\u0308rchen im Nebel")
		}
		c := b.newClient()
		if a := b.signIn(c, typed[0], typed[1]); a.StatusCode != http.StatusOK || !b.signedIn(c) {
			t.Errorf("%s: %s", name, a.Status)
		}
	}
	for name, typed := range map[string][2]string{
		"wrong password": {"ada@example.org", another},
		"nobody":         {"bea@example.org", phrase},
		"no address":     {"ada", phrase},
		"empty":          {"", ""},
		"endless":        {"ada@example.org", strings.Repeat("a", 1000)},
	} {
		c := b.newClient()
		a := b.signIn(c, typed[0], typed[1])
		if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, notSignedIn) || b.signedIn(c) {
			t.Errorf("%s: %s", name, a.Status)
		}
		if strings.Contains(a.text, `value="`+typed[1]+`"`) && typed[1] != "" {
			t.Errorf("%s: the password is in the page", name)
		}
	}
	if strings.Contains(b.log.String(), phrase) || strings.Contains(b.log.String(), "ada@") {
		t.Errorf("the log names who tried, or worse:\n%s", &b.log)
	}
}

// TestNobodyLearnsWhoHasAnAccount: the same answer, and as many hashes computed.
func TestNobodyLearnsWhoHasAnAccount(t *testing.T) {
	b := accountBed(t)
	answers := map[string]answered{}
	for _, mail := range []string{"ada@example.org", "not@example.org"} {
		a := b.signIn(b.newClient(), mail, another)
		a.text = strings.ReplaceAll(a.text, mail, "")
		answers[mail] = a
	}
	if x, y := answers["ada@example.org"], answers["not@example.org"]; x.text != y.text || x.StatusCode != y.StatusCode || len(x.Cookies()) != len(y.Cookies()) {
		t.Errorf("answers differ:\n%s\n%s", x.text, y.text)
	}
	c, _, key, err := parse(b.server.passwords.dummy)
	if err != nil || c != quick || len(key) != hashBytes {
		t.Errorf("what is hashed where nobody is found costs %+v, want %+v: %v", c, quick, err)
	}
	if ok, _, err := b.server.passwords.verify("", ""); ok || err != nil {
		t.Error("the empty password of nobody is taken")
	}
}

func TestPasswordIsRehashedWhenTheCostChanges(t *testing.T) {
	b := accountBed(t)
	was, err := b.store.Account(b.ctx(), "ada")
	b.must(err)
	b.server.passwords = newPasswords(cost{memory: 128, time: 2, lanes: 2})
	c := b.newClient()
	b.signIn(c, "ada@example.org", another)
	if a, err := b.store.Account(b.ctx(), "ada"); err != nil || a != was {
		t.Errorf("a wrong password changed the account: %+v %v", a, err)
	}
	b.signIn(c, "ada@example.org", phrase)
	a, err := b.store.Account(b.ctx(), "ada")
	b.must(err)
	if !strings.HasPrefix(a.Password, "$argon2id$v=19$m=128,t=2,p=2$") || !b.signedIn(c) {
		t.Errorf("the hash is %s", a.Password)
	}
	if c2 := b.newClient(); b.signIn(c2, "ada@example.org", phrase).StatusCode != http.StatusOK || !b.signedIn(c2) {
		t.Error("the new hash does not let in")
	}
}

func TestGuessingIsSlowedDown(t *testing.T) {
	b := accountBed(t, func(c *Config) {
		c.Proxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32"), netip.MustParsePrefix("::1/128")}
	})
	try := func(from, mail, password string) answered {
		return b.send(b.newClient(), http.MethodPost, "/sign-in", url.Values{"mail": {mail}, "password": {password}},
			"Sec-Fetch-Site", "same-origin", "X-Forwarded-For", from)
	}
	for _, mail := range []string{"ada@example.org", "nobody@example.org"} {
		for i := range ofAccount.free {
			if a := try(fmt.Sprintf("192.0.2.%d", i), mail, another); a.StatusCode != http.StatusUnprocessableEntity {
				t.Fatalf("%s, try %d: %s", mail, i, a.Status)
			}
		}
		wait := 30
		for range 3 {
			// From anywhere, even with the right password.
			a := try("203.0.113.7", mail, phrase)
			if a.StatusCode != http.StatusTooManyRequests || a.Header.Get("Retry-After") != fmt.Sprint(wait) {
				t.Fatalf("%s: %s, wait %q, want %d", mail, a.Status, a.Header.Get("Retry-After"), wait)
			}
			b.set(b.now().Add(time.Duration(wait) * time.Second))
			try("203.0.113.7", mail, another)
			wait *= 2
		}
	}
	if !strings.Contains(try("198.51.100.1", "ada@example.org", phrase).text, "Too many tries") {
		t.Error("the page does not say why")
	}
	b.set(b.now().Add(time.Hour))
	if a := try("198.51.100.1", "ada@example.org", phrase); a.StatusCode != http.StatusOK {
		t.Errorf("after the wait: %s", a.Status)
	}
	if a := try("198.51.100.1", "ada@example.org", another); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("success does not clear what failed before: %s", a.Status)
	}
	// Many accounts from one address; of IPv6, from one customer's network.
	for _, from := range []string{"192.0.2.200", "2001:db8:1:2::%x"} {
		for i := range ofAddress.free {
			at := from
			if strings.Contains(at, "%") {
				at = fmt.Sprintf(at, i+1)
			}
			try(at, fmt.Sprintf("a%d@example.org", i), another)
		}
		at := strings.Replace(from, "%x", "ffff", 1)
		if a := try(at, "ada@example.org", phrase); a.StatusCode != http.StatusTooManyRequests {
			t.Errorf("the address %s tries on: %s", at, a.Status)
		}
	}
	if a := try("192.0.2.201", "ada@example.org", phrase); a.StatusCode != http.StatusOK {
		t.Errorf("another address must wait too: %s", a.Status)
	}
}

// TestForwardedAddressesAreNotBelieved of just anybody.
func TestForwardedAddressesAreNotBelieved(t *testing.T) {
	b := accountBed(t)
	for i := range ofAddress.free {
		b.send(b.newClient(), http.MethodPost, "/sign-in", url.Values{"mail": {fmt.Sprintf("a%d@example.org", i)}, "password": {another}},
			"Sec-Fetch-Site", "same-origin", "X-Forwarded-For", fmt.Sprintf("192.0.2.%d", i))
	}
	if a := b.signIn(b.newClient(), "ada@example.org", phrase); a.StatusCode != http.StatusTooManyRequests {
		t.Errorf("%s", a.Status)
	}
}

func TestManyGuessesAtOnceDoNotSlipThrough(t *testing.T) {
	b := accountBed(t)
	var wait sync.WaitGroup
	var lock sync.Mutex
	tried := map[int]int{}
	for range 60 {
		wait.Go(func() {
			a := b.signIn(b.newClient(), "ada@example.org", another)
			lock.Lock()
			defer lock.Unlock()
			tried[a.StatusCode]++
		})
	}
	wait.Wait()
	if n := tried[http.StatusUnprocessableEntity]; n > ofAccount.free+hashers-1 || tried[http.StatusTooManyRequests] != 60-n {
		t.Errorf("answers by status: %v", tried)
	}
}

func TestChangePassword(t *testing.T) {
	b := accountBed(t)
	c, elsewhere := b.newClient(), b.newClient()
	b.signIn(c, "ada@example.org", phrase)
	b.signIn(elsewhere, "ada@example.org", phrase)
	for name, row := range map[string][]string{
		"without the old one": {"password", another},
		"a wrong old one":     {"now", another, "password", another},
		"short":               {"now", phrase, "password", "eleven sign"},
		"one that is guessed": {"now", phrase, "password", "passwordpassword"},
		"one's own address":   {"now", phrase, "password", "ada@example.org"},
		"again and again":     {"now", phrase, "password", "abcabcabcabc"},
	} {
		if a := b.form(c, "/account/password", row...); a.StatusCode != http.StatusUnprocessableEntity || len(find(a.node(t), "", "role", "alert")) != 1 {
			t.Errorf("%s: %s", name, a.Status)
		}
	}
	b.set(b.now().Add(time.Hour)) // past the wait that the wrong ones earned
	if a := b.form(c, "/account/password", "now", phrase, "password", another); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "The password is set") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if !b.signedIn(c) || b.signedIn(elsewhere) {
		t.Error("elsewhere one is still signed in, or here no more")
	}
	if b.signIn(b.newClient(), "ada@example.org", phrase).StatusCode == http.StatusOK {
		t.Error("the old password is still good")
	}
	if b.signIn(b.newClient(), "ada@example.org", another).StatusCode != http.StatusOK {
		t.Error("the new password is not good")
	}
}

func TestSecretLinkCanBeRenewedAndSwitchedOff(t *testing.T) {
	b := newBed(t)
	b.server.passwords = newPasswords(quick)
	b.open()
	old := b.key
	if a := b.form(b.client, "/account/key", "do", "off"); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "set a password first") {
		t.Errorf("the only way in was closed: %s", a.Status)
	}
	a := b.form(b.client, "/account/key", "do", "renew")
	links := find(a.node(t), "input", "class", "link")
	if len(links) != 1 {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if b.get("/enter/"+old).StatusCode != http.StatusNotFound || !b.signedIn(b.client) {
		t.Error("the old link still opens the page, or one is out oneself")
	}
	b.key = strings.TrimPrefix(attr(links[0], "value"), "http://trees.example/enter/")
	b.open()

	if a := b.form(b.client, "/account/password", "mail", "ada@example.org", "password", phrase); !strings.Contains(a.text, "The password is set") {
		t.Fatalf("a first password: %s\n%s", a.Status, a.text)
	}
	if a := b.form(b.client, "/account/key", "do", "off"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("without the password: %s", a.Status)
	}
	if a := b.form(b.client, "/account/key", "do", "off", "now", phrase); !strings.Contains(a.text, "The secret link is off") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if b.get("/enter/"+b.key).StatusCode != http.StatusNotFound {
		t.Error("the link still opens the page")
	}
}

// TestNothingTypedIsLost when the sign-in has ended meanwhile.
func TestNothingTypedIsLost(t *testing.T) {
	b := accountBed(t)
	c := b.newClient()
	a := b.form(c, "/trees/ridge-maple/log", "on", "2027-02-27", "what", "did:repot", "note", `"quoted" & <kept>`, "_csrf", "x")
	if a.StatusCode != http.StatusForbidden {
		t.Fatalf("%s", a.Status)
	}
	n := a.node(t)
	form := attr(find(n, "input", "name", "form")[0], "value")
	next := attr(find(n, "input", "name", "next")[0], "value")
	a = b.form(c, "/sign-in", "mail", "ada@example.org", "password", another, "form", form, "next", next)
	n = a.node(t)
	if attr(find(n, "input", "name", "form")[0], "value") != form || attr(find(n, "input", "name", "mail")[0], "value") != "ada@example.org" {
		t.Error("a slip at the password loses it")
	}
	a = b.form(c, "/sign-in", "mail", "ada@example.org", "password", phrase, "form", form, "next", next)
	if a.StatusCode != http.StatusOK {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	var fields []string
	again := find(a.node(t), "form", "", "")[0]
	for _, in := range find(again, "input", "", "") {
		fields = append(fields, attr(in, "name"), attr(in, "value"))
	}
	if trees, err := b.store.Trees(b.ctx(), "ada"); err != nil || len(trees[0].Log) != 0 {
		t.Errorf("it was logged before it was looked at: %v", err)
	}
	if a := b.form(c, attr(again, "action"), fields...); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "logged, and planned anew") {
		t.Errorf("sent again: %s\n%s", a.Status, a.text)
	}
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	if len(trees[0].Log) != 1 || trees[0].Log[0].Note != `"quoted" & <kept>` {
		t.Errorf("the log: %+v", trees[0].Log)
	}
}

func TestSignInGoesOnToWhereOneWanted(t *testing.T) {
	b := accountBed(t)
	c := b.newClient()
	page := b.send(c, http.MethodGet, "/trees/ridge-maple/log", nil)
	if next := attr(find(page.node(t), "input", "name", "next")[0], "value"); page.StatusCode != http.StatusForbidden || next != "/trees/ridge-maple/log" {
		t.Errorf("%s, next %q", page.Status, next)
	}
	for next, want := range map[string]string{
		"/trees/ridge-maple/log": "/trees/ridge-maple/log", "//evil.example/x": "/", "https://evil.example": "/", `/\evil.example`: "/",
		"javascript:alert(1)": "/", "": "/", "/a\nb": "/", "/ok?x=1": "/ok?x=1",
	} {
		if got := onward(next); got != want {
			t.Errorf("onward(%q) is %q, want %q", next, got, want)
		}
	}
	// What comes from another site is not offered to be sent.
	a := b.send(b.newClient(), http.MethodPost, "/trees/ridge-maple/log", url.Values{"note": {"evil"}}, "Sec-Fetch-Site", "cross-site")
	if strings.Contains(a.text, "evil") {
		t.Error("a form of another site is kept")
	}
}
