package feeds

import (
	"context"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"budswell/feeds/ics/icstest"
)

// TestFirstRunInABrowser goes from an invitation to a feed at the width of a phone, doing
// nothing but what the pages ask, and tells how many presses, fields and seconds of the service that took.
func TestFirstRunInABrowser(t *testing.T) {
	tab := browser(t)
	b := newcomer(t)
	b.set(time.Date(2027, time.February, 20, 6, 0, 0, 0, time.UTC))
	// The address that people reach the service by is that of the test's.
	cfg := b.server.cfg
	front := httptest.NewUnstartedServer(nil)
	cfg.Base = "http://" + front.Listener.Addr().String()
	server, err := New(cfg)
	b.must(err)
	server.passwords = newPasswords(quick)
	front.Config.Handler = server.Handler()
	front.Start()
	t.Cleanup(front.Close)
	link, err := Invitation(b.ctx(), cfg, "", InvitationLife)
	b.must(err)

	ctx, done := context.WithTimeout(tab, 90*time.Second)
	defer done()
	presses, fields := 0, 0
	begun := time.Now()
	do := func(name string, actions ...chromedp.Action[chromedp.Void]) {
		t.Helper()
		if err := chromedp.Do(ctx, actions...); err != nil {
			keep(t, ctx, "first-fault")
			t.Fatalf("%s: %v", name, err)
		}
	}
	shown := func(name string) {
		t.Helper()
		do("the whole page", chromedp.EmulateViewport(360, 1800))
		keep(t, ctx, "first-"+name)
		do("the screen", chromedp.EmulateViewport(360, 740))
		wide, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](sticksOut))
		if err != nil || len(wide) > 0 {
			t.Errorf("%s sticks out: %v %v", name, wide, err)
		}
	}
	write := func(label, value string) {
		t.Helper()
		fields++
		do("write "+label, chromedp.SendKeys(chromedp.Search(`//input[@id=//label[starts-with(normalize-space(.),"`+label+`")]/@for] | //label[starts-with(normalize-space(.),"`+label+`")]//input`), value))
	}
	press := func(words string) {
		t.Helper()
		presses++
		do("press "+words, chromedp.Click(chromedp.Search(`//button[starts-with(normalize-space(.),"`+words+`")] | //a[starts-with(normalize-space(.),"`+words+`")]`)))
	}
	arrive := func(title string) {
		t.Helper()
		do("arrive at "+title, chromedp.WaitVisible(chromedp.Search(`//h1[contains(.,"`+title+`")]`)))
	}
	do("open", chromedp.EmulateViewport(360, 740), chromedp.Navigate(link))
	write("Your name", "Juno Åse")
	write("Mail address", "juno@example.org")
	write("Password", phrase)
	press("Join")
	arrive("Where your trees stand")
	shown("where")
	write("Town or village", "Bad Nauheim")
	press("Look for it")
	do("found", chromedp.WaitVisible(chromedp.CSS(`ul.found`)))
	shown("found")
	press("Bad Nauheim")
	do("asked", chromedp.WaitVisible(chromedp.CSS(`#in-lat`)))
	shown("place")
	press("This is the place")
	arrive("The weather at")
	shown("weather")
	press("Go on with this")
	arrive("Your first trees")
	write("What you call it", "ridge maple")
	write("Species", "field maple")
	shown("tree")
	press("Add this tree")
	do("kept", chromedp.WaitVisible(chromedp.CSS(`.said`)))
	press("That is enough")
	arrive("Your calendar")
	press("Make the link")
	do("made", chromedp.WaitVisible(chromedp.CSS(`svg.qr`)))
	took := time.Since(begun)
	shown("feed")
	feed, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector("input.link").value`))
	b.must(err)
	press("To what there is to do now")
	arrive("What to do now")
	shown("home")
	b.http = front // which made the feed
	a := b.get(strings.TrimPrefix(feed, cfg.Base)).text
	if !strings.HasPrefix(feed, cfg.Base) || !strings.Contains(a, "BEGIN:VEVENT") || !strings.Contains(a, "ridge maple") {
		t.Errorf("the feed %s:\n%s", feed, a)
	}
	t.Logf("from the invitation to the link: %d presses, %d fields, %.1f s", presses, fields, took.Seconds())
	if presses > 10 || fields > 8 {
		t.Errorf("the way has become long: %d presses, %d fields", presses, fields)
	}
	icstest.Check(t, map[string][]byte{"first": []byte(a)})
}
