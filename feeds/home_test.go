package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics/icstest"
)

func TestSecretLinkOpensThePage(t *testing.T) {
	b := newBed(t)
	if a := b.get("/"); a.StatusCode != http.StatusOK || strings.Contains(a.text, "ridge maple") {
		t.Errorf("without a sign-in: %s\n%s", a.Status, a.text)
	}
	c := *b.client
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	a := b.send(&c, http.MethodGet, "/enter/"+b.key, nil)
	if a.StatusCode != http.StatusSeeOther || a.Header.Get("Location") != "/" {
		t.Fatalf("enter: %s to %q", a.Status, a.Header.Get("Location"))
	}
	var session *http.Cookie
	for _, k := range a.Cookies() {
		if k.Name == "session" {
			session = k
		}
	}
	if session == nil || !session.HttpOnly || session.SameSite != http.SameSiteLaxMode || session.Secure {
		t.Errorf("session cookie: %+v", session)
	}
	page := b.send(b.client, http.MethodGet, "/", nil)
	if page.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("Cache-Control of a person's page: %q", page.Header.Get("Cache-Control"))
	}
	for path, want := range map[string]int{"/": 2, "/trees": 2} {
		n := b.shown(path).node(t)
		if got := len(find(n, "h3", "", "")); got != want {
			t.Errorf("%s: %d works or trees, want %d", path, got, want)
		}
		if got := len(find(n, "h1", "", "")); got != 1 {
			t.Errorf("%s: %d h1", path, got)
		}
	}
	if b.post("/leave", url.Values{}).StatusCode != http.StatusOK {
		t.Error("cannot sign out")
	}
	if a := b.send(b.client, http.MethodGet, "/", nil); strings.Contains(a.text, "ridge maple") {
		t.Error("the page is still open after signing out")
	}
}

func TestSecureCookiesBehindHTTPS(t *testing.T) {
	b := newBed(t, func(c *Config) { c.Base = "https://trees.example" })
	c := *b.client
	c.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	a := b.send(&c, http.MethodGet, "/enter/"+b.key, nil)
	if len(a.Cookies()) != 2 {
		t.Fatalf("cookies: %v, want session and csrf", a.Cookies())
	}
	for _, k := range a.Cookies() {
		if !k.Secure || !k.HttpOnly {
			t.Errorf("cookie %s: secure %v, HttpOnly %v", k.Name, k.Secure, k.HttpOnly)
		}
	}
}

func TestPageSaysHowSureEveryDateIs(t *testing.T) {
	b := newBed(t)
	b.open()
	page := b.shown("/trees/ridge-maple")
	n := page.node(t)
	works := find(n, "li", "class", "work")
	if len(works) != 2 { // repot and, blocked, cut back; wiring is months away
		t.Fatalf("%d works, want 2", len(works))
	}
	for _, w := range works {
		s := text(w)
		for _, want := range []string{"%)", "Opens", "Closes", "41 of 60 units of warmth"} {
			if !strings.Contains(s, want) {
				t.Errorf("a work lacks %q: %s", want, s)
			}
		}
		if hasWord(attr(w, "class"), "waits") {
			continue
		}
		if bars := find(w, "svg", "class", "bar"); len(bars) != 1 || attr(bars[0], "role") != "img" || !strings.Contains(attr(bars[0], "aria-label"), "2027") {
			t.Error("a work lacks its picture, or the picture its words")
		}
	}
	tree := find(n, "main", "", "")[0]
	for _, want := range []string{"Acer campestre", "Stage: Building", "repot at bud swell.", "Opens in about 8 days", "Caution. Sharp tools.", "roots rest"} {
		if s := text(tree); !strings.Contains(s, want) {
			t.Errorf("the maple lacks %q: %s", want, s)
		}
	}
	if blocked := find(tree, "li", "class", "waits"); len(blocked) != 1 || !strings.Contains(text(blocked[0]), "Not now") {
		t.Errorf("%d works wait, want the cut back", len(blocked))
	}
	if s := text(find(n, "p", "class", "basis")[0]); !strings.Contains(s, "frost dates as typed") || !strings.Contains(s, "No weather is measured") {
		t.Errorf("what dates rest on: %s", s)
	}
	for _, path := range []string{"/", "/trees", "/trees/old-pine", "/calendars"} {
		if a := b.shown(path).text; strings.Contains(a, "old pine <b>") || !strings.Contains(a, "old pine &lt;b&gt;") {
			t.Errorf("%s: a tree's name is not escaped", path)
		}
	}
}

