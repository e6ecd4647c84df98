package feeds

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"golang.org/x/net/html"

	"budswell/calendar"
)

// mostWeight is what a page with its style and scripts may weigh, compressed, in bytes.
const mostWeight = 100_000

// demoPages are the paths of all pages of the demo, for who is signed in.
func (b *bed) demoPages(links Links) []string {
	b.t.Helper()
	places, err := b.store.Places(b.ctx(), "demo")
	b.must(err)
	place := "/places/" + url.PathEscape(places[0].ID)
	return []string{
		"/", "/trees/ridge-maple/log", "/account", "/account/leave", "/nudges", "/sign-in", strings.TrimPrefix(links.Region, "http://trees.example"), "/nowhere",
		"/start/place", "/start/place?q=Springfield", "/start/place?q=50,8", place, place + "/weather", place + "/trees", place + "/sheet", place + "/readings",
		"/start/feed", "/trees/ridge-maple/edit", "/trees/ridge-maple", "/trees/twin-larch", "/hours", "/agenda", "/agenda?more=2027-04-17", "/shows",
		"/print/month", "/print/cards", "/trees/twin-larch/card",
	}
}

// TestPagesAreLight weighs each page of the demo with all that it loads, as it comes over the line.
func TestPagesAreLight(t *testing.T) {
	b, links := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.open()
	heaviest, most := "", 0
	for _, path := range b.demoPages(links) {
		weight, text := b.weigh(path)
		doc, err := html.Parse(strings.NewReader(text))
		b.must(err)
		loaded := map[string]bool{}
		for n := range doc.Descendants() {
			from := ""
			switch {
			case n.Type != html.ElementNode:
			case n.Data == "link" && attr(n, "rel") == "stylesheet":
				from = attr(n, "href")
			case n.Data == "script":
				from = attr(n, "src")
			}
			if from == "" || loaded[from] {
				continue
			}
			loaded[from] = true
			more, _ := b.weigh(from)
			weight += more
		}
		if len(loaded) == 0 {
			t.Errorf("%s loads no style", path)
		}
		if weight >= mostWeight {
			t.Errorf("%s weighs %d bytes with what it loads, want less than %d", path, weight, mostWeight)
		}
		if weight > most {
			heaviest, most = path, weight
		}
	}
	t.Logf("the heaviest is %s, %d bytes", heaviest, most)
}

// weigh fetches a path with compression, and returns what came over the line and its text.
func (b *bed) weigh(path string) (int, string) {
	b.t.Helper()
	a := b.send(b.client, http.MethodGet, path, nil, "Accept-Encoding", "gzip")
	if a.Header.Get("Content-Encoding") != "gzip" {
		return len(a.text), a.text
	}
	return len(a.text), b.unpack(a)
}

func (b *bed) unpack(a answered) string {
	b.t.Helper()
	z, err := gzip.NewReader(bytes.NewReader([]byte(a.text)))
	b.must(err)
	plain, err := io.ReadAll(z)
	b.must(err)
	return string(plain)
}

