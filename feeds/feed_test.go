package feeds

import (
	"compress/gzip"
	"errors"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/feeds/ics/icstest"
)

func TestFeedIsServed(t *testing.T) {
	b := newBed(t)
	token := b.addFeed("ada", "all", calendar.Filter{})
	bodies := map[string][]byte{}
	for _, path := range []string{"/f/" + token, "/f/" + token + ".ics"} {
		a := b.get(path)
		if a.StatusCode != http.StatusOK || a.Header.Get("Content-Type") != "text/calendar; charset=utf-8" {
			t.Fatalf("%s, %s\n%s", a.Status, a.Header.Get("Content-Type"), a.text)
		}
		for k, want := range map[string]string{
			"Cache-Control": "private, max-age=900", "Vary": "Accept-Encoding", "Last-Modified": "Mon, 01 Mar 2027 06:00:00 GMT",
			"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Content-Length": strconv.Itoa(len(a.text)), "Set-Cookie": "",
		} {
			if got := strings.Join(a.Header.Values(k), " | "); got != want {
				t.Errorf("%s: %q, want %q", k, got, want)
			}
		}
		if n := strings.Count(a.text, "BEGIN:VEVENT"); n != 4 { // repot and wire, two trees
			t.Errorf("%d events, want 4:\n%s", n, a.text)
		}
		bodies["all"] = []byte(a.text)
	}
	if n := b.plans.Load(); n != 1 {
		t.Errorf("planned %d times for two requests", n)
	}
	icstest.Check(t, bodies)
}

func TestFeedFilters(t *testing.T) {
	b := newBed(t)
	bodies := map[string][]byte{}
	for name, row := range map[string]struct {
		filter calendar.Filter
		events int
	}{
		"tree":    {calendar.Filter{Trees: []string{"ridge-maple"}}, 2},
		"group":   {calendar.Filter{Groups: []string{"single-flush-pine"}}, 2},
		"class":   {calendar.Filter{Classes: []string{"wire"}}, 2},
		"work":    {calendar.Filter{Works: []string{"repot"}}, 2},
		"several": {calendar.Filter{Works: []string{"repot"}, Trees: []string{"old-pine"}}, 1},
		"none":    {calendar.Filter{Works: []string{"repot"}, Classes: []string{"wire"}}, 0},
	} {
		a := b.get("/f/" + b.addFeed("ada", name, row.filter))
		if n := strings.Count(a.text, "BEGIN:VEVENT"); a.StatusCode != http.StatusOK || n != row.events {
			t.Errorf("%s: %s, %d events, want %d", name, a.Status, n, row.events)
		}
		bodies[name] = []byte(a.text)
	}
	icstest.Check(t, bodies)
}

func TestConditionalRequests(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	first := b.get(path)
	tag, packTag := first.Header.Get("ETag"), b.get(path, "Accept-Encoding", "gzip").Header.Get("ETag")
	if tag == "" || tag == packTag {
		t.Fatalf("tags %s and %s: want one for each form", tag, packTag)
	}
	for name, row := range map[string]struct {
		headers []string
		status  int
	}{
		"same tag":          {[]string{"If-None-Match", tag}, 304},
		"weak":              {[]string{"If-None-Match", "W/" + tag}, 304},
		"in a list":         {[]string{"If-None-Match", `"a", W/"b" ,` + tag}, 304},
		"any":               {[]string{"If-None-Match", "*"}, 304},
		"other form's":      {[]string{"If-None-Match", packTag}, 304},
		"packed":            {[]string{"If-None-Match", packTag, "Accept-Encoding", "gzip"}, 304},
		"other":             {[]string{"If-None-Match", `"a"`}, 200},
		"tag outranks date": {[]string{"If-None-Match", `"a"`, "If-Modified-Since", first.Header.Get("Last-Modified")}, 200},
		"same date":         {[]string{"If-Modified-Since", first.Header.Get("Last-Modified")}, 304},
		"later date":        {[]string{"If-Modified-Since", "Tue, 02 Mar 2027 06:00:00 GMT"}, 304},
		"earlier date":      {[]string{"If-Modified-Since", "Mon, 01 Mar 2027 05:59:59 GMT"}, 200},
		"date that is none": {[]string{"If-Modified-Since", "yesterday"}, 200},
	} {
		a := b.get(path, row.headers...)
		if a.StatusCode != row.status {
			t.Errorf("%s: %s, want %d", name, a.Status, row.status)
		}
		if a.Header.Get("ETag") == "" || a.Header.Get("Cache-Control") == "" || a.Header.Get("Vary") == "" {
			t.Errorf("%s: an answer of %d wants ETag, Cache-Control and Vary, has %v", name, a.StatusCode, a.Header)
		}
		if row.status == 304 && (a.text != "" || a.Header.Get("Content-Length") != "") {
			t.Errorf("%s: a 304 has a body", name)
		}
	}
}