func TestPagesNeedNoScriptAndNoInlineStyle(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	for name, a := range map[string]answered{"home": b.open(), "trees": b.shown("/trees"), "tree": b.shown("/trees/ridge-maple"), "years": b.shown("/years"), "calendars": b.shown("/calendars"), "places": b.shown("/places"), "messages": b.shown("/messages"), "log": b.send(b.client, http.MethodGet, "/trees/ridge-maple/log", nil), "region": b.get("/r/valley"), "front": b.get("/"), "error": b.get("/nowhere"), "sign-in": b.get("/sign-in"), "account": b.send(b.client, http.MethodGet, "/account", nil), "leaving": b.send(b.client, http.MethodGet, "/account/leave", nil)} {
		csp := a.Header.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") {
			t.Errorf("%s: policy %q", name, csp)
		}
		if a.Header.Get("X-Frame-Options") != "DENY" {
			t.Errorf("%s: may be framed", name)
		}
		n := a.node(t)
		for d := range n.Descendants() {
			if d.Data == "script" || d.Data == "style" || attr(d, "style") != "" {
				t.Errorf("%s: <%s> holds script or style", name, d.Data)
			}
			for _, at := range d.Attr {
				if strings.HasPrefix(at.Key, "on") || strings.Contains(at.Val, "ZgotmplZ") {
					t.Errorf("%s: <%s %s=%q>", name, d.Data, at.Key, at.Val)
				}
			}
		}
		ids := map[string]bool{}
		for d := range n.Descendants() {
			if id := attr(d, "id"); id != "" && ids[id] {
				t.Errorf("%s: id %s twice", name, id)
			} else {
				ids[id] = true
			}
		}
		css := attr(find(n, "link", "rel", "stylesheet")[0], "href")
		if s := b.get(css); s.StatusCode != http.StatusOK || !strings.Contains(s.Header.Get("Cache-Control"), "immutable") {
			t.Errorf("%s: style sheet %s: %s", name, css, s.Status)
		}
	}
}

func TestNewFeedShowsItsLinkOnce(t *testing.T) {
	b := newBed(t)
	b.open()
	a := b.post("/feeds", url.Values{"name": {"Repots, mine"}, "work": {"repot"}, "tree": {"ridge-maple"}})
	if a.StatusCode != http.StatusOK {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	n := a.node(t)
	links := find(n, "input", "class", "link")
	if len(links) != 3 {
		t.Fatalf("%d links shown, want https:, webcal: and that of tasks:\n%s", len(links), a.text)
	}
	web, cal := attr(links[0], "value"), attr(links[1], "value")
	if !strings.HasPrefix(web, "http://trees.example/f/") || cal != "webcal"+strings.TrimPrefix(web, "http") {
		t.Errorf("links %s and %s", web, cal)
	}
	if tasks := b.get(strings.TrimPrefix(attr(links[2], "value"), "http://trees.example")); strings.Count(tasks.text, "BEGIN:VTODO") != 1 {
		t.Errorf("the tasks: %s\n%s", tasks.Status, tasks.text)
	}
	if buttons := find(n, "a", "href", cal); len(buttons) != 1 {
		t.Errorf("no button opens %s", cal)
	}
	feed := b.get(strings.TrimPrefix(web, "http://trees.example"))
	if feed.StatusCode != http.StatusOK || strings.Count(feed.text, "BEGIN:VEVENT") != 1 || !strings.Contains(feed.text, `NAME:Repots\, mine`) {
		t.Errorf("the feed: %s\n%s", feed.Status, feed.text)
	}
	again := b.shown("/calendars")
	if strings.Contains(again.text, web) {
		t.Error("the link is shown a second time")
	}
	if !strings.Contains(text(find(again.node(t), "ul", "class", "feeds")[0]), "only ridge maple, repot") {
		t.Error("the list does not say what the feed shows")
	}
	action := attr(find(find(again.node(t), "ul", "class", "feeds")[0], "form", "", "")[0], "action")
	if a := b.post(action, url.Values{}); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "withdrawn") {
		t.Errorf("withdraw: %s", a.Status)
	}
	if a := b.get(strings.TrimPrefix(web, "http://trees.example")); a.StatusCode != http.StatusOK || strings.Contains(a.text, "Repot:") || !strings.Contains(a.text, "was withdrawn") {
		t.Errorf("a withdrawn feed: %s\n%s", a.Status, a.text)
	}
	icstest.Check(t, map[string][]byte{"made": []byte(feed.text)})
}

func TestNewFeedRefused(t *testing.T) {
	b := newBed(t)
	b.open()
	for name, form := range map[string]url.Values{
		"no name":       {"name": {"  "}, "work": {"repot"}},
		"long name":     {"name": {strings.Repeat("ä", 101)}},
		"unknown tree":  {"name": {"x"}, "tree": {"nobody's"}},
		"unknown class": {"name": {"x"}, "class": {"magic"}},
		"unknown group": {"name": {"x"}, "group": {"ferns"}},
		"unknown work":  {"name": {"x"}, "work": {"sing"}},
	} {
		a := b.post("/feeds", form)
		if a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %s", name, a.Status)
		}
		if name == "no name" {
			if box := find(a.node(t), "input", "value", "repot"); len(box) == 0 || !hasAttr(box[0].Attr, "checked") {
				t.Error("what was picked is lost")
			}
		}
	}
	feeds, err := b.store.Feeds(b.ctx(), "ada")
	b.must(err)
	if len(feeds) != 0 {
		t.Errorf("%d feeds were made", len(feeds))
	}
}