// TestWhatIsCompressed holds that no page is compressed that can show what a stranger chose; see mayPack.
func TestWhatIsCompressed(t *testing.T) {
	b := newBed(t)
	b.open()
	style, _ := b.server.pages.Style()
	sheets, _ := b.server.pages.Sheets()
	b.newClub("ridge", calendar.Plain)
	for path, want := range map[string]string{
		"/": "gzip", "/trees/ridge-maple": "gzip", "/print/month": "gzip", style: "gzip", sheets: "gzip",
		"/print/month?month=2027-03": "gzip", "/print/month?month=2027-03&place=north": "gzip", "/agenda?more=2027-04-17": "gzip",
		"/start/place?q=Springfield": "", "/start/place?": "", "/?x": "", "/?more=2027-04-17&x=csrf": "", "/agenda?more=csrf": "", "/agenda?more=2027-04-17csrf": "",
		"/print/month?place=csrf": "", "/print/month?month=1999-01": "", "/sign-in?next=/csrf": "", "/nowhere": "", "/trees/nobody": "",
		"/clubs": "gzip", "/clubs/ridge": "", "/clubs/ridge/pool": "", // others choose words there
	} {
		a := b.send(b.client, http.MethodGet, path, nil, "Accept-Encoding", "gzip")
		if got := a.Header.Get("Content-Encoding"); got != want {
			t.Errorf("%s comes %q, want %q", path, got, want)
		}
		if !strings.Contains(strings.Join(a.Header.Values("Vary"), ","), "Accept-Encoding") {
			t.Errorf("%s: caches are not told that it varies: %v", path, a.Header.Values("Vary"))
		}
		if want == "" {
			continue
		}
		plain := b.send(b.client, http.MethodGet, path, nil)
		if plain.Header.Get("Content-Encoding") != "" || plain.text != b.unpack(a) {
			t.Errorf("%s: plain and unpacked differ", path)
		}
		if head := b.send(b.client, http.MethodHead, path, nil, "Accept-Encoding", "gzip"); head.StatusCode != http.StatusOK || head.text != "" {
			t.Errorf("%s: HEAD gives %s with %d bytes", path, head.Status, len(head.text))
		}
	}
	// A form that was not taken comes back with what was typed.
	home := b.send(b.client, http.MethodGet, "/", nil)
	form := url.Values{"_csrf": {attr(find(home.node(t), "input", "name", "_csrf")[0], "value")}, "monday": {"nonsense"}}
	a := b.send(b.client, http.MethodPost, "/hours", form, "Accept-Encoding", "gzip")
	if a.StatusCode != http.StatusUnprocessableEntity || a.Header.Get("Content-Encoding") != "" {
		t.Errorf("a refused form: %s, %q", a.Status, a.Header.Get("Content-Encoding"))
	}
}

// shifts counts how far what is shown is moved about while a page loads, as browsers reckon it.
const shifts = `let shifted = 0; new PerformanceObserver(l => { for (const e of l.getEntries()) shifted += e.value; window.shifted = shifted; }).observe({type: "layout-shift", buffered: true}); window.shifted = 0;`

// TestNothingShifts opens each page of the demo at the width of a phone, scrolls it to its end, and counts how far it
// moved of itself.
func TestNothingShifts(t *testing.T) {
	tab := browser(t)
	b, links := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	ctx, done := context.WithTimeout(tab, 2*time.Minute)
	defer done()
	err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740), chromedp.Navigate(b.http.URL+"/enter/"+b.key), chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		_, err := cdp.Call(ctx, tg, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: shifts})
		return err
	}))
	if err != nil {
		t.Fatal(err)
	}
	const settled = `(async () => {
		const frame = () => new Promise(done => requestAnimationFrame(() => setTimeout(done)));
		await frame(); scrollTo(0, document.body.scrollHeight); await frame(); await frame();
		return window.shifted;
	})()`
	seen := false
	for _, path := range b.demoPages(links) {
		if err := chromedp.Do(ctx, chromedp.Navigate(b.http.URL+path)); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		moved, err := chromedp.Run(ctx, chromedp.Evaluate[float64](settled, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		if moved != 0 {
			t.Errorf("%s shifts by %v", path, moved)
		}
		// Without a page that shifts, a counter that counts nothing would do.
		if path != "/" {
			continue
		}
		const push = `(async () => { const b = document.createElement("div"); b.textContent = "in between"; document.querySelector("main").prepend(b); b.before(document.createElement("br"), document.createElement("br"));
			const frame = () => new Promise(done => requestAnimationFrame(() => setTimeout(done))); scrollTo(0, 0); await frame(); await frame(); return window.shifted; })()`
		moved, err = chromedp.Run(ctx, chromedp.Evaluate[float64](push, chromedp.EvalAwaitPromise))
		seen = err == nil && moved > 0
	}
	if !seen {
		t.Error("a shift that the test made was not counted")
	}
}