func TestCompressedForm(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	plain := b.get(path).text
	for accept, packed := range map[string]bool{
		"gzip": true, "x-gzip": true, "*": true, "br, gzip;q=0.5": true, "GZIP": true, "gzip; q=0.8, identity; q=0.5": true,
		"": false, "gzip;q=0": false, "identity": false, "br": false, "*;q=0": false, "gzip;q=0, *": false, "gzip;q=0.2, identity;q=0.8": false, "gzip;q=x": false,
	} {
		a := b.get(path, "Accept-Encoding", accept)
		if got := a.Header.Get("Content-Encoding") == "gzip"; got != packed {
			t.Errorf("Accept-Encoding %q: packed is %v", accept, got)
		}
		if packed {
			z, err := gzip.NewReader(strings.NewReader(a.text))
			b.must(err)
			out, err := io.ReadAll(z)
			b.must(err)
			if string(out) != plain {
				t.Errorf("Accept-Encoding %q: the packed form says something else", accept)
			}
		}
	}
}

func TestHeadSaysWhatGetWould(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	for _, path := range []string{"/f/" + b.addFeed("ada", "all", calendar.Filter{}), "/r/valley", "/r/valley/calendar.ics", "/healthz"} {
		get, head := b.get(path), b.send(b.newClient(), http.MethodHead, path, nil)
		if head.StatusCode != http.StatusOK || head.text != "" {
			t.Errorf("HEAD %s: %s with %d octets", path, head.Status, len(head.text))
		}
		for _, k := range []string{"ETag", "Content-Type", "Last-Modified", "Cache-Control"} {
			if get.Header.Get(k) != head.Header.Get(k) {
				t.Errorf("HEAD %s: %s is %q, GET says %q", path, k, head.Header.Get(k), get.Header.Get(k))
			}
		}
	}
	if a := b.send(b.newClient(), http.MethodPost, "/f/"+strings.Repeat("a", 32), nil); a.StatusCode != http.StatusMethodNotAllowed || a.Header.Get("Allow") == "" {
		t.Errorf("POST to a feed: %s, Allow %q", a.Status, a.Header.Get("Allow"))
	}
}

func TestLinksThatLeadNowhere(t *testing.T) {
	b := newBed(t)
	token := b.addFeed("ada", "all", calendar.Filter{})
	withdrawn := b.addFeed("ada", "old", calendar.Filter{})
	b.must(b.store.RevokeFeed(b.ctx(), "ada", "old", b.now().AddDate(0, 0, -30)))
	for path, status := range map[string]int{
		"/f/" + strings.Repeat("a", 32):     404,
		"/f/" + strings.ToUpper(token):      404,
		"/f/" + token + ".ics.ics":          404,
		"/f/" + token + "/":                 404,
		"/f/" + token + "/x":                404,
		"/f/" + token[:31]:                  404,
		"/f/" + token + "%00":               404,
		"/f/..%2f..%2fetc":                  404,
		"/f/":                               404,
		"/f/" + withdrawn:                   410,
		"/f/" + withdrawn + ".ics":          410,
		"/f/" + withdrawn + "/tasks.ics":    410,
		"/enter/" + strings.Repeat("a", 32): 404,
		"/enter/" + token:                   404, // a feed's secret opens no page
		"/f/" + b.key:                       404, // and a page's no feed
		"/r/nowhere":                        404,
		"/r/nowhere/calendar.ics":           404,
		"/r/" + strings.Repeat("a", 70):     404,
	} {
		a := b.get(path)
		if a.StatusCode != status {
			t.Errorf("%s: %s, want %d", path, a.Status, status)
		}
		if a.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: a refusal may be kept: %q", path, a.Header.Get("Cache-Control"))
		}
	}
	for _, secret := range []string{token, withdrawn, b.key, strings.Repeat("a", 32)} {
		if strings.Contains(b.log.String(), secret) {
			t.Errorf("the log holds a secret:\n%s", b.log.String())
		}
	}
	if !strings.Contains(b.log.String(), "route=/f/:token") {
		t.Errorf("the log does not say which route was asked for:\n%s", b.log.String())
	}
}

