package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"budswell/calendar"
)

// typedIn returns what a page's form has in it, ready to be changed and sent.
func typedIn(t *testing.T, a answered, action string) url.Values {
	t.Helper()
	out := url.Values{}
	forms := find(a.node(t), "form", "action", action)
	if len(forms) == 0 {
		t.Fatalf("no form for %s: %s\n%s", action, a.Status, a.text)
	}
	for d := range forms[0].Descendants() {
		if d.Type != html.ElementNode || attr(d, "name") == "" {
			continue
		}
		switch d.Data {
		case "input":
			out.Add(attr(d, "name"), attr(d, "value"))
		case "textarea":
			value := ""
			if d.FirstChild != nil {
				value = d.FirstChild.Data
			}
			out.Add(attr(d, "name"), value)
		case "select":
			for _, o := range find(d, "option", "", "") {
				if hasAttr(o.Attr, "selected") {
					out.Add(attr(d, "name"), attr(o, "value"))
				}
			}
		}
	}
	return out
}

func (b *bed) page(path string) answered { return b.send(b.client, http.MethodGet, path, nil) }

func (b *bed) sends(path string, form url.Values) answered {
	return b.send(b.client, http.MethodPost, path, form)
}

// keepText writes a text at a desk by way of the preview, and returns the preview.
func (b *bed) keepText(desk, text, why string) answered {
	b.t.Helper()
	form := typedIn(b.t, b.page(desk+"/add?what=rule"), desk+"/look")
	form.Set("text", text)
	form.Set("why", why)
	look := b.sends(desk+"/look", form)
	if kept := b.sends(desk+"/keep", typedIn(b.t, look, desk+"/keep")); kept.StatusCode != http.StatusOK || !strings.Contains(kept.text, "kept") {
		b.t.Fatalf("not kept: %s\n%s", kept.Status, kept.text)
	}
	return look
}

