package feeds

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/feeds/ics/icstest"
)

func reads(change func(url.Values)) url.Values {
	v := url.Values{"language": {"de"}, "temperature": {"F"}, "volume": {"quarts"}, "dates": {"iso"}, "week": {"6"}}
	if change != nil {
		change(v)
	}
	return v
}

func TestAGrowerChoosesHowToRead(t *testing.T) {
	b := newBed(t)
	b.open()
	a := b.postTo("/account", "/account/reading", reads(nil))
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "Gespeichert: Seiten, Kalender und Formulare") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	want := calendar.Locale{Language: "de", Temperature: "F", Volume: "quarts", Dates: "iso", WeekStart: time.Saturday}
	if l, err := b.store.Locale(b.ctx(), "ada"); err != nil || l != want {
		t.Errorf("%+v, %v", l, err)
	}
	for name, value := range map[string]string{"language": "de", "temperature": "F", "volume": "quarts", "dates": "iso", "week": "6"} {
		sel := find(a.node(t), "select", "name", name)
		if len(sel) != 1 {
			t.Fatalf("%d fields %s", len(sel), name)
		}
		for _, o := range find(sel[0], "option", "", "") {
			if hasAttr(o.Attr, "selected") != (attr(o, "value") == value) {
				t.Errorf("%s: option %q", name, attr(o, "value"))
			}
		}
	}
	// The week begins with the day chosen, and each field keeps its own day.
	page := b.send(b.client, http.MethodGet, "/hours", nil)
	n := page.node(t)
	var days []string
	for _, l := range find(find(n, "div", "class", "week")[0], "label", "", "") {
		days = append(days, text(l)+" "+attr(find(l, "input", "", "")[0], "name"))
	}
	if got := strings.Join(days, ", "); got != "Samstag day_6, Sonntag day_0, Montag day_1, Dienstag day_2, Mittwoch day_3, Donnerstag day_4, Freitag day_5" {
		t.Errorf("the week: %s", got)
	}
	b.postTo("/hours", "/hours", url.Values{"day_6": {"2,5"}, "day_1": {"1"}})
	if h, err := b.store.Hours(b.ctx(), "ada"); err != nil || h == nil || h.Weekdays != [7]int{0, 60, 0, 0, 0, 0, 150} {
		t.Errorf("hours %+v, %v", h, err)
	}
	for field, change := range map[string]func(url.Values){
		"language": func(v url.Values) { v.Set("language", "tlh") }, "temperature": func(v url.Values) { v.Set("temperature", "K") },
		"volume": func(v url.Values) { v.Set("volume", "x") }, "dates": func(v url.Values) { v.Set("dates", "x") }, "week": func(v url.Values) { v.Set("week", "2") },
		"no week": func(v url.Values) { v.Del("week") },
	} {
		if a := b.postTo("/account", "/account/reading", reads(change)); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "Wählen Sie aus den Listen") {
			t.Errorf("%s: %s", field, a.Status)
		}
	}
	if l, err := b.store.Locale(b.ctx(), "ada"); err != nil || l != want {
		t.Errorf("after what cannot be: %+v, %v", l, err)
	}
}

// TestWhoIsNotKnownIsAskedTheBrowser: pages before the sign-in, and those of a grower who
// chose nothing; what was chosen holds whatever the browser asks for.
func TestWhoIsNotKnownIsAskedTheBrowser(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutRegion(b.ctx(), valley))
	lang := func(path string, accept string) string {
		a := b.send(b.client, http.MethodGet, path, nil, "Accept-Language", accept)
		return attr(find(a.node(t), "html", "", "")[0], "lang")
	}
	for _, path := range []string{"/", "/sign-in", "/nowhere", "/r/valley"} {
		if de, en := lang(path, "de-AT"), lang(path, "fr"); de != "de" || en != "en" {
			t.Errorf("%s: %s and %s", path, de, en)
		}
	}
	a := b.get("/r/valley", "Accept-Language", "de")
	if !slices.Contains(a.Header.Values("Vary"), "Accept-Language") || !strings.Contains(a.text, "Laubbäume") {
		t.Errorf("a region's page: Vary %q\n%s", a.Header.Values("Vary"), a.text)
	}
	if en := b.get("/r/valley"); en.Header.Get("ETag") == a.Header.Get("ETag") {
		t.Error("both languages of a region's page have one entity tag")
	}
	b.open()
	if de, en := lang("/", "de"), lang("/", "en"); de != "de" || en != "en" {
		t.Errorf("who chose nothing: %s and %s", de, en)
	}
	b.must(b.store.PutLocale(b.ctx(), "ada", calendar.Locale{Language: "de", WeekStart: time.Monday}))
	if got := lang("/", "en"); got != "de" {
		t.Errorf("who chose German: %s", got)
	}
}

