package feeds

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// TestPagesInABrowser looks at the demo's pages at the width of a phone and of a
// desk: nothing may be wider than the screen. Screenshots are kept in the folder
// that BUDSWELL_ARTIFACTS names.
func TestPagesInABrowser(t *testing.T) {
	tab := browser(t)
	b, links := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	here := func(link string) string { return b.http.URL + strings.TrimPrefix(link, "http://trees.example") }

	act := "http://trees.example/act/" + b.actLink("demo", "did:repot", "ridge-maple", "twin-larch")

	ctx, done := context.WithTimeout(tab, 90*time.Second)
	defer done()

	for _, screen := range []struct {
		name          string
		width, height int64
	}{{"phone", 360, 740}, {"desk", 1280, 900}} {
		for _, page := range []struct{ name, link string }{
			{"home", links.Page},
			{"log", "http://trees.example/trees/ridge-maple/log"},
			{"region", links.Region},
			{"region-band", links.Region + "/upper-alp"},
			{"region-year", links.Region + "/print"},
			{"region-frame", links.Region + "/embed"},
			{"nowhere", "http://trees.example/nowhere"},
			{"sign-in", "http://trees.example/sign-in"},
			{"account", "http://trees.example/account"},
			{"leaving", "http://trees.example/account/leave"},
			{"nudges", "http://trees.example/nudges"},
			{"act", act},
			{"tree", "http://trees.example/trees/twin-larch"},
			{"tree-maple", "http://trees.example/trees/ridge-maple"},
			{"hours", "http://trees.example/hours"},
			{"agenda", "http://trees.example/agenda"},
			{"more", "http://trees.example/agenda?more=2027-04-17"},
			{"shows", "http://trees.example/shows"},
			{"trees", "http://trees.example/trees"},
			{"years", "http://trees.example/years"},
			{"calendars", "http://trees.example/calendars"},
			{"places", "http://trees.example/places"},
			{"messages", "http://trees.example/messages"},
			{"clubs", "http://trees.example/clubs"},
			{"club", "http://trees.example/clubs/quernthal-tree-circle"},
			{"club-members", "http://trees.example/clubs/quernthal-tree-circle/members"},
			{"club-seen", "http://trees.example/clubs/quernthal-tree-circle/pool"},
			{"club-rules", "http://trees.example/clubs/quernthal-tree-circle/lore"},
			{"club-version", "http://trees.example/clubs/quernthal-tree-circle/lore/versions/1"},
			{"month", "http://trees.example/print/month"},
			{"cards", "http://trees.example/print/cards"},
		} {
			err := chromedp.Do(ctx, chromedp.EmulateViewport(screen.width, screen.height), chromedp.Navigate(here(page.link)))
			if err != nil {
				t.Fatalf("%s at %s: %v", page.name, screen.name, err)
			}
			keep(t, ctx, page.name+"-"+screen.name)
			wide, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](sticksOut))
			if err != nil {
				t.Fatalf("%s at %s: %v", page.name, screen.name, err)
			}
			styled, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`getComputedStyle(document.body).maxWidth != "none"`))
			if err != nil || !styled {
				t.Errorf("%s: the style sheet is not in use (%v)", page.name, err)
			}
			for _, w := range wide {
				t.Errorf("%s at %d wide: sticks out: %s", page.name, screen.width, w)
			}
		}
	}
}

// browser starts a browser and returns its tab, or skips the test.
func browser(t *testing.T) context.Context {
	t.Helper()
	program := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			program = p
			break
		}
	}
	if program == "" {
		t.Skip("skipped: no chromium; apt-get install chromium")
	}
	alloc, stop := chromedp.NewExecAllocator(t.Context(),
		chromedp.ExecPath(program), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	t.Cleanup(stop)
	tab, cancel := chromedp.NewContext(alloc)
	t.Cleanup(cancel)
	if err := chromedp.Do(tab, chromedp.Navigate("about:blank")); err != nil {
		t.Skipf("skipped: chromium does not start: %v", err)
	}
	return tab
}

// sticksOut opens all that can be opened and names what is wider than the screen.
const sticksOut = `document.querySelectorAll("details").forEach(d => d.open = true);
	[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth + 0.5 && !e.closest(".hide"))
		.map(e => e.tagName + "." + e.className + ": " + e.textContent.slice(0, 40))
		.concat(document.documentElement.scrollWidth > innerWidth ? ["page: " + document.documentElement.scrollWidth + " of " + innerWidth] : [])`

// keep writes a screenshot where they are wanted.
func keep(t *testing.T, tab context.Context, name string) {
	t.Helper()
	dir := os.Getenv("BUDSWELL_ARTIFACTS")
	if dir == "" {
		return
	}
	shot, err := chromedp.Run(tab, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), shot, 0o644); err != nil {
		t.Fatal(err)
	}
}
