package feeds

import (
	"context"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"budswell/calendar"
	"budswell/climate"
)

// watched notes, before anything of a page runs, what moves about on it and what goes wrong or is
// forbidden.
const watched = `window.moved = []; window.wrong = [];
	new PerformanceObserver(l => l.getEntries().forEach(e => moved.push(e.value + " " + e.sources.map(s => s.node && s.node.nodeName).join()))).observe({type: "layout-shift", buffered: true});
	document.addEventListener("securitypolicyviolation", e => wrong.push(e.violatedDirective + " " + e.blockedURI + " " + e.sample));
	window.addEventListener("error", e => wrong.push(e.message), true); window.addEventListener("unhandledrejection", e => wrong.push(String(e.reason)));
	for (const k of ["error", "warn"]) console[k] = (...a) => wrong.push(k + " " + a.join(" "));`

// settled waits until two frames were drawn.
const settled = `new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))`

// weight is what the page and all it loaded took on the wire, bytes, with headers.
const weight = `performance.getEntriesByType("navigation").concat(performance.getEntriesByType("resource")).reduce((n, e) => n + e.transferSize, 0)`

// lightest is how heavy a page with charts may be, bytes.
const lightest = 100 << 10

// call sends a command to the browser's tab.
func call[P, R any](t *testing.T, ctx context.Context, c cdp.Command[P, R], params P) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, tab *chromedp.Target) error {
		_, err := cdp.Call(ctx, tab, c, params)
		return err
	})); err != nil {
		t.Fatal(err)
	}
}

// ask evaluates an expression in the page.
func ask[T any](t *testing.T, ctx context.Context, expression string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// TestSeasonInABrowser looks at the charts of the demo's season: that they are drawn from the tables within what the
// policy of the page allows, move nothing when they come, and weigh little; and at the page without scripts.
func TestSeasonInABrowser(t *testing.T) {
	tab := browser(t)
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	places, err := b.store.Places(b.ctx(), g.ID)
	b.must(err)
	// The demo's record goes on to the end of the year; here a weather forecast does, for some days.
	places[0].Weather.Record = places[0].Weather.Record.Until(climate.NewDate(2027, time.April, 12))
	b.must(b.store.PutPlace(b.ctx(), places[0]))
	ahead := climate.Series{Source: "invented forecast", Kind: climate.Foretold}
	for k, tmin := range []float64{1.5, -1, -2.5, 0.5, 3, 4, 2, 1} {
		ahead.Readings = append(ahead.Readings, climate.Reading{On: climate.NewDate(2027, time.April, 13+k), Tmin: tmin, Tmax: tmin + 9, Got: b.now()})
	}
	_, err = b.store.PutReadings(b.ctx(), g.ID, places[0].ID, ahead, false)
	b.must(err)
	season := b.http.URL + "/places/" + url.PathEscape(places[0].ID) + "/season"

	ctx, done := context.WithTimeout(tab, 2*time.Minute)
	defer done()
	call(t, ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watched})
	if err := chromedp.Do(ctx, chromedp.Navigate(b.http.URL+"/enter/"+b.key), chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	for _, screen := range []struct {
		name          string
		width, height int64
		scheme        string
	}{{"phone", 360, 740, "light"}, {"desk", 1280, 900, "light"}, {"phone-dark", 360, 740, "dark"}, {"desk-dark", 1280, 900, "dark"}} {
		call(t, ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: screen.scheme}}})
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(screen.width, screen.height), chromedp.Navigate(season)); err != nil {
			t.Fatal(err)
		}
		ask[bool](t, ctx, settled)
		if n := ask[int](t, ctx, weight); screen.name == "phone" && n > lightest {
			t.Errorf("the page weighs %d bytes with all it loads, want no more than %d", n, lightest)
		} else if screen.name == "phone" {
			t.Logf("measured: the page weighs %d bytes with all it loads", n)
		}
		boxes := ask[int](t, ctx, `document.querySelectorAll(".chart").length`)
		drawn := ask[int](t, ctx, `[...document.querySelectorAll(".chart > svg.plot")].filter(s => s.querySelectorAll("path, line, circle").length > 10 && s.clientHeight > 100).length`)
		if boxes < 6 || drawn != boxes {
			t.Errorf("%s: %d of %d charts are drawn", screen.name, drawn, boxes)
		}
		if moved := ask[[]string](t, ctx, `moved`); len(moved) > 0 {
			t.Errorf("%s: moved by %q", screen.name, moved)
		}
		if wrong := ask[[]string](t, ctx, `wrong`); len(wrong) > 0 {
			t.Errorf("%s: %q", screen.name, wrong)
		}
		if ask[int](t, ctx, `[...document.querySelectorAll(".numbers")].filter(d => d.open || d.querySelector("table").checkVisibility({contentVisibilityAuto: true})).length`) > 0 {
			t.Errorf("%s: tables are not folded", screen.name)
		}
		keep(t, ctx, "season-"+screen.name)
		for k, anchor := range []string{"temperature", "frost", "warmth", "chill", "trees"} {
			ask[bool](t, ctx, `(document.getElementById("`+anchor+`").scrollIntoView(), true)`)
			keep(t, ctx, "season-"+screen.name+"-"+string(rune('1'+k))+anchor)
		}
		ask[bool](t, ctx, `(document.querySelector("#tree-twin-larch").scrollIntoView(), true)`)
		keep(t, ctx, "season-"+screen.name+"-6larch")
		if wide := ask[[]string](t, ctx, sticksOut); len(wide) > 0 {
			t.Errorf("%s: sticks out: %q", screen.name, wide)
		}
	}
	// A wider screen has wider charts, of the same height.
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(500, 740)); err != nil {
		t.Fatal(err)
	}
	ask[bool](t, ctx, settled)
	if ask[int](t, ctx, `[...document.querySelectorAll(".chart")].filter(c => c.firstElementChild.clientWidth !== c.clientWidth).length`) > 0 {
		t.Error("charts are not as wide as their boxes after the screen was made narrower")
	}

	// On paper the charts stand, and the tables do not.
	call(t, ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(700, 990)); err != nil {
		t.Fatal(err)
	}
	ask[bool](t, ctx, settled)
	ask[bool](t, ctx, `(document.getElementById("temperature").scrollIntoView(), true)`)
	keep(t, ctx, "season-print")
	if got := ask[[]int](t, ctx, `[".chart > svg.plot", ".numbers table"].map(s => [...document.querySelectorAll(s)].filter(e => e.checkVisibility() && e.getBoundingClientRect().height > 50).length)`); got[0] < 6 || got[1] > 0 {
		t.Errorf("in print %d charts and %d tables are shown", got[0], got[1])
	}
	call(t, ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})

	call(t, ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740), chromedp.Navigate(season)); err != nil {
		t.Fatal(err)
	}
	keep(t, ctx, "season-without-scripts")
	hidden := ask[[]string](t, ctx, `[...document.querySelectorAll(".numbers table")].filter(t => !t.checkVisibility() || t.clientHeight < 20).map(t => t.dataset.table)`)
	if shown := ask[int](t, ctx, `document.querySelectorAll(".numbers table").length`); len(hidden) > 0 || shown < 8 {
		t.Errorf("without scripts %q of %d tables are hidden", strings.Join(hidden, " "), shown)
	}
}

