package feeds

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/feeds/wording"
)

// TestWhatToDoNowInTheBrowsersLanguage: the part of the page that is kept is kept by
// language, for a grower who chose none.
func TestWhatToDoNowInTheBrowsersLanguage(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.open()
	for range 2 {
		for accept, says := range map[string]string{"de": "Heute, Mo 12. Apr. 2027", "en": "Today, Mon 12 Apr 2027"} {
			if page := text(b.send(b.client, http.MethodGet, "/", nil, "Accept-Language", accept).node(t)); !strings.Contains(page, says) {
				t.Errorf("%s: does not say %q:\n%.400s", accept, says, page)
			}
		}
	}
}

// TestASeasonInFahrenheit: what the tables of the season hold, from which its charts are
// drawn, and what is said of them.
func TestASeasonInFahrenheit(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.open()
	celsius := b.send(b.client, http.MethodGet, "/places/demo/season", nil).node(t)
	b.must(b.store.PutLocale(b.ctx(), "demo", calendar.Locale{Language: "de", Temperature: calendar.Fahrenheit, WeekStart: time.Monday}))
	page := b.send(b.client, http.MethodGet, "/places/demo/season", nil)
	n := page.node(t)
	if got := attr(find(n, "main", "", "")[0], "data-freezing"); got != "32" {
		t.Errorf("freezing at %q", got)
	}
	for name, shown := range map[string]func(float64) float64{
		"days":   func(v float64) float64 { return v*9/5 + 32 },
		"warmth": func(v float64) float64 { return v * 9 / 5 },
		"chill":  func(v float64) float64 { return v },
	} {
		was, is := table(t, celsius, name), table(t, n, name)
		if len(was) != len(is) || len(is) < 10 {
			t.Fatalf("%s: %d rows, %d in Celsius", name, len(is), len(was))
		}
		for i := range is {
			a, errA := wording.Read(strings.Fields(was[i][2])[0])
			b, errB := wording.Read(strings.Fields(is[i][2])[0])
			if off := b - shown(a); errA != nil || errB != nil || off < -1.5 || off > 1.5 {
				t.Errorf("%s, row %d: %s is shown as %s", name, i, was[i][2], is[i][2])
			}
		}
	}
	words := strings.ReplaceAll(text(n), "\u00a0", " ")
	for _, s := range []string{"Gradtage über 41 °F", "Höchstwert des Tages, °F", "28,4 °F oder darunter", "zwischen etwa 36 und 50 °F", "Letzter, 32 °F"} {
		if !strings.Contains(words, s) {
			t.Errorf("the page does not say %q", s)
		}
	}
	if strings.Contains(words, "°C") {
		t.Error("the page says °C")
	}
}

// TestAMonthBeginsItsWeeksAsItsReader does, and a card says what the pot holds in quarts.
func TestAMonthBeginsItsWeeksAsItsReader(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.must(b.store.PutLocale(b.ctx(), "demo", calendar.Locale{Dates: calendar.DatesISO, Volume: calendar.InQuarts, WeekStart: time.Sunday}))
	b.open()
	n := b.send(b.client, http.MethodGet, "/print/month", nil).node(t)
	if got := text(find(n, "div", "class", "heads")[0]); got != "SunMonTueWedThuFriSat" {
		t.Errorf("the week is %s", got)
	}
	if first := attr(find(n, "li", "class", "day")[0], "class"); !strings.Contains(first, "at-5") {
		t.Errorf("Thursday 1 April stands in %q", first)
	}
	if cards := text(b.send(b.client, http.MethodGet, "/print/cards", nil).node(t)); !strings.Contains(cards, " US quarts") || strings.Contains(cards, " litres") {
		t.Errorf("cards: %.800s", cards)
	}
}

// TestRuleFormInFahrenheit: a temperature that is typed in Fahrenheit is kept in Celsius,
// shown as it was typed and refused in the same unit.
func TestRuleFormInFahrenheit(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	b.must(b.store.PutLocale(b.ctx(), "demo", calendar.Locale{Temperature: calendar.Fahrenheit, WeekStart: time.Monday}))
	b.open()
	path := ownDesk + "/species/acer-campestre/edit"
	form := typedIn(t, b.page(path), ownDesk+"/look")
	form.Set("crown", "-150")
	if a := b.sends(ownDesk+"/look", form); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "Want °F from -76 to 59.") {
		t.Errorf("%s\n%.1500s", a.Status, text(a.node(t)))
	}
	form.Set("crown", "-4")
	look := b.sends(ownDesk+"/look", form)
	if text := text(find(look.node(t), "pre", "", "")[0]); !strings.Contains(text, "crown_hardy: -20") {
		t.Errorf("it would be written so: %s", text)
	}
	b.sends(ownDesk+"/keep", typedIn(t, look, ownDesk+"/keep"))
	if got := typedIn(t, b.page(path), ownDesk+"/look").Get("crown"); got != "-4" {
		t.Errorf("shown again as %s", got)
	}
	if page := text(b.page("/lore/species/acer-campestre").node(t)); !strings.Contains(page, "−4 °F") || strings.Contains(page, "°C") {
		t.Errorf("the species' page: %.900s", page)
	}
}

// TestStillPagesInALanguage: files hold the pages of one language, under the same paths.
func TestStillPagesInALanguage(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	var paths [2][]string
	for i, lang := range []string{"en", "de"} {
		files, err := b.server.Still(b.ctx(), wording.In(calendar.Locale{Language: lang}, ""))
		b.must(err)
		for _, f := range files {
			paths[i] = append(paths[i], f.Path)
			if strings.HasSuffix(f.Path, ".html") && !strings.Contains(string(f.Bytes), `<html lang="`+lang+`">`) {
				t.Errorf("%s is not in %s", f.Path, lang)
			}
		}
	}
	if !slices.Equal(paths[0], paths[1]) || !slices.Contains(paths[0], "r/quernthal/upper-alp/index.html") {
		t.Errorf("%v and %v", paths[0], paths[1])
	}
}

// TestABandsPageIsNotALanguages: a name that is one of a language's pages is no band's.
func TestABandsPageIsNotALanguages(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	for _, path := range []string{"/r/quernthal/de", "/r/quernthal/" + url.PathEscape("de upper-alp"), "/r/quernthal/en"} {
		if a := b.get(path); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", path, a.Status)
		}
	}
	for _, path := range []string{"/r/quernthal", "/r/quernthal/upper-alp", "/r/quernthal/print", "/r/quernthal/embed"} {
		a := b.get(path, "Accept-Language", "de")
		if got := attr(find(a.node(t), "html", "", "")[0], "lang"); got != "de" || !slices.Contains(a.Header.Values("Vary"), "Accept-Language") {
			t.Errorf("%s: in %q, Vary %q", path, got, a.Header.Values("Vary"))
		}
	}
}
