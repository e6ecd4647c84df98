package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// nudged is a service whose grower got a mail, with its links by what they do.
func nudged(t *testing.T) (b *bed, links map[string]string) {
	t.Helper()
	b = newBed(t)
	b.set(time.Date(2027, time.March, 20, 6, 0, 0, 0, time.UTC))
	g, err := b.store.Grower(b.ctx(), "ada")
	b.must(err)
	g.Email = "ada@example.org"
	b.must(b.store.PutGrower(b.ctx(), g))
	p := calendar.DefaultPreferences()
	p.Off = []string{"week-ahead"}
	b.must(b.store.PutPreferences(b.ctx(), "ada", p))
	b.must(b.server.Morning(b.ctx(), "ada", nil, b.now()))
	c, err := b.store.Claim(b.ctx(), calendar.ByMail, b.now(), time.Hour)
	b.must(err)
	links = map[string]string{}
	for _, l := range c.Links {
		if HashSecret(l.Secret) != l.Hash {
			t.Errorf("link %+v: the hash is not that of its secret", l)
		}
		links[l.Does] = "/act/" + l.Secret
	}
	if links["did:repot"] == "" || links[calendar.StopMail] == "" || c.Kind != "window-opens" {
		t.Fatalf("claimed %+v", c)
	}
	return b, links
}

// actLink makes a link that logs something on trees, and returns its secret.
func (b *bed) actLink(grower, does string, trees ...string) string {
	b.t.Helper()
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	_, err = b.store.Decide(b.ctx(), []calendar.Nudge{{
		ID: "nudge of " + hash, Grower: grower, Kind: "window-opens", Subjects: []string{hash}, Decided: b.now(),
		Links: []calendar.Link{{Hash: hash, Does: does, Label: "Done: Repot", Trees: trees, Expires: b.now().Add(time.Hour)}},
	}})
	b.must(err)
	return secret
}

func (b *bed) logOf(tree string) []calendar.Entry {
	b.t.Helper()
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	for _, k := range trees {
		if k.ID == tree {
			return k.Log
		}
	}
	b.t.Fatalf("no tree %q", tree)
	return nil
}

// follow sends a request as somebody who is not signed in.
func (b *bed) follow(method, path string, form url.Values) answered {
	return b.send(b.newClient(), method, path, form)
}

func TestLinkActsOnPostOnly(t *testing.T) {
	b, links := nudged(t)
	path := links["did:repot"]
	for _, method := range []string{http.MethodGet, http.MethodHead, http.MethodGet} { // as a scanner does
		a := b.follow(method, path, nil)
		if a.StatusCode != http.StatusOK || a.Header.Get("Cache-Control") != "no-store" || a.Header.Get("Referrer-Policy") != "no-referrer" || len(a.Cookies()) != 0 {
			t.Fatalf("%s: %s %v", method, a.Status, a.Header)
		}
	}
	if a := b.follow(http.MethodGet, path+"/back", nil); a.StatusCode != http.StatusMethodNotAllowed {
		t.Errorf("GET of back: %s", a.Status)
	}
	if len(b.logOf("ridge-maple")) != 0 || len(b.logOf("old-pine")) != 0 {
		t.Fatal("a GET logged something")
	}
	page := b.follow(http.MethodGet, path, nil).node(t)
	if boxes := find(page, "input", "name", "tree"); len(boxes) != 2 || !hasAttr(boxes[0].Attr, "checked") {
		t.Errorf("%d trees to pick", len(boxes))
	}

	// One tree, then the other, each once.
	one := b.follow(http.MethodPost, path, url.Values{"form": {"1"}, "tree": {"ridge-maple"}, "on": {"2027-03-18"}})
	if one.StatusCode != http.StatusOK || !strings.Contains(one.text, "ridge maple: Done: Repot, on Thu 18 Mar 2027") {
		t.Fatalf("%s\n%s", one.Status, one.text)
	}
	if log := b.logOf("ridge-maple"); len(log) != 1 || log[0].Did != "repot" || log[0].On != climate.NewDate(2027, time.March, 18) {
		t.Errorf("the log is %+v", log)
	}
	if again := b.follow(http.MethodPost, path, url.Values{"form": {"1"}, "tree": {"ridge-maple"}, "on": {"2027-03-19"}}); again.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a second time: %s", again.Status)
	}
	// A program that sends no form means all that are left, today.
	if a := b.follow(http.MethodPost, path, nil); a.StatusCode != http.StatusOK {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if log := b.logOf("old-pine"); len(log) != 1 || log[0].On != climate.NewDate(2027, time.March, 20) || len(b.logOf("ridge-maple")) != 1 {
		t.Errorf("the log is %+v", log)
	}
	if a := b.follow(http.MethodPost, path, nil); a.StatusCode != http.StatusConflict {
		t.Errorf("when all is logged: %s", a.Status)
	}
	// It is planned anew: the work is done.
	if done := b.treeSays("ridge-maple"); !strings.Contains(done, "Done on 18 March 2027") {
		t.Errorf("the page does not show it done: %s", done)
	}

	// And taken back: by POST, without a trace in the plan, kept in the log's memory.
	if a := b.follow(http.MethodPost, path+"/back", nil); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "Taken back") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if len(b.logOf("ridge-maple")) != 0 || len(b.logOf("old-pine")) != 0 {
		t.Error("it is still logged")
	}
	if done := b.treeSays("ridge-maple"); strings.Contains(done, "Done on 18 March 2027") {
		t.Error("the page still shows it done")
	}
	if a := b.follow(http.MethodPost, path, nil); a.StatusCode != http.StatusConflict {
		t.Errorf("used again after it was taken back: %s", a.Status)
	}
	if s := b.log.String(); strings.Contains(s, strings.TrimPrefix(path, "/act/")) {
		t.Error("the secret of a link is in the log of requests")
	}
}