// TestAFeedInAnotherLanguage: a change of the language makes a new edition once, in which
// the sequence of what reads differently moves once, and identifiers stay.
func TestAFeedInAnotherLanguage(t *testing.T) {
	b, links := newDemo(t, time.Date(2027, time.April, 12, 7, 0, 0, 0, time.UTC))
	path := strings.TrimPrefix(links.Feeds[0], "http://trees.example")
	first := b.get(path)
	b.must(b.store.PutLocale(b.ctx(), "demo", calendar.Locale{Language: "de", WeekStart: time.Monday}))
	german := b.get(path)
	again := b.get(path, "If-None-Match", german.Header.Get("ETag"))
	if again.StatusCode != http.StatusNotModified {
		t.Errorf("polled again: %s", again.Status)
	}
	unfold := strings.NewReplacer("\r\n ", "", "\r\n", "\n")
	before, after := unfold.Replace(first.text), unfold.Replace(german.text)
	for _, s := range []string{"SUMMARY:Umtopfen: ", "Die Tage sind Vorhersagen: Sehen Sie erst den Baum an.", "Öffnet: ", "CATEGORIES:Schutz", "wahrscheinlich (", "Sägen\\, Scheren und Messer schneiden in Hände"} {
		if !strings.Contains(after, s) {
			t.Errorf("the German feed does not say %q", s)
		}
	}
	for _, s := range []string{"Caution:", "Opens:", "very likely", "They rest on", "stage:"} {
		if strings.Contains(after, s) {
			t.Errorf("the German feed says %q", s)
		}
	}
	of := func(text, property string) (out []string) {
		for line := range strings.Lines(text) {
			if v, ok := strings.CutPrefix(strings.TrimSpace(line), property+":"); ok {
				out = append(out, v)
			}
		}
		slices.Sort(out)
		return out
	}
	if !slices.Equal(of(before, "UID"), of(after, "UID")) || len(of(after, "UID")) < 50 {
		t.Error("identifiers changed with the language")
	}
	if was, is := slices.Compact(of(before, "SEQUENCE")), slices.Compact(of(after, "SEQUENCE")); !slices.Equal(was, []string{"0"}) || !slices.Equal(is, []string{"1"}) {
		t.Errorf("sequences %q, then %q", was, is)
	}
	tasks := b.get(strings.TrimSuffix(path, ".ics") + "/tasks.ics")
	icstest.Check(t, map[string][]byte{"german": []byte(german.text), "german-tasks": []byte(tasks.text)})
}

// TestFormsInTheGrowersUnits: what is typed in Fahrenheit and quarts is kept in Celsius and
// litres, shown as it was typed, and refused in the same units.
func TestFormsInTheGrowersUnits(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutLocale(b.ctx(), "ada", calendar.Locale{Temperature: "F", Volume: "quarts", WeekStart: time.Monday}))
	b.open()
	value := func(path, name string) string {
		t.Helper()
		return attr(find(b.send(b.client, http.MethodGet, path, nil).node(t), "input", "name", name)[0], "value")
	}
	b.postTo(northReadings, northReadings, reading("2027-03-01", "27.7", "50", "1.5"))
	series, err := b.store.Readings(b.ctx(), "ada", "north")
	b.must(err)
	if r := series[0].Readings[0]; len(series) != 1 || r.Tmin != -2.388888889 || r.Tmax != 10 || r.Prcp != 1.5 {
		t.Errorf("kept %+v", series)
	}
	page := northReadings + "?on=2027-03-01"
	if low, high := value(page, "tmin"), value(page, "tmax"); low != "27.7" || high != "50" {
		t.Errorf("shown again as %s and %s", low, high)
	}
	if list := text(find(b.send(b.client, http.MethodGet, northReadings, nil).node(t), "ul", "class", "past")[0]); !strings.Contains(list, "lowest 27.7 °F, highest 50 °F, rain 1.5 mm") {
		t.Errorf("the list: %s", list)
	}
	for low, says := range map[string]string{
		"141": "from -130 to 140 °F", "-131": "from -130 to 140 °F", "60": "the lowest temperature, 60 °F, must not be above the highest of the day, 50 °F.", "warm": "such as 25.7",
	} {
		a := b.postTo(northReadings, northReadings, reading("2027-03-01", low, "", ""))
		if got := attr(find(a.node(t), "input", "name", "tmin")[0], "value"); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, says) || got != low {
			t.Errorf("%s: %s, typed %q\n%s", low, a.Status, got, a.text)
		}
	}

	tree := url.Values{"name": {"quart tree"}, "species": {"field maple"}, "origin": {"nursery"}, "litres": {"4.5"}}
	b.postTo("/places/north/trees", "/places/north/trees", tree)
	litres := func() float64 {
		trees, err := b.store.Trees(b.ctx(), "ada")
		b.must(err)
		for _, k := range trees {
			if k.ID == "quart-tree" {
				return k.Container.Litres
			}
		}
		t.Fatal("no tree")
		return 0
	}
	if got := litres(); got != 4.258588257 { // 4.5 quarts of 0.946352946 litres
		t.Errorf("4.5 quarts are kept as %v litres", got)
	}
	if got := value("/trees/quart-tree/edit", "litres"); got != "4.5" {
		t.Errorf("shown again as %s", got)
	}
	tree.Set("name", "another")
	for _, bad := range []string{"0.05", "529", "x"} {
		tree.Set("litres", bad)
		a := b.postTo("/places/north/trees", "/places/north/trees", tree)
		if got := attr(find(a.node(t), "input", "name", "litres")[0], "value"); a.StatusCode != http.StatusUnprocessableEntity || got != bad || !strings.Contains(a.text, "Want 0.053 to 528 US quarts") {
			t.Errorf("%s: %s, typed %q", bad, a.Status, got)
		}
	}
	// A pot of which litres are known is not changed by what was not.
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	kept := trees[slices.IndexFunc(trees, func(k calendar.Kept) bool { return k.ID == "quart-tree" })]
	kept.Container.Litres = 10
	b.must(b.store.PutTree(b.ctx(), kept))
	shown := value("/trees/quart-tree/edit", "litres")
	b.postTo("/trees/quart-tree/edit", "/trees/quart-tree/edit", url.Values{"name": {"quart tree"}, "species": {"field maple"}, "origin": {"nursery"}, "litres": {shown}})
	if got := litres(); got != 10 {
		t.Errorf("10 litres, shown as %s, came back as %v", shown, got)
	}

	weather := "/places/north/weather"
	b.postTo(weather, weather, url.Values{"do": {"frost"}, "last": {"04-25"}, "first": {"10-15"}, "mean": {"48.2"}, "range": {"32.4"}})
	p, err := b.store.Place(b.ctx(), "ada", "north")
	b.must(err)
	if f := p.Weather.Frost; f == nil || f.Mean != 9 || f.Range != 18 {
		t.Errorf("frost %+v", f)
	}
	a := b.postTo(weather, weather, url.Values{"do": {"frost"}, "last": {"04-25"}, "first": {"10-15"}, "mean": {"-23"}, "range": {"127"}})
	if !strings.Contains(a.text, "Want °F from -22 to 95.") || !strings.Contains(a.text, "Want °F from 0 to 126.") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	b.postTo(weather, weather, url.Values{"do": {"normals"}, "tmin": {"14 14 23 32 41 50 59 59 50 41 32 23"}, "tmax": {"32 32 41 50 59 68 77 77 68 59 50 41"}})
	if p, err = b.store.Place(b.ctx(), "ada", "north"); err != nil || p.Weather.Normals == nil || p.Weather.Normals.Tmin[0] != -10 || p.Weather.Normals.Tmax[6] != 25 {
		t.Errorf("normals %+v, %v", p.Weather.Normals, err)
	}
}

