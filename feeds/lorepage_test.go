package feeds

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
)

var loreDay = time.Date(2027, time.February, 12, 7, 0, 0, 0, time.UTC)

// TestLoreIsReadByAll: what the rules say needs no sign-in, is found by work, group and any
// name of a species, and no page of it is heavy.
func TestLoreIsReadByAll(t *testing.T) {
	b, _ := newDemo(t, loreDay)
	l := b.server.cfg.Lore
	index := b.get("/lore")
	n := index.node(t)
	if index.StatusCode != http.StatusOK || len(find(n, "form", "role", "search")) != 1 || len(find(n, "a", "href", "/lore?work=repot")) != 1 {
		t.Fatalf("%s\n%s", index.Status, index.text)
	}
	if len(find(n, "a", "href", "/lore/own")) != 0 || !strings.Contains(index.text, "Sign in") {
		t.Error("a stranger is offered rules of their own")
	}
	for q, want := range map[string]string{
		"q=field+maple": "/lore/species/acer-campestre", "q=CAMPESTRE": "/lore/species/acer-campestre", "q=Acer+polymorphum": "/lore/species/acer-palmatum",
		"work=repot": "/lore/rules/repot-deciduous", "group=deciduous": "/lore/rules/repot-deciduous", "q=repot": "/lore/rules/repot-deciduous",
	} {
		if got := b.get("/lore?" + q); len(find(got.node(t), "a", "href", want)) == 0 {
			t.Errorf("%s does not find %s", q, want)
		}
	}
	if got := b.get("/lore?q=" + url.QueryEscape("<b>xyzzy")); !strings.Contains(text(got.node(t)), "Nothing here is called so") || strings.Contains(got.text, "<b>xyzzy") {
		t.Error("a name that nothing has")
	}
	heaviest := 0
	look := func(path string) string {
		t.Helper()
		a := b.get(path, "Accept-Encoding", "gzip")
		if a.StatusCode != http.StatusOK || a.Header.Get("Content-Encoding") != "gzip" || a.Header.Get("Cache-Control") != "no-store" {
			t.Fatalf("%s: %s %v", path, a.Status, a.Header)
		}
		heaviest = max(heaviest, len(a.text))
		z, err := gzip.NewReader(strings.NewReader(a.text))
		b.must(err)
		plain, err := io.ReadAll(z)
		b.must(err)
		if bytes.Contains(plain, []byte("_csrf")) {
			t.Errorf("%s holds a secret and is compressed", path)
		}
		return string(plain)
	}
	slugs := map[string]bool{}
	for i := range l.Species {
		slug := calendar.Slug(l.Species[i].Name)
		if slugs[slug] {
			t.Errorf("two species at %s", slug)
		}
		slugs[slug] = true
		if page := look("/lore/species/" + slug); i%20 == 0 && (strings.Count(page, "Source:") < 3 || !strings.Contains(page, "<dt>Repotted</dt>")) {
			t.Errorf("%s: %s", slug, page)
		}
	}
	for i := range l.Rules {
		if page := look("/lore/rules/" + l.Rules[i].ID); i%20 == 0 && !strings.Contains(page, "Where it is from") {
			t.Errorf("%s: %s", l.Rules[i].ID, page)
		}
	}
	for _, w := range l.Works {
		look("/lore?work=" + w.ID)
	}
	look("/lore?group=deciduous")
	look("/lore?q=a")
	t.Logf("measured: the heaviest of %d pages has %d bytes compressed", len(l.Species)+len(l.Rules)+len(l.Works)+2, heaviest)
	if heaviest > 100<<10 {
		t.Errorf("a page has %d bytes", heaviest)
	}
	for _, path := range []string{"/lore/rules/nothing", "/lore/species/nothing", "/lore/rules/%00", "/lore/species/"} {
		if a := b.get(path); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", path, a.Status)
		}
	}
	unknown := text(b.get("/lore/species/acer-japonicum").node(t))
	if !strings.Contains(unknown, "Not known: potted roots are taken to be killed below −3 °C") {
		t.Error(unknown)
	}
}