func TestLinkRefuses(t *testing.T) {
	b, links := nudged(t)
	path := links["did:repot"]
	for name, row := range map[string]struct {
		form  url.Values
		words string
	}{
		"tomorrow":     {url.Values{"form": {"1"}, "tree": {"ridge-maple"}, "on": {"2027-03-21"}}, "not be after today"},
		"no day":       {url.Values{"form": {"1"}, "tree": {"ridge-maple"}, "on": {"soon"}}, "YYYY-MM-DD"},
		"no tree":      {url.Values{"form": {"1"}, "on": {"2027-03-19"}}, "pick a tree"},
		"another tree": {url.Values{"form": {"1"}, "tree": {"somebody's"}, "on": {"2027-03-19"}}, "pick a tree"},
	} {
		a := b.follow(http.MethodPost, path, row.form)
		if alerts := find(a.node(t), "", "role", "alert"); a.StatusCode != http.StatusUnprocessableEntity || len(alerts) != 1 || !strings.Contains(text(alerts[0]), row.words) {
			t.Errorf("%s: %s; want an alert with %q in\n%s", name, a.Status, row.words, a.text)
		}
	}
	if len(b.logOf("ridge-maple")) != 0 {
		t.Error("something was logged")
	}
	for _, path := range []string{"/act/short", "/act/" + strings.Repeat("a", 32), "/act/" + strings.ToUpper(strings.TrimPrefix(path, "/act/"))} {
		for _, method := range []string{http.MethodGet, http.MethodPost} {
			if a := b.follow(method, path, nil); a.StatusCode != http.StatusNotFound {
				t.Errorf("%s %s: %s", method, path, a.Status)
			}
		}
	}
	b.set(b.now().Add(21 * 24 * time.Hour))
	for _, method := range []string{http.MethodGet, http.MethodPost} {
		if a := b.follow(method, path, nil); a.StatusCode != http.StatusGone || !strings.Contains(a.text, "expired") {
			t.Errorf("%s three weeks later: %s", method, a.Status)
		}
	}
	if a := b.follow(http.MethodPost, path+"/back", nil); a.StatusCode != http.StatusGone {
		t.Errorf("back three weeks later: %s", a.Status)
	}
}

// A contradiction with the log is refused for all trees or none.
func TestLinkDoesNotContradictTheLog(t *testing.T) {
	b := newBed(t)
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 2, 1), Saw: "leaf-out"}))
	secret := b.actLink("ada", "saw:bud-swell", "old-pine", "gone", "ridge-maple")
	a := b.follow(http.MethodPost, "/act/"+secret, nil)
	if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "leaf-out") || len(b.logOf("old-pine")) != 0 || len(b.logOf("ridge-maple")) != 1 {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if a := b.follow(http.MethodPost, "/act/"+secret, url.Values{"tree": {"old-pine"}}); a.StatusCode != http.StatusOK || len(b.logOf("old-pine")) != 1 {
		t.Errorf("the other tree alone: %s\n%s", a.Status, a.text)
	}
}

// RFC 8058: the mail program posts, without cookies; to open the link only asks.
func TestStopMail(t *testing.T) {
	b, links := nudged(t)
	path := links[calendar.StopMail]
	wants := func() bool {
		p, err := b.store.Preferences(b.ctx(), "ada")
		b.must(err)
		return p.Mail
	}
	if a := b.follow(http.MethodGet, path, nil); a.StatusCode != http.StatusOK || len(find(a.node(t), "form", "action", path)) != 1 || !wants() {
		t.Fatalf("to open it: %s\n%s", a.Status, a.text)
	}
	for range 2 {
		a := b.follow(http.MethodPost, path, url.Values{"List-Unsubscribe": {"One-Click"}})
		if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "no more mail") || wants() {
			t.Fatalf("one click: %s\n%s", a.Status, a.text)
		}
	}
	p, err := b.store.Preferences(b.ctx(), "ada")
	b.must(err)
	if len(p.Off) != 1 {
		t.Errorf("other preferences changed: %+v", p)
	}
}