// TestGermanNamesOfSpecies are taken, and what is typed comes back as it was.
func TestGermanNamesOfSpecies(t *testing.T) {
	b := newBed(t)
	b.must(b.store.PutLocale(b.ctx(), "ada", calendar.Locale{Language: "de", WeekStart: time.Monday}))
	b.open()
	form := url.Values{"name": {"Ahorn"}, "species": {" feldahorn"}, "origin": {""}}
	a := b.postTo("/places/north/trees", "/places/north/trees", form)
	if got := attr(find(a.node(t), "input", "name", "species")[0], "value"); a.StatusCode != http.StatusUnprocessableEntity || got != " feldahorn" {
		t.Errorf("%s: typed %q", a.Status, got)
	}
	form.Set("origin", "nursery")
	b.postTo("/places/north/trees", "/places/north/trees", form)
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	if last := trees[len(trees)-1]; last.Name != "Ahorn" || last.Species != "Acer campestre" {
		t.Errorf("kept %+v", last.Tree)
	}
}

// TestALocaleIsTakenAlong to another service, and gives way to one that is chosen there.
func TestALocaleIsTakenAlong(t *testing.T) {
	b := newBed(t)
	chosen := calendar.Locale{Language: "de", Dates: calendar.DatesISO, WeekStart: time.Sunday}
	b.must(b.store.PutLocale(b.ctx(), "ada", chosen))
	all, err := Collect(b.ctx(), b.store, "ada")
	b.must(err)
	if l := all.Growers[0].Locale; l == nil || *l != chosen {
		t.Fatalf("taken along: %+v", l)
	}
	for id, was := range map[string]calendar.Locale{"eve": calendar.DefaultLocale(), "new": {}, "bea": {Temperature: "F", WeekStart: time.Monday}} {
		want := chosen
		if id != "new" {
			b.grower(id, "south")
			b.must(b.store.PutLocale(b.ctx(), id, was))
		}
		if id == "bea" {
			want = was
		}
		d, err := Add(b.ctx(), b.store, &all.Growers[0], id)
		b.must(err)
		_, err = d.Write(b.ctx(), b.server.cfg)
		b.must(err)
		if l, err := b.store.Locale(b.ctx(), id); err != nil || l != want {
			t.Errorf("%s: %+v, %v; want %+v", id, l, err, want)
		}
	}
}
