package feeds

import (
	"bytes"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/feeds/webspace"
	"budswell/feeds/wording"
)

// address is the path at which the service answers with what a file holds.
func address(f webspace.File) string { return "/" + strings.TrimSuffix(f.Path, "/index.html") }

// TestStillIsWhatIsServed compares each file with the service's answer, byte for byte, and
// follows each link of each page to a file.
func TestStillIsWhatIsServed(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	files, err := b.server.Still(b.ctx(), wording.English)
	b.must(err)
	there := map[string]bool{}
	for _, f := range files {
		there[address(f)] = true
		a := b.get(address(f))
		if a.StatusCode != http.StatusOK || a.text != string(f.Bytes) {
			t.Errorf("%s: %s, %d bytes served, %d written", f.Path, a.Status, len(a.text), len(f.Bytes))
		}
	}
	for _, want := range []string{"/r/quernthal", "/r/quernthal/print", "/r/quernthal/embed", "/r/quernthal/upper-alp", "/r/quernthal/calendar.ics", "/r/quernthal/valley-floor.ics", "/r/quernthal/for/deciduous.ics", "/r/quernthal/for/fagus-sylvatica.ics"} {
		if !there[want] {
			t.Errorf("%s is not among the files", want)
		}
	}
	links := 0
	for _, f := range files {
		if !strings.HasSuffix(f.Path, ".html") {
			continue
		}
		page, err := html.Parse(bytes.NewReader(f.Bytes))
		b.must(err)
		for _, at := range []string{"href", "src", "value"} {
			for n := range page.Descendants() {
				v := attr(n, at)
				to, own := strings.CutPrefix(strings.Replace(v, "webcal:", "http:", 1), "http://trees.example")
				if n.Type != html.ElementNode || !own && !strings.HasPrefix(v, "/") {
					continue
				}
				links++
				if to, _, _ = strings.Cut(to, "#"); !there[to] {
					t.Errorf("%s: %s=%q leads to no file", f.Path, at, v)
				}
			}
		}
	}
	if links < 30 {
		t.Errorf("only %d links were followed", links)
	}
	if _, err := b.server.Still(b.ctx(), wording.English, "nosuch"); err == nil {
		t.Error("a region that is not there was written")
	}
}

// TestStillUnderAPath: where the folder is reached by a path, links begin with it.
func TestStillUnderAPath(t *testing.T) {
	b := newBed(t, func(c *Config) { c.Base = "https://club.example/trees/" })
	b.must(b.store.PutRegion(b.ctx(), valley))
	files, err := b.server.Still(b.ctx(), wording.English, "valley")
	b.must(err)
	for _, f := range files {
		if f.Path == "r/valley/index.html" {
			for _, want := range []string{`href="/trees/static/`, `href="/trees/r/valley/print"`, "https://club.example/trees/r/valley/calendar.ics"} {
				if !strings.Contains(string(f.Bytes), want) {
					t.Errorf("the page lacks %s", want)
				}
			}
		}
	}
}

// TestStillRemembers: a set of files has its own sequence numbers, which rise only when
// what people see moves, and leaves the service's alone.
func TestStillRemembers(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	memory, err := store.Open(b.ctx(), "sqlite:"+filepath.Join(t.TempDir(), "memory.db"))
	b.must(err)
	t.Cleanup(func() { _ = memory.Close() })
	served := b.get("/r/valley/calendar.ics").text
	feed := func() string {
		t.Helper()
		cfg := b.server.cfg
		cfg.Base, cfg.Store = "https://club.example", Remembering{Store: b.store, Memory: memory, ByContent: true}
		s, err := New(cfg)
		b.must(err)
		s.planner = b.server.planner
		files, err := s.Still(b.ctx(), wording.English)
		b.must(err)
		for _, f := range files {
			if f.Path == "r/valley/calendar.ics" {
				return string(f.Bytes)
			}
		}
		t.Fatal("no feed")
		return ""
	}
	first := feed()
	b.set(b.now().Add(2 * time.Hour))
	if feed() != first {
		t.Error("a second run on the same day wrote another feed")
	}
	r := valley
	r.Name, r.Groups = "Renamed", []string{"deciduous"}
	b.must(b.store.PutRegion(b.ctx(), r))
	changed := feed()
	if !strings.Contains(changed, "NAME:Renamed") || !strings.Contains(changed, "STATUS:CANCELLED") || !strings.Contains(changed, "SEQUENCE:1") {
		t.Errorf("a group that is shown no more:\n%s", changed)
	}
	b.must(b.store.PutRegion(b.ctx(), valley))
	if again := b.get("/r/valley/calendar.ics").text; strings.Contains(again, "SEQUENCE:1") || len(again) != len(served) {
		t.Errorf("the service's own feed counts what the files showed:\n%s", again)
	}
}

// TestStillFeedsOfAGrower: chosen feeds, under names that cannot be guessed.
func TestStillFeedsOfAGrower(t *testing.T) {
	b := newBed(t)
	secret := b.addFeed("ada", "one", calendar.Filter{})
	b.addFeed("ada", "two", calendar.Filter{})
	files, links, err := b.server.StillFeeds(b.ctx(), "https://club.example/", "ada", []string{"feed one"})
	b.must(err)
	if len(files) != 3 || len(links) != 2 || links[0] != "https://club.example/"+files[0].Path {
		t.Fatalf("%d files, links %v", len(files), links)
	}
	if served := b.get("/f/" + secret + ".ics").text; served != string(files[0].Bytes) {
		t.Error("the feed is not what is served")
	}
	if served := b.get("/f/" + secret + "/tasks.ics").text; served != string(files[1].Bytes) {
		t.Error("the tasks are not what is served")
	}
	for _, f := range files {
		if strings.Contains(f.Path, secret) || strings.Contains(f.Path, HashSecret(secret)[:16]) || strings.Contains(f.Path, "ada") || strings.Contains(f.Path, "one") {
			t.Errorf("%s tells", f.Path)
		}
	}
	b.must(b.store.RevokeFeed(b.ctx(), "ada", "one", b.now()))
	for _, c := range [][2]string{{"ada", "feed one"}, {"ada", "nosuch"}, {"eve", "feed two"}} {
		if _, _, err := b.server.StillFeeds(b.ctx(), "https://club.example/", c[0], []string{c[1]}); err == nil {
			t.Errorf("%v: written", c)
		}
	}
}
