package feeds

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"budswell/calendar"
)

// atBench is a phone in a browser, whose pages the test presses.
type atBench struct {
	t   *testing.T
	ctx context.Context
	b   *bed
}

func (p *atBench) do(what string, actions ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, actions...); err != nil {
		p.t.Fatalf("%s: %v", what, err)
	}
}

func (p *atBench) open(path string) {
	p.t.Helper()
	p.do("open "+path, chromedp.EmulateViewport(360, 740), chromedp.Navigate(p.b.http.URL+path))
}

// press presses a button, a link or a summary that begins with some words.
func (p *atBench) press(words string) {
	p.t.Helper()
	p.do("press "+words, chromedp.Click(chromedp.Search(`//*[self::button or self::a or self::summary][starts-with(normalize-space(.),"`+words+`")]`)))
}

func (p *atBench) arrive(words string) {
	p.t.Helper()
	p.do("arrive at "+words, chromedp.WaitVisible(chromedp.Search(`//*[self::h1 or self::h2 or self::p][contains(.,"`+words+`")]`)))
}

// says returns what is on the page.
func (p *atBench) says() string {
	p.t.Helper()
	s, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`document.querySelector("main").innerText`))
	p.b.must(err)
	return s
}

// TestWhatIsLoggedMovesPlanAndFeed logs in a browser: a work is done on the page and in
// the feed, a sighting moves what the page says of the season, and taking it back moves
// it again.
func TestWhatIsLoggedMovesPlanAndFeed(t *testing.T) {
	tab := browser(t)
	b, links := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	feed := "/f/" + b.addFeed("demo", "larch", calendar.Filter{Trees: []string{"twin-larch"}, Works: []string{"repot"}}) + ".ics"
	ctx, done := context.WithTimeout(tab, 90*time.Second)
	defer done()
	p := &atBench{t, ctx, b}
	p.open(strings.TrimPrefix(links.Page, "http://trees.example"))
	p.arrive("What to do now")

	before := b.get(feed).text
	if !strings.Contains(before, "SUMMARY:Repot: twin larch\r\n") {
		t.Fatalf("no repot to come in the feed:\n%s", before)
	}
	p.open("/trees/twin-larch")
	if s := p.says(); !strings.Contains(s, "Repot") || strings.Contains(s, "Done on 12 April 2027") {
		t.Fatalf("the page before: %s", s)
	}
	p.press("Log what you saw or did")
	p.do("choose", chromedp.SetValue(chromedp.CSS(`select[name=what]`), "did:repot"))
	p.press("Log it, and plan anew")
	p.arrive("twin larch: logged, and planned anew.")
	if s := p.says(); !strings.Contains(s, "Done on 12 April 2027") {
		t.Errorf("the page does not show it done: %s", s)
	}
	if after := b.get(feed).text; !strings.Contains(after, "SUMMARY:Repot: twin larch (done)") || !strings.Contains(after, "SEQUENCE:1") {
		t.Errorf("the feed does not follow:\n%s", after)
	}

	const question = "Are buds swelling? "
	p.open("/trees/mill-hornbeam")
	was, forecast := p.says(), "As likely as not by "
	i := strings.Index(was, forecast)
	if i < 0 || !strings.Contains(was, question) {
		t.Fatalf("the page tells no forecast: %s", was)
	}
	told := was[i : i+len(forecast)+14]
	p.press("Are buds swelling?")
	p.press("Yes, seen today")
	p.arrive("mill hornbeam: logged, and planned anew")
	if s := p.says(); strings.Contains(s, question) || strings.Contains(s, told) || !strings.Contains(s, "days earlier") && !strings.Contains(s, "later") {
		t.Errorf("the forecast does not move, %q: %s", told, s)
	}
	keep(t, ctx, "bench-changed")
	p.press("Take it back")
	p.arrive("taken back")
	if s := p.says(); !strings.Contains(s, question) || !strings.Contains(s, told) {
		t.Errorf("taken back, the page does not say %q: %s", told, s)
	}
}

// TestNothingTypedIsLostInABrowser lets the sign-in end while an entry is typed; and what
// another site has the browser send is refused.
func TestNothingTypedIsLostInABrowser(t *testing.T) {
	tab := browser(t)
	b := accountBed(t)
	ctx, done := context.WithTimeout(tab, 20*time.Second)
	defer done()
	p := &atBench{t, ctx, b}
	p.open("/enter/" + b.key)
	p.arrive("What to do now")

	// Another site has the browser send a form of its own making.
	other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = fmt.Fprintf(w, `<!doctype html><form method="post" action="%s/look"><input name="saw" value="bud-swell ridge-maple"><button>Win</button></form>`, b.http.URL)
	}))
	t.Cleanup(other.Close)
	p.do("lure", chromedp.Navigate(strings.Replace(other.URL, "127.0.0.1", "localhost", 1)))
	p.press("Win")
	p.arrive("This form is too old, or was not sent from this site.")
	if log := b.logOf("ridge-maple"); len(log) != 0 {
		t.Fatalf("another site logged %+v", log)
	}

	p.open("/trees/ridge-maple/log")
	p.do("write", chromedp.SetValue(chromedp.CSS(`select[name=what]`), "did:repot"), chromedp.SendKeys(chromedp.CSS(`input[name=note]`), `"in pumice" & <so>`))
	b.set(b.now().Add(sessionIdle + time.Hour))
	p.press("Log it, and plan anew")
	p.arrive("Sign in")
	p.do("sign in", chromedp.SendKeys(chromedp.CSS(`input[name=mail]`), "ada@example.org"), chromedp.SendKeys(chromedp.CSS(`input[name=password]`), phrase))
	p.press("Sign in")
	p.arrive("Nothing was lost")
	if s := p.says(); !strings.Contains(s, `"in pumice" & <so>`) || len(b.logOf("ridge-maple")) != 0 {
		t.Errorf("shown to be sent: %s", s)
	}
	p.press("Send it now")
	p.arrive("ridge maple: logged")
	if log := b.logOf("ridge-maple"); len(log) != 1 || log[0].Did != "repot" || log[0].Note != `"in pumice" & <so>` || log[0].On != date(2027, 3, 1) {
		t.Errorf("logged %+v", log)
	}
}
