package feeds

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// swells returns the forecast of bud swell of a tree, and the opening of its repot.
func (b *bed) swells(grower, tree string) (swell, repot climate.Spread) {
	b.t.Helper()
	g, err := b.server.newest(b.ctx(), grower)
	b.must(err)
	t, _, _ := g.tree(tree)
	swell, _ = g.seen(t).Season.Phases[phenology.BudSwell].Dates.Spread()
	for i := range t.Works {
		if w := &t.Works[i]; w.Work.ID == "repot" && !w.Done.Valid() {
			return swell, w.Window.Opens
		}
	}
	return swell, repot
}

// button returns the value of the button of a page that logs a sign of a tree.
func button(n *html.Node, name, value string) bool {
	return slices.ContainsFunc(find(n, "button", "name", name), func(b *html.Node) bool { return attr(b, "value") == value && attr(b, "form") == "looks" })
}

// A sign that is seen is logged in two taps from each page that asks for it, moves what
// is forecast, says so, and is taken back in one more.
func TestASightingInTwoTaps(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	const tree, sign = "mill-hornbeam", "bud-swell mill-hornbeam"
	b.open()
	before, repot := b.swells("demo", tree)
	log := len(b.logIn("demo", tree))
	for _, from := range []string{"/", "/trees?find=horn", "/trees/" + tree} {
		if page := b.shown(from).node(t); !button(page, "saw", sign) || !button(page, "not-yet", sign) {
			t.Fatalf("%s does not ask for the sign", from)
		}
		a := b.post("/look", url.Values{"saw": {sign}, "from": {from}})
		if a.StatusCode != http.StatusOK || a.Request.URL.RequestURI() != from {
			t.Fatalf("%s: %s at %s", from, a.Status, a.Request.URL)
		}
		if now := b.logIn("demo", tree); len(now) != log+1 || now[len(now)-1].Saw != "bud-swell" || now[len(now)-1].On != date(2027, 4, 12) {
			t.Fatalf("%s: logged %+v", from, now[log:])
		}
		after, open := b.swells("demo", tree)
		if after == before || after.P10 != after.P90 || after.P50 != date(2027, 4, 12) {
			t.Errorf("bud swell was forecast on %v, and is %v when seen today", before, after)
		}
		if repot.P50.Valid() && open == repot {
			t.Errorf("the repot stays at %v", repot)
		}
		changed := find(a.node(t), "section", "class", "changed")
		if len(changed) != 1 {
			t.Fatalf("%s does not say what changed:\n%s", from, a.text)
		}
		says := text(changed[0])
		for _, want := range []string{"mill hornbeam: logged, and planned anew", "saw bud swell", "as likely as not", "in 8 of 10 cases within"} {
			if !strings.Contains(says, want) {
				t.Errorf("%s: %q lacks %q", from, says, want)
			}
		}
		if moves := find(changed[0], "ins", "", ""); len(moves) == 0 {
			t.Errorf("%s: nothing moved: %s", from, says)
		}
		if again := b.shown(from).node(t); len(find(again, "section", "class", "changed")) != 0 || button(again, "saw", sign) {
			t.Errorf("%s tells it twice, or asks again", from)
		}
		form := url.Values{}
		for _, in := range find(changed[0], "input", "", "") {
			form.Set(attr(in, "name"), attr(in, "value"))
		}
		back := b.post(attr(find(changed[0], "form", "", "")[0], "action"), form)
		if back.StatusCode != http.StatusOK || back.Request.URL.RequestURI() != from || !strings.Contains(back.text, "taken back") {
			t.Fatalf("%s: taking back: %s at %s", from, back.Status, back.Request.URL)
		}
		if now, _ := b.swells("demo", tree); now != before || len(b.logIn("demo", tree)) != log {
			t.Errorf("taken back, bud swell is forecast on %v, not %v", now, before)
		}
	}
	// Looked at and not there yet, it comes later than it might have.
	a := b.post("/look", url.Values{"not-yet": {sign}, "from": {"/"}})
	if now := b.logIn("demo", tree); a.StatusCode != http.StatusOK || len(now) != log+1 || now[log].NotYet != "bud-swell" {
		t.Fatalf("%s: logged %+v", a.Status, now[log:])
	}
	if after, _ := b.swells("demo", tree); after.P10 <= date(2027, 4, 12) || after.P50 < before.P50 {
		t.Errorf("bud swell was forecast on %v, and on %v when not seen yet today", before, after)
	}
}

