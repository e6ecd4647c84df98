package feeds

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"budswell/calendar"
)

// focused tells what has the focus: its words, whether a person can see it and that it
// is the one, and whether it comes after what had the focus before.
const focused = `(() => {
	const e = document.activeElement, s = getComputedStyle(e), r = e.getBoundingClientRect();
	const after = !window.lastFocus || !!(window.lastFocus.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_FOLLOWING);
	window.lastFocus = e;
	const faults = [];
	if (e === document.body) faults.push("nothing has the focus");
	else {
		if (s.outlineStyle === "none" || parseFloat(s.outlineWidth) < 2) faults.push("no outline");
		if (r.width < 1 || r.height < 1 || r.bottom < 1 || r.top > innerHeight - 1 || r.left < 0 || r.right > innerWidth + 1) faults.push("out of sight");
		if (!after) faults.push("out of order");
		if (e.tabIndex > 0) faults.push("has a place of its own in the order");
	}
	return [(e.labels && e.labels.length ? e.labels[0].textContent : e.textContent).trim().replace(/\s+/g, " "), faults.join(", ")];
})()`

// keys is a tab in which nothing is done but by its keyboard.
type keys struct {
	t   *testing.T
	ctx context.Context
}

func (k *keys) press(key string) {
	k.t.Helper()
	if err := chromedp.Do(k.ctx, chromedp.KeyEvent(key)); err != nil {
		k.t.Fatal(err)
	}
}

// to presses Tab until the focus is on what begins with some words, and looks at the
// focus all the way.
func (k *keys) to(words string) {
	k.t.Helper()
	var passed []string
	for range 250 {
		k.press(kb.Tab)
		at, err := chromedp.Run(k.ctx, chromedp.Evaluate[[]string](focused))
		if err != nil {
			k.t.Fatal(err)
		}
		if at[1] != "" {
			keep(k.t, k.ctx, "keys-fault")
			k.t.Fatalf("on the way to %q, at %q: %s", words, at[0], at[1])
		}
		if strings.HasPrefix(at[0], words) {
			return
		}
		passed = append(passed, at[0])
	}
	k.t.Fatalf("no way by Tab to %q; passed %q", words, passed)
}

// enter presses Enter and waits for a heading.
func (k *keys) enter(heading string) {
	k.t.Helper()
	k.press(kb.Enter)
	k.arrive(heading)
}

func (k *keys) arrive(heading string) {
	k.t.Helper()
	if err := chromedp.Do(k.ctx, chromedp.WaitVisible(chromedp.Search(`//*[self::h1 or self::h2][contains(.,"`+heading+`")]`))); err != nil {
		keep(k.t, k.ctx, "keys-fault")
		k.t.Fatalf("at %q: %v", heading, err)
	}
}

// TestAllByKeys signs in by a link, logs a sighting, makes a feed and changes a tree with
// nothing but a keyboard: the focus is always to be seen, and goes through the page in order.
func TestAllByKeys(t *testing.T) {
	tab := browser(t)
	b, links := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	for _, screen := range []struct {
		name          string
		width, height int64
	}{{"phone", 360, 740}, {"desk", 1280, 900}} {
		t.Run(screen.name, func(t *testing.T) {
			ctx, done := context.WithTimeout(tab, 90*time.Second)
			defer done()
			k := &keys{t, ctx}
			home := b.http.URL + strings.TrimPrefix(links.Page, "http://trees.example")
			if err := chromedp.Do(ctx, chromedp.EmulateViewport(screen.width, screen.height), chromedp.Navigate(home)); err != nil {
				t.Fatal(err)
			}
			k.arrive("What to do now")
			k.to("To the content")
			k.press(kb.Enter)
			// The next step is inside the content, past all pages of the navigation.
			k.press(kb.Tab)
			inside, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`location.hash === "#main" && document.querySelector("main").contains(document.activeElement)`))
			if err != nil || !inside {
				t.Errorf("to the content leads elsewhere (%v)", err)
			}

			k.to("mill hornbeam unlikely")
			k.press(kb.Enter)
			k.to("Yes, seen today on mill hornbeam")
			k.enter("mill hornbeam: logged, and planned anew")
			log := b.logIn("demo", "mill-hornbeam")
			if last := log[len(log)-1]; last.Saw != "bud-swell" || last.On != date(2027, 4, 12) {
				t.Errorf("logged %+v", last)
			}
			keep(t, ctx, "keys-changed-"+screen.name)
			k.to("Take it back")
			k.press(kb.Enter) // the page that comes has the same heading
			if err := chromedp.Do(ctx, chromedp.WaitVisible(chromedp.Search(`//*[@role="status"][contains(.,"taken back")]`))); err != nil {
				t.Fatal(err)
			}

			k.to("Calendars")
			k.enter("Calendar feeds")
			k.to("Make a new feed")
			k.press(kb.Enter)
			k.to("Name, as calendar programs show it")
			name := "by keys " + screen.name
			k.press(name)
			k.to("Make the feed and show its link")
			k.enter("The link of “" + name)
			feeds, err := b.store.Feeds(b.ctx(), "demo")
			b.must(err)
			if !slices.ContainsFunc(feeds, func(f calendar.Feed) bool { return f.Name == name }) {
				t.Errorf("no feed %q among %d", name, len(feeds))
			}

			k.to("Trees")
			k.enter("Your trees")
			k.to("twin larch")
			k.enter("twin larch")
			k.to("Change name, pot or place")
			k.press(kb.Enter)
			if err := chromedp.Do(ctx, chromedp.WaitVisible(chromedp.CSS(`#in-name`))); err != nil {
				t.Fatal(err)
			}
			k.to("What you call it")
			called := fmt.Sprint("twin larch, ", screen.name)
			k.press(called)
			k.enter(called)
			trees, err := b.store.Trees(b.ctx(), "demo")
			b.must(err)
			if !slices.ContainsFunc(trees, func(t calendar.Kept) bool { return t.ID == "twin-larch" && t.Name == called }) {
				t.Error("the tree keeps its name")
			}
		})
	}
}
