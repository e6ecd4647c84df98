package feeds

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"budswell/calendar"
)

func TestHoursRefused(t *testing.T) {
	b := newBed(t)
	b.open()
	if a := b.send(b.client, http.MethodGet, "/agenda", nil); !strings.Contains(a.text, "Nobody told yet what hours there are") {
		t.Errorf("agenda without hours:\n%s", a.text)
	}
	for words, form := range map[string]url.Values{
		"on Saturday must be a number, 0 to 24":       {"day_6": {"25"}},
		"on Sunday must be a number":                  {"day_0": {"much"}},
		"on Monday must be a number":                  {"day_1": {"NaN"}},
		"no hours on any day":                         {"day_1": {"0"}},
		"first day away must be one that exists":      {"day_6": {"4"}, "away_from": {"2027-02-30"}, "away_to": {""}},
		"must not lie before the first":               {"day_6": {"4"}, "away_from": {"2027-03-05"}, "away_to": {"2027-03-04"}},
		"has more hours, and lies in the days away":   {"away_from": {"2027-03-05"}, "away_to": {""}, "extra_on": {"2027-03-05"}, "extra_hours": {"3"}},
		"more on a day must be a number, more than 0": {"extra_on": {"2027-03-05"}, "extra_hours": {"0"}},
		"give one of the two":                         {"helper_on": {""}, "helper_day": {""}, "helper_hours": {"2"}},
		"of a helper must be a number":                {"helper_on": {"2027-03-05"}, "helper_day": {""}, "helper_hours": {"-2"}},
		"choose the day of the week":                  {"helper_on": {""}, "helper_day": {"9"}, "helper_hours": {"2"}},
		"for one tree must be a whole number":         {"day_6": {"4"}, "work": {"repot"}, "work_minutes": {"1000"}, "work_set_up": {""}},
		"to set up must be a whole number":            {"day_6": {"4"}, "work": {"repot"}, "work_minutes": {""}, "work_set_up": {"x"}},
		"choose the work":                             {"day_6": {"4"}, "work": {""}, "work_minutes": {"5"}, "work_set_up": {""}},
		"given twice":                                 {"day_6": {"4"}, "work": {"repot", "repot"}, "work_minutes": {"5", "6"}, "work_set_up": {"", ""}},
		"not among the choices":                       {"day_6": {"4"}, "work": {"sing"}, "work_minutes": {"5"}, "work_set_up": {""}},
	} {
		form.Set("day_2", "1,5")
		if words == "no hours on any day" {
			form.Set("day_2", "0")
		}
		a := b.post("/hours", form)
		if a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %s", words, a.Status)
			continue
		}
		n := a.node(t)
		if alerts := find(n, "", "role", "alert"); len(alerts) != 1 || !strings.Contains(text(alerts[0]), words) {
			t.Errorf("want an alert with %q in\n%s", words, a.text)
		}
		for name, typed := range form {
			for _, v := range typed {
				fields := append(find(n, "input", "name", name), find(n, "select", "name", name)...)
				kept := slices.ContainsFunc(fields, func(f *html.Node) bool { return attr(f, "value") == v || len(find(f, "option", "value", v)) == 1 })
				if name != "_csrf" && v != "" && v != "9" && v != "sing" && !kept {
					t.Errorf("%s: %s as typed, %q, is lost", words, name, v)
				}
			}
		}
	}
	if h, err := b.store.Hours(b.ctx(), "ada"); err != nil || h != nil {
		t.Errorf("something was kept: %+v, %v", h, err)
	}
	a := b.post("/hours", url.Values{
		"day_2": {"1,5"}, "helper_on": {"2027-03-06", ""}, "helper_day": {"", "0"}, "helper_hours": {"6", "2"}, "helper_hard": {"0"},
		"away_from": {"2027-04-01"}, "away_to": {""}, "extra_on": {"2027-04-02"}, "extra_hours": {"0.5"},
	})
	if a.StatusCode != http.StatusOK {
		t.Fatal(a.Status, a.text)
	}
	h, err := b.store.Hours(b.ctx(), "ada")
	b.must(err)
	if h.Weekdays != [7]int{2: 90} || len(h.Helpers) != 2 || !h.Helpers[0].Hard || h.Helpers[1].Hard || h.Helpers[1].On.Valid() ||
		h.Away[0] != (calendar.Absence{From: date(2027, 4, 1), To: date(2027, 4, 1)}) || h.Extra[0].Minutes != 30 {
		t.Errorf("kept: %+v", h)
	}
	// The form comes back with what is kept, and keeps the same.
	form := url.Values{}
	page := b.send(b.client, http.MethodGet, "/hours", nil).node(t)
	for _, f := range find(page, "input", "", "") {
		if attr(f, "type") != "checkbox" && attr(f, "name") != "forget" || hasAttr(f.Attr, "checked") {
			form.Add(attr(f, "name"), attr(f, "value"))
		}
	}
	for _, f := range find(page, "select", "", "") {
		v := ""
		if picked := find(f, "option", "selected", ""); len(picked) > 0 {
			for _, o := range picked {
				if hasAttr(o.Attr, "selected") {
					v = attr(o, "value")
				}
			}
		}
		form.Add(attr(f, "name"), v)
	}
	form.Del("_csrf")
	b.post("/hours", form)
	again, err := b.store.Hours(b.ctx(), "ada")
	b.must(err)
	if again.Weekdays != h.Weekdays || !slices.Equal(again.Helpers, h.Helpers) || !slices.Equal(again.Away, h.Away) || !slices.Equal(again.Extra, h.Extra) {
		t.Errorf("the form kept %+v, want %+v", again, h)
	}
}