func TestFormsFromElsewhereAreRefused(t *testing.T) {
	b := newBed(t)
	b.open()
	form := url.Values{"name": {"stolen"}}
	for name, headers := range map[string][]string{
		"no token":       nil,
		"from elsewhere": {"Sec-Fetch-Site", "cross-site"},
	} {
		if a := b.send(b.client, http.MethodPost, "/feeds", form, headers...); a.StatusCode < 400 || a.StatusCode >= 500 {
			t.Errorf("%s: %s", name, a.Status)
		}
	}
	stranger := b.newClient()
	page := b.send(stranger, http.MethodGet, "/", nil)
	_ = page
	if a := b.send(stranger, http.MethodPost, "/feeds", form, "Sec-Fetch-Site", "same-origin"); a.StatusCode != http.StatusForbidden {
		t.Errorf("without a sign-in: %s", a.Status)
	}
	if a := b.send(b.client, http.MethodPost, "/feeds", url.Values{"name": {strings.Repeat("a", 1<<17)}}, "Sec-Fetch-Site", "same-origin"); a.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("a form of 128 KB: %s", a.Status)
	}
	feeds, err := b.store.Feeds(b.ctx(), "ada")
	b.must(err)
	if len(feeds) != 0 {
		t.Errorf("%d feeds were made", len(feeds))
	}
}

func TestRequestIDIsCapped(t *testing.T) {
	b := newBed(t)
	for id, kept := range map[string]bool{"abc-123": true, strings.Repeat("a", 65): false, "a b": false, "<script>": false} {
		if got := b.get("/healthz", "X-Request-Id", id).Header.Get("X-Request-Id"); (got == id) != kept || got == "" {
			t.Errorf("id %q came back as %q", id, got)
		}
	}
}

func TestNudgesAreShown(t *testing.T) {
	b := newBed(t)
	_, err := b.store.Decide(b.ctx(), []calendar.Nudge{{ID: "n1", Grower: "ada", Kind: "bud-swell", Title: "Buds are swelling", Body: "Look at the maple.", Subjects: []string{"s"}, Decided: b.now()}})
	b.must(err)
	b.open()
	n := b.shown("/messages").node(t)
	if s := text(find(n, "ul", "class", "nudges")[0]); !strings.Contains(s, "Buds are swelling") || !strings.Contains(s, "no way to send it is set up") || !strings.Contains(s, "Look at the maple.") {
		t.Errorf("messages: %s", s)
	}
}

// A message that is of no use any more does not wait.
func TestExpiredNudgeIsNotSaidToWait(t *testing.T) {
	b := newBed(t)
	_, err := b.store.Decide(b.ctx(), []calendar.Nudge{{
		ID: "n1", Grower: "ada", Kind: "frost-near", Title: "Frost near", Body: "Cover it.", Subjects: []string{"s"}, Decided: b.now(), Expires: b.now().Add(time.Hour),
		Deliveries: []calendar.Delivery{{ID: "d", Channel: calendar.ByMail, To: "ada@example.org"}},
	}})
	b.must(err)
	b.open()
	says := func() string { return text(find(b.shown("/messages").node(t), "ul", "class", "nudges")[0]) }
	if s := says(); !strings.Contains(s, "waiting to go to ada@example.org") {
		t.Errorf("while it is of use: %s", s)
	}
	b.set(b.now().Add(time.Hour))
	if s := says(); !strings.Contains(s, "not sent to ada@example.org: of no use any more") || strings.Contains(s, "waiting") {
		t.Errorf("afterwards: %s", s)
	}
}

func TestEmptyStatesSayWhatToDo(t *testing.T) {
	b := newBed(t)
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: "new", Name: "New", KeyHash: hash}))
	b.key = secret
	if a := b.open(); a.Request.URL.Path != "/start/place" {
		t.Errorf("a grower without a place lands at %s", a.Request.URL)
	}
	b.must(b.store.PutPlace(b.ctx(), calendar.Place{ID: "x", Grower: "new", Site: climate.Site{Name: "x", Lat: 50, Lon: 8, Zone: "Europe/Berlin"}, Weather: climate.Weather{Frost: &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}}}))
	b.open()
	for path, leads := range map[string][]string{
		"/": {"/places/x/trees"}, "/trees": {"/places/x/trees"}, "/years": {"/places"}, "/messages": {""}, "/calendars": {"/start/feed", ""},
	} {
		empty := find(b.shown(path).node(t), "p", "class", "empty")
		if len(empty) != len(leads) {
			t.Errorf("%s: %d empty states, want %d", path, len(empty), len(leads))
			continue
		}
		for i, to := range leads {
			if links := find(empty[i], "a", "", ""); to != "" && (len(links) != 1 || attr(links[0], "href") != to) {
				t.Errorf("%s: empty state %d leads to %v, want %s", path, i, links, to)
			}
		}
	}
}