func TestFeedMovesWithThePlanOnly(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	first := b.get(path)
	b.set(b.now().Add(24 * time.Hour))
	next := b.get(path)
	if b.plans.Load() != 2 {
		t.Errorf("planned %d times on two days", b.plans.Load())
	}
	if next.text != first.text || next.Header.Get("ETag") != first.Header.Get("ETag") || next.Header.Get("Last-Modified") != first.Header.Get("Last-Modified") {
		t.Error("the feed changed overnight, though the plan did not")
	}
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 3, 2), Saw: "bud-swell"}))
	b.set(b.now().Add(24 * time.Hour))
	moved := b.get(path)
	if moved.Header.Get("ETag") == first.Header.Get("ETag") || moved.Header.Get("Last-Modified") != "Wed, 03 Mar 2027 06:00:00 GMT" {
		t.Errorf("after a sighting: ETag %s, Last-Modified %s", moved.Header.Get("ETag"), moved.Header.Get("Last-Modified"))
	}
	events := func(text string) map[string]string {
		out := map[string]string{}
		for _, e := range strings.Split(text, "BEGIN:VEVENT")[1:] {
			uid := strings.SplitN(strings.SplitN(e, "UID:", 2)[1], "\r\n", 2)[0]
			out[uid] = e
		}
		return out
	}
	was, is := events(first.text), events(moved.text)
	changed := 0
	for uid, e := range is {
		if was[uid] == "" {
			t.Errorf("event %s is new; it should have moved in place", uid)
		}
		if e != was[uid] {
			changed++
			if !strings.Contains(e, "SEQUENCE:1\r\n") || !strings.Contains(e, "LAST-MODIFIED:20270303T060000Z") || !strings.Contains(e, "SUMMARY:Repot: ridge maple") {
				t.Errorf("changed event:\n%s", e)
			}
		}
	}
	if changed != 1 || len(was) != len(is) {
		t.Errorf("%d events changed of %d, then %d; want the maple's repot alone", changed, len(was), len(is))
	}
	icstest.Check(t, map[string][]byte{"moved": []byte(moved.text)})
}

func TestSameBytesAfterARestart(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	first := b.get(path)
	again, err := New(b.server.cfg)
	b.must(err)
	again.planner = b.server.planner
	b.http.Config.Handler = again.Handler()
	b.set(b.now().Add(time.Hour))
	if a := b.get(path); a.text != first.text || a.Header.Get("ETag") != first.Header.Get("ETag") {
		t.Error("a restart changed the feed")
	}
}

func TestLastGoodPlanIsServed(t *testing.T) {
	b := newBed(t)
	path := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	b.fail.Store(true)
	if a := b.get(path); a.StatusCode != http.StatusInternalServerError || strings.Contains(a.text, "EOF") {
		t.Errorf("without a plan: %s %q; want 500 and no inner words", a.Status, a.text)
	}
	b.fail.Store(false)
	first := b.get(path)
	b.fail.Store(true)
	b.set(b.now().Add(24 * time.Hour))
	a := b.get(path)
	note := "This is the plan of Mon 1 Mar 2027: no newer one could be made since."
	for _, property := range []string{"\r\nDESCRIPTION:", "\r\nX-WR-CALDESC:"} {
		if !strings.Contains(unfold(a.text), property+note) {
			t.Errorf("%s does not begin with %q:\n%s", property, note, a.text)
		}
	}
	if a.StatusCode != http.StatusOK || !slices.Equal(events(a.text), events(first.text)) {
		t.Errorf("when no new plan can be made: %s; want yesterday's feed", a.Status)
	}
	if !strings.Contains(b.log.String(), "no new plan") {
		t.Error("nothing was logged")
	}
}

func TestFeedsOfOthersAreTheirs(t *testing.T) {
	b := newBed(t)
	b.grower("bo", "south")
	ada, bo := b.get("/f/"+b.addFeed("ada", "all", calendar.Filter{})), b.get("/f/"+b.addFeed("bo", "all", calendar.Filter{}))
	uids := func(s string) (out []string) {
		for _, l := range strings.Split(s, "\r\n") {
			if strings.HasPrefix(l, "UID:") {
				out = append(out, l)
			}
		}
		return out
	}
	seen := map[string]bool{}
	for _, u := range append(uids(ada.text), uids(bo.text)...) {
		if seen[u] {
			t.Errorf("%s in two growers' feeds", u)
		}
		seen[u] = true
	}
}

func unfold(text string) string { return strings.ReplaceAll(text, "\r\n ", "") }

// events returns the events of a feed, each whole.
func events(text string) []string {
	return strings.Split(strings.TrimSuffix(text, "END:VCALENDAR\r\n"), "BEGIN:VEVENT")[1:]
}

// A name is one line that shows as it is written, in every reader and on the
// keeper's terminal.
func TestNamesThatMislead(t *testing.T) {
	b := newBed(t)
	b.open()
	for _, name := range []string{"a\r\nX-INJECTED:1", "a\u202eb", "a\x1b[31mb", "a\x00b"} {
		for path, field := range map[string]string{"/feeds": "name", "/programs": "program"} {
			b.postTo("/", path, url.Values{field: {name}})
		}
		if _, err := AddGrower(b.ctx(), b.server.cfg, "", name, ""); !errors.Is(err, calendar.ErrInvalid) {
			t.Errorf("a grower %q: %v", name, err)
		}
	}
	feeds, err := b.store.Feeds(b.ctx(), "ada")
	b.must(err)
	passwords, err := b.store.Passwords(b.ctx(), "ada")
	b.must(err)
	if len(feeds) != 0 || len(passwords) != 0 {
		t.Errorf("made feeds %+v, passwords %+v", feeds, passwords)
	}
}