func TestShowsRefused(t *testing.T) {
	b := newBed(t)
	b.open()
	b.must(b.store.PutShows(b.ctx(), "ada", []calendar.Show{{Name: "Old bench", On: date(2026, 5, 1), Look: calendar.InLeaf, Trees: []string{"ridge-maple", "gone"}}}))
	good := url.Values{"name": {"Spring bench"}, "on": {"2027-06-12"}, "look": {"in-leaf"}, "tree": {"ridge-maple"}}
	for words, change := range map[string]url.Values{
		"want a name":                       {"name": {" "}},
		"a show of that name already":       {"name": {"old BENCH"}},
		"want the day":                      {"on": {"soon"}},
		"lies before today":                 {"on": {"2027-02-28"}},
		"more than 15 years ahead":          {"on": {"2043-01-01"}},
		"choose how they are shown":         {"look": {"upside-down"}},
		"choose the trees":                  {"tree": nil},
		"there is no tree of this id":       {"tree": {"nobody's"}},
		"old pine <b>: Pinus sylvestris is": {"tree": {"ridge-maple", "old-pine"}},
	} {
		form := url.Values{}
		for k, v := range good {
			form[k] = v
		}
		for k, v := range change {
			form[k] = v
		}
		a := b.post("/shows", form)
		if a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %s", words, a.Status)
			continue
		}
		n := a.node(t)
		if alerts := find(n, "", "role", "alert"); len(alerts) != 1 || !strings.Contains(text(alerts[0]), words) {
			t.Errorf("want an alert with %q in\n%s", words, a.text)
		}
		if got := attr(find(n, "input", "name", "name")[0], "value"); got != strings.TrimSpace(form.Get("name")) {
			t.Errorf("%s: the name is lost: %q", words, got)
		}
	}
	page := b.send(b.client, http.MethodGet, "/shows", nil)
	if !strings.Contains(page.text, "it is over") || strings.Contains(page.text, "Spring bench") {
		t.Errorf("shows:\n%s", page.text)
	}
	if a := b.post("/shows/none/remove", url.Values{}); a.StatusCode != http.StatusNotFound {
		t.Errorf("a show that is not there: %s", a.Status)
	}
	if a := b.post("/shows/old-bench/remove", url.Values{}); a.StatusCode != http.StatusOK {
		t.Errorf("remove: %s", a.Status)
	}
	kept, err := b.store.Shows(b.ctx(), "ada")
	b.must(err)
	if len(kept) != 0 {
		t.Errorf("kept: %+v", kept)
	}
}

// The pages are a grower's own, and what changes something wants the page's token.
func TestPagesOfWishesAreOnesOwn(t *testing.T) {
	b := newBed(t)
	for _, path := range []string{"/trees/ridge-maple", "/hours", "/agenda", "/shows"} {
		if a := b.get(path); a.StatusCode != http.StatusForbidden || strings.Contains(a.text, "ridge maple") {
			t.Errorf("%s without sign-in: %s", path, a.Status)
		}
	}
	b.open()
	for _, path := range []string{"/hours", "/shows", "/shows/x/remove"} {
		if a := b.send(b.client, http.MethodPost, path, url.Values{"day_6": {"4"}}); a.StatusCode != http.StatusBadRequest && a.StatusCode != http.StatusForbidden {
			t.Errorf("%s without a token: %s", path, a.Status)
		}
	}
	if a := b.send(b.client, http.MethodGet, "/trees/nobody's", nil); a.StatusCode != http.StatusNotFound {
		t.Errorf("a tree that is not there: %s", a.Status)
	}
	if a := b.send(b.client, http.MethodGet, "/agenda?more=soon", nil); a.StatusCode != http.StatusOK {
		t.Errorf("more, without hours: %s", a.Status)
	}
	if links := find(b.shown("/trees").node(t), "a", "href", "/trees/ridge-maple"); len(links) != 1 || text(links[0]) != "ridge maple" {
		t.Error("the page does not lead to the tree's")
	}
	n := b.send(b.client, http.MethodGet, "/trees/old-pine", nil)
	for _, want := range []string{"old pine &lt;b&gt;", "Stage: Building. Strength: strong.", "Sharp tools.", "Wire", "Dates are forecasts"} {
		if !strings.Contains(n.text, want) {
			t.Errorf("the tree's page does not say %q:\n%s", want, n.text)
		}
	}
}