// TestSeasonChartsAroundTheWorld draws seasons in which something is wanting, or that begin in July, or end.
func TestSeasonChartsAroundTheWorld(t *testing.T) {
	tab := browser(t)
	b, _ := newDemo(t, time.Date(2027, time.November, 28, 7, 0, 0, 0, time.UTC))
	hot, south := climate.Normals{}, climate.Normals{}
	for m := range 12 {
		hot.Tmin[m], hot.Tmax[m] = 23, 31
		south.Tmin[m], south.Tmax[m] = float64(max(m-5, 6-m))*2, float64(max(m-5, 6-m))*2+11
	}
	for _, p := range []calendar.Place{
		{ID: "island", Site: climate.Site{Name: "island bench", Lat: 1.3, Lon: 103.8, Elevation: 15, Zone: "Asia/Singapore"}, Weather: climate.Weather{Normals: &hot}},
		{ID: "range", Site: climate.Site{Name: "range bench", Lat: -35.3, Lon: 149.1, Elevation: 580, Zone: "Australia/Sydney"}, Weather: climate.Weather{Normals: &south}},
	} {
		p.Grower = "demo"
		b.must(b.store.PutPlace(b.ctx(), p))
	}
	b.must(b.store.PutTree(b.ctx(), calendar.Kept{Tree: calendar.Tree{ID: "hill-maple", Name: "hill maple", Species: "Acer campestre", Origin: calendar.Collected}, Grower: "demo", Place: "range"}))
	ctx, done := context.WithTimeout(tab, 2*time.Minute)
	defer done()
	call(t, ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watched})
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 2600), chromedp.Navigate(b.http.URL+"/enter/"+b.key)); err != nil {
		t.Fatal(err)
	}
	for id, least := range map[string]int{"demo": 6, "island": 3, "range": 6} {
		if err := chromedp.Do(ctx, chromedp.Navigate(b.http.URL+"/places/"+id+"/season")); err != nil {
			t.Fatal(err)
		}
		ask[bool](t, ctx, settled)
		keep(t, ctx, "season-"+id)
		got := ask[[]int](t, ctx, `[document.querySelectorAll(".chart").length, document.querySelectorAll(".chart > svg.plot").length]`)
		if got[0] < least || got[1] != got[0] {
			t.Errorf("%s: %d of %d charts are drawn", id, got[1], got[0])
		}
		// What came from the browser's cache counts as well.
		if n := ask[int](t, ctx, strings.ReplaceAll(weight, "transferSize", "encodedBodySize")); n > lightest {
			t.Errorf("%s weighs %d bytes with all it loads, want no more than %d", id, n, lightest)
		} else {
			t.Logf("measured: %s weighs %d bytes in November", id, n)
		}
		if wrong := ask[[]string](t, ctx, `wrong.concat(moved)`); len(wrong) > 0 {
			t.Errorf("%s: %q", id, wrong)
		}
		if wide := ask[[]string](t, ctx, sticksOut); len(wide) > 0 {
			t.Errorf("%s: sticks out: %q", id, wide)
		}
	}
}