// TestOwnRule goes the whole way: a rule is changed in its form, looked at, gone back to,
// kept, seen where it counts, changed again, and taken back.
func TestOwnRule(t *testing.T) {
	b, links := newDemo(t, loreDay)
	b.open()
	feed := strings.TrimPrefix(links.Feeds[0], "http://trees.example")
	before, rule := b.get(feed).text, "/lore/rules/repot-deciduous-field-soil"
	if page := b.page(rule); len(find(page.node(t), "a", "href", ownDesk+"/rules/repot-deciduous-field-soil/edit")) != 1 {
		t.Fatal(page.text)
	}
	form := typedIn(t, b.page(ownDesk+"/rules/repot-deciduous-field-soil/edit"), ownDesk+"/look")
	if form.Get("opens_days") != "0" || form.Get("do") != "yes" || form.Get("rest") != "1" || form.Get("minutes") != "180" || form.Get("after") != "0" {
		t.Fatalf("the form has %v", form)
	}
	form.Set("opens_days", "soon")
	form.Set("minutes", "50000")
	form.Set("opens_at", "date")
	form.Set("opens_date", "13-40")
	form.Set("why", "my trees stand late")
	bad := b.sends(ownDesk+"/look", form)
	n := bad.node(t)
	if bad.StatusCode != http.StatusUnprocessableEntity || len(find(n, "p", "id", "opens_days-fault")) != 1 || len(find(n, "p", "id", "minutes-fault")) != 1 || len(find(n, "p", "id", "opens_date-fault")) != 1 {
		t.Fatalf("%s\n%s", bad.Status, bad.text)
	}
	if again := typedIn(t, bad, ownDesk+"/look"); again.Get("opens_days") != "soon" || again.Get("minutes") != "50000" || again.Get("why") != "my trees stand late" || again.Get("opens_date") != "13-40" {
		t.Errorf("what was typed is lost: %v", again)
	}
	form.Set("opens_days", "6")
	form.Set("minutes", "200")
	form.Set("opens_at", "")
	look := b.sends(ownDesk+"/look", form)
	said := text(look.node(t))
	for _, want := range []string{"season 2027: moves", "Now", "Then", "Said of it then: First repot out of field soil, about 3 h 20 min for a tree", "opens: {at: phase, days: 6, phase: bud-swell}", "Nothing is kept yet"} {
		if !strings.Contains(said, want) {
			t.Errorf("the look does not say %q: %s", want, said)
		}
	}
	if after := b.get(feed).text; after != before {
		t.Error("looking changed the feed")
	}
	hidden := typedIn(t, look, ownDesk+"/look") // the way back
	if hidden.Get("back") != "1" {
		t.Fatal(hidden)
	}
	if back := typedIn(t, b.sends(ownDesk+"/look", hidden), ownDesk+"/look"); back.Get("opens_days") != "6" || back.Get("why") != "my trees stand late" {
		t.Errorf("going back loses %v", back)
	}
	kept := b.sends(ownDesk+"/keep", typedIn(t, look, ownDesk+"/keep"))
	if n := kept.node(t); len(find(n, "article", "class", "card")) != 1 || !strings.Contains(text(n), "my trees stand late") || !strings.Contains(text(n), "written, and stands") {
		t.Fatalf("%s\n%s", kept.Status, kept.text)
	}
	if after := b.get(feed).text; after == before || strings.Count(after, "SEQUENCE:1") == 0 {
		t.Error("the feed is as before")
	}
	if page := text(b.page(rule).node(t)); !strings.Contains(page, "your own since 12 February 2027") || !strings.Contains(page, "It changes what is built in (lore/rules/repot-broadleaf.yaml)") || !strings.Contains(page, "6 days after") {
		t.Error(page)
	}
	if anonymous := text(b.get(rule).node(t)); strings.Contains(anonymous, "your own") {
		t.Error("a stranger reads it")
	}

	// Two windows of a browser: who sees an older version is told so, and loses nothing.
	stale := typedIn(t, b.page(ownDesk+"/rules/repot-deciduous-field-soil/edit"), ownDesk+"/look")
	newer := b.page(ownDesk + "/rules/repot-deciduous-field-soil/edit")
	form = typedIn(t, newer, ownDesk+"/look")
	form.Set("do", "no")
	look = b.sends(ownDesk+"/look", form)
	if said := text(look.node(t)); !strings.Contains(said, "season 2027: goes") || !strings.Contains(said, "off: true") {
		t.Error(said)
	}
	b.sends(ownDesk+"/keep", typedIn(t, look, ownDesk+"/keep"))
	if page := text(b.page(rule).node(t)); !strings.Contains(page, "Switched off") {
		t.Error(page)
	}
	stale.Set("opens_days", "9")
	late := b.sends(ownDesk+"/keep", stale)
	if late.StatusCode != http.StatusConflict || typedIn(t, late, ownDesk+"/look").Get("opens_days") != "9" || !strings.Contains(late.text, "by version 2") {
		t.Errorf("%s\n%s", late.Status, late.text)
	}

	// An earlier version is had back, then all is taken back.
	if v := b.page(ownDesk + "/versions/1"); !strings.Contains(text(v.node(t)), "days: 6") || len(find(v.node(t), "a", "href", ownDesk+"/add?from=1")) != 1 {
		t.Errorf("%s\n%s", v.Status, v.text)
	}
	form = typedIn(t, b.page(ownDesk+"/add?from=1"), ownDesk+"/look")
	look = b.sends(ownDesk+"/look", form)
	b.sends(ownDesk+"/keep", typedIn(t, look, ownDesk+"/keep"))
	withdraw := typedIn(t, b.page(ownDesk), ownDesk+"/look")
	look = b.sends(ownDesk+"/look", withdraw)
	if said := text(look.node(t)); !strings.Contains(said, "what you wrote is taken back") || !strings.Contains(said, "season 2027: moves") {
		t.Error(said)
	}
	gone := b.sends(ownDesk+"/keep", typedIn(t, look, ownDesk+"/keep"))
	if n := gone.node(t); len(find(n, "article", "class", "card")) != 0 || strings.Count(text(n), "(rule repot-deciduous-field-soil):") != 4 {
		t.Errorf("%s", text(n))
	}
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	versions, err := b.store.Versions(b.ctx(), calendar.Whose{Grower: g.ID})
	b.must(err)
	if len(versions) != 4 || versions[0].Text != versions[2].Text || !versions[3].Withdrawn || versions[0].Why != "my trees stand late" {
		t.Errorf("%+v", versions)
	}
}

