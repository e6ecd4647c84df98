package feeds

import (
	"context"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"budswell/calendar"
)

// broken runs the rules of WCAG 2.2 A and AA, and of good practice, on the page that is open, and names what
// breaks them. What is folded is opened first.
const broken = `(async () => {
	document.querySelectorAll("details").forEach(d => d.open = true);
	const r = await axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]});
	return r.violations.flatMap(v => v.nodes.map(n => v.id + ": " + n.target.join(" ") + ": " + n.failureSummary.replace(/\s+/g, " ")));
})()`

// TestPagesAreAccessible looks at every page with axe-core, of which BUDSWELL_AXE names the file
// axe.min.js.
func TestPagesAreAccessible(t *testing.T) {
	file := os.Getenv("BUDSWELL_AXE")
	if file == "" {
		t.Skip("skipped: no axe-core; name its axe.min.js in BUDSWELL_AXE")
	}
	axe, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	tab := browser(t)
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.server.cfg.Services, b.server.cfg.ReadStation = []string{"open-meteo"}, demo.Read
	b.open()
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	places, err := b.store.Places(b.ctx(), g.ID)
	b.must(err)
	b.clubToLookAt(g.ID)
	place := "/places/" + url.PathEscape(places[0].ID)
	own := valley
	own.Club, own.Bands = "ridge", slices.Clone(own.Bands)
	own.Bands[0].Lent = &calendar.Lent{Grower: g.ID, Place: places[0].ID}
	b.must(b.store.PutRegion(b.ctx(), own))
	b.server.cfg.Credit = func(w calendar.WeatherSource) (string, string) {
		return "Weather by " + w.Kind, "https://terms.example/"
	}
	b.must(b.store.PutWeatherSources(b.ctx(), g.ID, places[0].ID, []calendar.WeatherSource{{Kind: calendar.SourceOpenMeteo}}))
	pages := []string{
		"/enter/" + b.key, "/", "/trees/ridge-maple/log", "/account", "/account/leave", "/nudges", "/sign-in", "/nowhere",
		"/r/quernthal", "/r/quernthal/upper-alp", "/r/quernthal/print", "/r/quernthal/embed", "/r/valley", "/r/valley/print", "/r/valley/embed",
		"/clubs/ridge/regions", "/clubs/ridge/regions/new", "/clubs/ridge/regions/valley", "/clubs/ridge/regions/valley/bands/floor", "/clubs/ridge/regions/valley/bands/new",
		"/start/place", "/start/place?q=Springfield", "/start/place?q=50,8", "/start/place?q=30,-40", "/start/place?q=nowhereatall", place, place + "/weather", place + "/trees", place + "/sheet",
		"/start/feed", "/trees/ridge-maple/edit", "/trees/ridge-maple", "/trees/twin-larch", "/hours", "/agenda", "/agenda?more=2027-04-17", "/shows", place + "/readings", "/trees", "/trees?find=larch", "/years", "/calendars", "/places", "/messages", place + "/season", place + "/season?from=13", "/print/month", "/print/cards",
		"/lore", "/lore?q=maple", "/lore?group=deciduous", "/lore/rules/repot-deciduous", "/lore/species/acer-campestre", ownDesk, ownDesk + "/rules/repot-deciduous/edit", ownDesk + "/rules/repot-deciduous/text", ownDesk + "/species/acer-campestre/edit", ownDesk + "/add?what=rule",
		"/clubs", "/clubs/ridge", "/clubs/ridge/lore", "/clubs/ridge/members", "/clubs/ridge/pool", b.invitation("ridge"), b.invitation("vale") + "?new=yes",
	}
	ctx, done := context.WithTimeout(tab, 8*time.Minute)
	defer done()
	look := func(name string) {
		t.Helper()
		if err := chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](string(axe)+";1")); err != nil {
			t.Fatal(err)
		}
		faults, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](broken, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, f := range faults {
			t.Errorf("%s: %s", name, f)
		}
		wide, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](sticksOut))
		if err != nil || len(wide) > 0 {
			t.Errorf("%s sticks out: %v %v", name, wide, err)
		}
		keep(t, ctx, "page-"+strings.NewReplacer("/", "_", "?", "_").Replace(name))
	}
	for _, scheme := range []string{"light", "dark"} {
		if err := chromedp.Do(ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
				Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
			})
			return err
		})); err != nil {
			t.Fatal(err)
		}
		for _, path := range pages {
			if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 1800), chromedp.Navigate(b.http.URL+path)); err != nil {
				t.Fatalf("%s: %v", path, err)
			}
			look(scheme + path)
		}
	}
	for _, path := range []string{place + "/trees", place + "/sheet", "/trees/ridge-maple/edit"} {
		submit := `const f = document.querySelector("main form[method=post]"); f.querySelectorAll("input[type=text], textarea").forEach(i => i.value = i.value ? "x,y" : ""); f.submit()`
		if err := chromedp.Do(ctx, chromedp.Navigate(b.http.URL+path), chromedp.Evaluate[chromedp.Void](submit), chromedp.WaitVisible(chromedp.CSS("main .fault"))); err != nil {
			t.Fatalf("faults of %s: %v", path, err)
		}
		look("faults" + path)
	}
}