// logIn returns the log of a tree of a grower.
func (b *bed) logIn(grower, tree string) []calendar.Entry {
	b.t.Helper()
	trees, err := b.store.Trees(b.ctx(), grower)
	b.must(err)
	i := slices.IndexFunc(trees, func(t calendar.Kept) bool { return t.ID == tree })
	return slices.Clone(trees[i].Log)
}

func TestSightingsRefused(t *testing.T) {
	b := newBed(t)
	b.open()
	b.grower("bea", "south") // with trees of the same ids, of her own
	b.must(b.store.PutTree(b.ctx(), calendar.Kept{Tree: calendar.Tree{ID: "hers", Name: "hers", Species: "field maple", Origin: calendar.Collected}, Grower: "bea", Place: "south"}))
	for name, row := range map[string]struct {
		form   url.Values
		status int
	}{
		"nothing":        {url.Values{}, http.StatusNotFound},
		"no tree":        {url.Values{"saw": {"bud-swell nobody's"}}, http.StatusNotFound},
		"another's tree": {url.Values{"saw": {"bud-swell hers"}}, http.StatusNotFound},
		"no sign":        {url.Values{"saw": {" ridge-maple"}}, http.StatusUnprocessableEntity},
		"not its sign":   {url.Values{"not-yet": {"candles-extending ridge-maple"}}, http.StatusUnprocessableEntity},
	} {
		if a := b.post("/look", row.form); a.StatusCode != row.status {
			t.Errorf("%s: %s", name, a.Status)
		}
	}
	seen := url.Values{"saw": {"bud-swell ridge-maple"}, "from": {"//evil.example/"}}
	for name, headers := range map[string][]string{"no token": nil, "from elsewhere": {"Sec-Fetch-Site", "cross-site"}} {
		if a := b.send(b.client, http.MethodPost, "/look", seen, headers...); a.StatusCode != http.StatusBadRequest && a.StatusCode != http.StatusForbidden {
			t.Errorf("%s: %s", name, a.Status)
		}
	}
	if a := b.send(b.newClient(), http.MethodPost, "/look", seen, "Sec-Fetch-Site", "same-origin"); a.StatusCode != http.StatusForbidden {
		t.Errorf("without a sign-in: %s", a.Status)
	}
	if log := b.logIn("ada", "ridge-maple"); len(log) != 0 {
		t.Fatalf("logged %+v", log)
	}
	if a := b.post("/look", seen); a.Request.URL.Path != "/" || a.Request.URL.Host != strings.TrimPrefix(b.http.URL, "http://") || len(b.logIn("ada", "ridge-maple")) != 1 {
		t.Errorf("led on to %s", a.Request.URL)
	}
	// What cannot be planned anew is logged all the same.
	b.fail.Store(true)
	if a := b.post("/look", url.Values{"not-yet": {"leaf-out ridge-maple"}}); !strings.Contains(a.text, "A new plan could not be made") || len(b.logIn("ada", "ridge-maple")) != 2 {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
}

func TestHomeIsSentPacked(t *testing.T) {
	b := newBed(t)
	plain := b.open()
	a := b.send(b.client, http.MethodGet, "/", nil, "Accept-Encoding", "gzip")
	r, err := gzip.NewReader(strings.NewReader(a.text))
	b.must(err)
	text, err := io.ReadAll(r)
	b.must(err)
	if a.Header.Get("Content-Encoding") != "gzip" || a.Header.Get("Vary") == "" || a.Header.Get("Cache-Control") != "no-store" || string(text) != plain.text {
		t.Errorf("headers %v, %d and %d bytes", a.Header, len(text), len(plain.text))
	}
}