// TestOwnText: a text tells its faults by line, field and value, and what is typed stays;
// what is good is planned, also a work and a species that nobody else knows.
func TestOwnText(t *testing.T) {
	b, _ := newDemo(t, loreDay)
	b.open()
	form := typedIn(t, b.page(ownDesk+"/add?what=rule"), ownDesk+"/look")
	example := form.Get("text")
	for bad, want := range map[string]string{
		strings.Replace(example, "minutes: 5", "minutes: many", 1): "Line 9: rule my-moss: minutes: “many”: want a whole number.",
		strings.Replace(example, "bud-swell", "bud-swollen", 1):    "Line 6: rule my-moss: opens.phase: “bud-swollen”: there is no such phase",
		"rules: [":                 "is not YAML",
		"":                         "holds nothing",
		"works: []":                "Want a rule, a caution or a species.",
		"rules: [{id: &a x}]":      "anchors, aliases and tags",
		strings.Repeat("#", 16400): "want at most 16384",
		"rules: [{id: repot-deciduous, amends: true, rest: 9}]": "rest: “9”: want 0 to 4 growing seasons",
	} {
		form.Set("text", bad)
		a := b.sends(ownDesk+"/look", form)
		if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(text(a.node(t)), want) || typedIn(t, a, ownDesk+"/look").Get("text") != bad {
			t.Errorf("%q: %s: want %q\n%s", bad, a.Status, want, text(a.node(t)))
		}
		if k := b.sends(ownDesk+"/keep", form); k.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%q is kept: %s", bad, k.Status)
		}
	}
	// Nor is what says nothing, of a subject that only the form names.
	form.Set("text", "rules: []")
	form.Set("subject", "rule nothing")
	if k := b.sends(ownDesk+"/keep", form); k.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(k.text, "Want a rule, a caution or a species.") {
		t.Errorf("nothing is kept: %s", k.Status)
	}
	// Faults without end are not all told.
	form.Set("subject", "")
	form.Set("text", "rules: ["+strings.Repeat("{id: x},", 1000)+"]")
	if a := b.sends(ownDesk+"/look", form); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, " more.") || strings.Count(a.text, "Line 1: ") != 50 {
		t.Errorf("a thousand faults: %s, %d told", a.Status, strings.Count(a.text, "Line 1: "))
	}
	look := b.keepText(ownDesk, example, "")
	if said := text(look.node(t)); !strings.Contains(said, "Mist the moss, season 2027: comes") {
		t.Error(said)
	}
	if page := b.page("/trees/ridge-maple/log"); !strings.Contains(page.text, "did:mist-moss") {
		t.Error("the work of one's own cannot be logged")
	}
	twice := typedIn(t, b.page(ownDesk+"/add?what=rule"), ownDesk+"/look")
	if a := b.sends(ownDesk+"/look", twice); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "already, on 12 February 2027") {
		t.Errorf("written twice: %s", a.Status)
	}

	species := typedIn(t, b.page(ownDesk+"/add?what=species"), ownDesk+"/look")
	b.keepText(ownDesk, species.Get("text"), "")
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	places, err := b.store.Places(b.ctx(), g.ID)
	b.must(err)
	at := "/places/" + url.PathEscape(places[0].ID) + "/trees"
	tree := url.Values{"_csrf": {species.Get("_csrf")}, "name": {"red cedrela"}, "species": {"Chinese cedrela"}, "origin": {"nursery"}}
	if a := b.sends(at, tree); !strings.Contains(a.text, "red cedrela is kept") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if a := b.page("/trees/red-cedrela"); !strings.Contains(a.text, "Toona sinensis") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	// The garden is taken along with its rules, into a service that knows nothing of them.
	file := b.page("/account/garden.json").text
	there, _ := newDemo(t, loreDay)
	a, err := calendar.ReadArchiveBy("garden.json", []byte(file), func(own []calendar.ArchiveRule) *calendar.Lore { return there.server.cfg.Ground.Archived(own) }, date(2027, 2, 13))
	b.must(err)
	d, err := Add(t.Context(), there.store, &a.Growers[0], "newcomer")
	b.must(err)
	if _, err := d.Write(t.Context(), there.server.cfg); err != nil {
		t.Fatal(err)
	}
	garden, err := there.server.garden(t.Context(), "newcomer")
	b.must(err)
	if tree, _, _ := garden.tree("red-cedrela"); tree == nil || len(garden.without)+len(garden.left) > 0 {
		t.Errorf("left behind: %v %v", garden.without, garden.left)
	}

	// The species cannot be taken back while a tree is of it.
	withdraw := url.Values{"_csrf": {species.Get("_csrf")}, "mode": {"withdraw"}, "subject": {"species Toona sinensis"}, "after": {"2"}}
	if a := b.sends(ownDesk+"/look", withdraw); !strings.Contains(a.text, "could then not be planned") || len(find(a.node(t), "form", "action", ownDesk+"/keep")) > 0 && strings.Contains(a.text, "<button>Take it back") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if a := b.sends(ownDesk+"/keep", withdraw); a.StatusCode != http.StatusConflict {
		t.Errorf("taken back: %s", a.Status)
	}

	// The values of a species that is built in.
	values := typedIn(t, b.page(ownDesk+"/species/acer-campestre/edit"), ownDesk+"/look")
	values.Set("young", "1")
	values.Set("building", "0.5")
	values.Set("refined", "4")
	if a := b.sends(ownDesk+"/look", values); a.StatusCode != http.StatusUnprocessableEntity || len(find(a.node(t), "p", "id", "building-fault")) != 1 {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	values.Set("building", "2,5")
	values.Set("common", "ridge maple, field maple")
	kept := b.sends(ownDesk+"/keep", values)
	if kept.StatusCode != http.StatusOK {
		t.Fatal(kept.text)
	}
	page := text(b.page("/lore/species/acer-campestre").node(t))
	if !strings.Contains(page, "every 1 growing season young, 2.5 when building, 4 refined Source: changed since, from memory") || !strings.Contains(page, "ridge maple, field maple") {
		t.Error(page)
	}
	if a := b.page("/lore?q=ridge+maple"); !strings.Contains(a.text, "/lore/species/acer-campestre") {
		t.Error("it is not found by its new name")
	}
}

