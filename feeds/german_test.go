package feeds

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"golang.org/x/net/html"

	"budswell/calendar"
)

// germanDemo is the demo, its grower reading German, signed in, with the paths of its pages.
func germanDemo(t *testing.T) (*bed, []string) {
	t.Helper()
	b, links := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.server.cfg.Services, b.server.cfg.ReadStation = []string{"open-meteo"}, demo.Read
	b.must(b.store.PutLocale(b.ctx(), "demo", calendar.Locale{Language: "de", WeekStart: time.Monday}))
	b.open()
	places, err := b.store.Places(b.ctx(), "demo")
	b.must(err)
	place := "/places/" + url.PathEscape(places[0].ID)
	b.clubToLookAt("demo")
	own := valley
	own.Club = "ridge"
	b.must(b.store.PutRegion(b.ctx(), own))
	region := strings.TrimPrefix(links.Region, "http://trees.example")
	return b, []string{
		"/", "/trees/ridge-maple", "/trees/twin-larch", "/trees/ridge-maple/log", "/trees/ridge-maple/edit", "/hours", "/agenda", "/agenda?more=2027-04-17", "/shows",
		"/nudges", "/account", "/account/leave", place, place + "/weather", place + "/trees", place + "/sheet", place + "/readings",
		"/start/place", "/start/place?q=Springfield", "/start/place?q=50,8", "/start/place?q=30,-40", "/start/place?q=nowhereatall", "/start/feed", "/nowhere", "/sign-in", "/link",
		region, region + "/upper-alp", region + "/print", region + "/embed",
		"/trees", "/trees?find=larch&state=asks", "/years", "/calendars", "/places", "/messages", place + "/season", place + "/season?from=13",
		"/print/month", "/print/month?month=2027-09", "/print/cards", "/trees/ridge-maple/card",
		"/lore", "/lore?q=ahorn", "/lore?group=deciduous", "/lore?work=repot", "/lore/rules/repot-deciduous", "/lore/species/acer-campestre",
		ownDesk, ownDesk + "/rules/repot-deciduous/edit", ownDesk + "/rules/repot-deciduous/text", ownDesk + "/species/acer-campestre/edit", ownDesk + "/add?what=rule",
		"/clubs", "/clubs/ridge", "/clubs/ridge/members", "/clubs/ridge/pool", circle, circle + "/members", circle + "/pool", b.invitation("ridge"), b.invitation("vale") + "?new=yes",
		"/clubs/ridge/regions", "/clubs/ridge/regions/new", "/clubs/ridge/regions/valley", "/clubs/ridge/regions/valley/bands/floor", "/clubs/ridge/regions/valley/bands/new",
		"/act/" + b.actLink("demo", "did:repot", "ridge-maple", "twin-larch"),
	}
}

// english are words that no German text has.
var english = regexp.MustCompile(`(?i)\b(the|of|and|with|is|are|your|you|to|that|it|for|not|from|this|have|which)\b`)

// germanOf returns what a page says that is not marked as of another language, text and
// attributes that are read out, each by itself.
func germanOf(n *html.Node, lang string) (out []string) {
	if l := attr(n, "lang"); n.Type == html.ElementNode && l != "" {
		lang = l
	}
	if lang == "de" {
		switch {
		case n.Type == html.TextNode && n.Parent.Data != "style" && n.Parent.Data != "textarea" && n.Parent.Data != "pre":
			out = append(out, n.Data)
		case n.Type == html.ElementNode:
			for _, key := range []string{"aria-label", "title", "placeholder", "alt", "label"} {
				out = append(out, attr(n, key))
			}
		}
	}
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		out = append(out, germanOf(c, lang)...)
	}
	return out
}

