package feeds

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// everyTreeItsOwn gives each of the trees a log of its own, so that as few as possible
// share their days.
func everyTreeItsOwn(t testing.TB, b *bed) {
	t.Helper()
	trees, err := b.store.Trees(t.Context(), "demo")
	if err != nil {
		t.Fatal(err)
	}
	for i := range trees {
		e := calendar.Entry{On: date(2027, 2, 1), NotYet: "bud-swell", Note: fmt.Sprint(i)}
		if err := b.store.AddEntry(t.Context(), "demo", trees[i].ID, e); err != nil {
			t.Fatal(err)
		}
	}
}

// BenchmarkHome300 is the front page of a grower with 300 trees whose plan is ready:
// a request through the whole handler, with its session and token, to the last byte.
// "first" writes the page for the first time after a plan was made.
func BenchmarkHome300(b *testing.B) {
	bed, links := manyTrees(b)
	everyTreeItsOwn(b, bed)
	h := bed.server.Handler()
	get := func(path, cookie string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(http.MethodGet, path, nil)
		r.Header.Set("Cookie", cookie)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	w := get(strings.TrimPrefix(links.Page, "http://trees.example"), "")
	var cookies []string
	for _, c := range w.Result().Cookies() {
		cookies = append(cookies, c.Name+"="+c.Value)
	}
	cookie := strings.Join(cookies, "; ")
	show := func(b *testing.B) {
		if w := get("/", cookie); w.Code != http.StatusOK || w.Body.Len() < 10_000 {
			b.Fatalf("%d, %d bytes", w.Code, w.Body.Len())
		}
	}
	show(b)
	b.Run("ready", func(b *testing.B) {
		for b.Loop() {
			show(b)
		}
	})
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			g, err := bed.server.newest(b.Context(), "demo")
			if err != nil {
				b.Fatal(err)
			}
			g.now = drawn{}
			b.StartTimer()
			show(b)
		}
	})
}

// The front page of 300 trees stays small enough for a phone in a field. Without hours
// it holds the most.
func TestHomeOf300TreesIsSmall(t *testing.T) {
	b, _ := manyTrees(t)
	everyTreeItsOwn(t, b)
	if err := b.store.PutHours(t.Context(), "demo", nil); err != nil {
		t.Fatal(err)
	}
	g, err := b.server.newest(t.Context(), "demo")
	if err != nil {
		t.Fatal(err)
	}
	page, err := g.fortnight(b.server.pages, wording.English)
	if err != nil {
		t.Fatal(err)
	}
	var z bytes.Buffer
	w := gzip.NewWriter(&z)
	_, _ = w.Write([]byte(page))
	_ = w.Close()
	t.Logf("%d KB, compressed %d KB", len(page)>>10, z.Len()>>10)
	if len(page) > 600<<10 || z.Len() > 100<<10 {
		t.Errorf("the page has %d bytes, compressed %d; want at most 600 KB and 100 KB", len(page), z.Len())
	}
	if n := strings.Count(string(page), "/trees/"); n < 300 {
		t.Errorf("%d links to trees", n)
	}
}