// TestFaultAfterAnUpgrade: words that by the lore of today have a fault are left out, told
// to their owner and in the log, and stop no plan.
func TestFaultAfterAnUpgrade(t *testing.T) {
	b, _ := newDemo(t, loreDay)
	b.open()
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	of := calendar.Whose{Grower: g.ID}
	for subject, text := range map[string]string{
		"rule long-gone":       "rules: [{id: long-gone, amends: true, rest: 2}]",
		"rule repot-deciduous": "rules: [{id: repot-deciduous, amends: true, rest: 2}]",
	} {
		_, err := b.store.Amend(b.ctx(), calendar.Amendment{Whose: of, Subject: subject, At: loreDay, Who: g.ID, Text: text}, 0)
		b.must(err)
	}
	known, err := b.server.loreOf(b.ctx(), g.ID)
	b.must(err)
	if r, _ := known.lore.RuleByID("repot-deciduous"); r.Rest != 2 || len(known.left) != 1 {
		t.Errorf("rest %g, left %v", r.Rest, known.left)
	}
	places, err := b.store.Places(b.ctx(), g.ID)
	b.must(err)
	b.must(b.store.PutTree(b.ctx(), calendar.Kept{Grower: g.ID, Place: places[0].ID, Tree: calendar.Tree{ID: "odd", Name: "odd one", Species: "Toona sinensis", Origin: calendar.Nursery}}))
	page := b.page(ownDesk)
	said := text(page.node(t))
	if !strings.Contains(said, "It is left out of the plan") || !strings.Contains(said, "Line 1: rule long-gone: there is no such rule to amend") || !strings.Contains(said, "Not planned: odd one: ") {
		t.Error(said)
	}
	if home := b.page("/"); home.StatusCode != http.StatusOK || !strings.Contains(home.text, "ridge maple") {
		t.Errorf("no plan: %s", home.Status)
	}
}