// theirs are words of the demo's grower, which are not translated.
var theirs = strings.NewReplacer("black pine of the stair", "", "Conifers on the green", "", "Tree Circle of the Ridge and of the Long Valley below", "", "Bea of the Hill", "", "The valley", "", "somebody.with.a.long.address@trees-and-stones.example.org", "",
	// What a source says in the lore, whose words are English.
	"common practice, no published source", "", "from memory", "", "Dug below the old terrace wall, with the landowner's written leave.", "")

// TestPagesInGerman: each says its language, and outside of what is marked as English
// there is no English.
func TestPagesInGerman(t *testing.T) {
	b, paths := germanDemo(t)
	for _, path := range paths {
		a := b.send(b.client, http.MethodGet, path, nil, "Accept-Language", "de")
		n := a.node(t)
		if lang := attr(find(n, "html", "", "")[0], "lang"); lang != "de" {
			t.Errorf("%s: lang=%s", path, lang)
			continue
		}
		seen := map[string]bool{}
		for _, s := range germanOf(n, "") {
			s = theirs.Replace(strings.Join(strings.Fields(s), " "))
			if found := english.FindString(s); found != "" && !seen[s] {
				seen[s] = true
				t.Errorf("%s: %q in %.160q", path, found, s)
			}
		}
	}
}

func TestPagesInGermanSayThese(t *testing.T) {
	b, _ := germanDemo(t)
	for path, says := range map[string][]string{
		"/":                           {"Was jetzt zu tun ist", "Umtopfen", "Schwellen die Knospen?", "wahrscheinlich (", "April 2027", "Schneiden Sie vom Körper weg", "Heute, Mo 12. Apr. 2027"},
		"/trees/ridge-maple":          {"Feldahorn", "Die Jahre bis zur Ausstellung", "Frühling 20"},
		"/trees/ridge-maple/log":      {"Knospenschwellen", "Noch nicht: Knospenschwellen", "Blattschnitt", "Umtopfen"},
		"/hours":                      {"Montag", "jeden Montag"},
		"/trees":                      {"braucht Arbeit", "Erste Gestaltung"},
		"/places/demo/season":         {"Gradtage über 5 °C", "im mittleren Jahr", "Letzter Frost im Frühling:", "Höchstwert des Tages, °C", "Apr."},
		"/print/month":                {"April 2027", "Mo 12. Apr.", "tun", "gesehen Knospenschwellen"},
		"/print/cards":                {"Karten der Bäume", "Aufbauschale"},
		"/r/quernthal":                {"später als im mittleren Jahr", "Laubbäume", "Rotbuche (Fagus sylvatica)"},
		"/lore/rules/repot-deciduous": {"Einmal je Saison", "Umtopfen", "eingebaut"},
		"/lore?q=ahorn":               {"Gefunden zu „ahorn“", "Feldahorn"},
		"/nudges":                     {"Knospen schwellen", "zu 50 % sicher ist"},
		"/account":                    {"Sprache und Einheiten", "9. März 2027", "9.3.2027", "2027-03-09"},
	} {
		got := text(b.send(b.client, http.MethodGet, path, nil, "Accept-Language", "de").node(t))
		for _, s := range says {
			if !strings.Contains(got, s) {
				t.Errorf("%s does not say %q:\n%.3000s", path, s, got)
			}
		}
	}
}

// TestGermanFitsOnAPhone: long words do not stick out at 360 pixels.
func TestGermanFitsOnAPhone(t *testing.T) {
	tab := browser(t)
	b, paths := germanDemo(t)
	ctx, done := context.WithTimeout(tab, 2*time.Minute)
	defer done()
	for _, path := range append([]string{"/enter/" + b.key}, paths...) {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740), chromedp.Navigate(b.http.URL+path)); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		wide, err := chromedp.Run(ctx, chromedp.Evaluate[[]string](sticksOut))
		if err != nil || len(wide) > 0 {
			t.Errorf("%s sticks out: %v %v", path, wide, err)
		}
		keep(t, ctx, "german-"+strings.NewReplacer("/", "_", "?", "_").Replace(path))
	}
}
