package feeds

import (
	"bytes"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/source"
	"budswell/feeds/ics/icstest"
)

// newcomer is a bed with the whole lore and the real planner, in which a grower without
// anything is signed in.
func newcomer(t *testing.T, change ...func(*Config)) *bed {
	t.Helper()
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	b := newBed(t, append([]func(*Config){func(c *Config) {
		c.Lore = known
		c.ReadStation = func(name string, r io.Reader) (*climate.Record, error) { return source.Read(name, r) }
		c.Services = []string{calendar.SourceOpenMeteo}
	}}, change...)...)
	b.server.planner = newPlanner(known)
	secret, hash, err := NewSecret(b.server.cfg.Random)
	b.must(err)
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: "new", Name: "New", KeyHash: hash}))
	b.key = secret
	b.open()
	return b
}

// sees returns the page at a path as the grower sees it.
func (b *bed) sees(path string) answered {
	b.t.Helper()
	return b.send(b.client, http.MethodGet, path, nil)
}

// fill sends the one form of a page whose action is path, with its fields as they are but for
// those given.
func (b *bed) fill(page answered, path string, fields ...string) answered {
	b.t.Helper()
	forms := find(page.node(b.t), "form", "action", path)
	if len(forms) == 0 {
		b.t.Fatalf("no form for %s in\n%s", path, page.text)
	}
	v := url.Values{}
	for _, in := range find(forms[0], "", "", "") {
		name := attr(in, "name")
		switch {
		case name == "" || attr(in, "type") == "file" || attr(in, "type") == "checkbox":
		case in.Data == "input":
			v.Add(name, attr(in, "value"))
		case in.Data == "textarea":
			v.Add(name, text(in))
		case in.Data == "select":
			v.Add(name, picked(in))
		}
	}
	for i := 0; i+1 < len(fields); i += 2 {
		v.Set(fields[i], fields[i+1])
	}
	return b.form(b.client, path, flat(v)...)
}

func picked(sel *html.Node) string {
	options := find(sel, "option", "", "")
	for _, o := range options {
		if hasAttr(o.Attr, "selected") {
			return attr(o, "value")
		}
	}
	return attr(options[0], "value")
}

func flat(v url.Values) []string {
	var out []string
	for name, values := range v {
		for _, s := range values {
			out = append(out, name, s)
		}
	}
	return out
}

// sendFile sends a file as the pages of a place do.
func (b *bed) sendFile(path, name, content string) answered {
	b.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	f, err := w.CreateFormFile("file", name)
	b.must(err)
	_, err = io.WriteString(f, content)
	b.must(err)
	b.must(w.Close())
	req, err := http.NewRequestWithContext(b.ctx(), http.MethodPost, b.http.URL+path, &body)
	b.must(err)
	req.Header.Set("Content-Type", w.FormDataContentType())
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	resp, err := b.client.Do(req)
	b.must(err)
	defer func() { _ = resp.Body.Close() }()
	out, err := io.ReadAll(resp.Body)
	b.must(err)
	return answered{resp, string(out)}
}

// refused checks that an answer is a form that was not taken, with a fault about it and what was
// typed.
func refused(t *testing.T, name string, a answered, words string, typed ...string) {
	t.Helper()
	faults := ""
	for _, p := range find(a.node(t), "p", "class", "fault") {
		faults += text(p) + "\n"
	}
	if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(faults, words) {
		t.Errorf("%s: %s: %q, want %q", name, a.Status, faults, words)
	}
	for _, v := range typed {
		if !strings.Contains(html.UnescapeString(a.text), v) {
			t.Errorf("%s: %q is lost", name, v)
		}
	}
}

// TestFromNothingToAFeed at places of every kind, with nothing typed but what is asked.
func TestFromNothingToAFeed(t *testing.T) {
	bodies := map[string][]byte{}
	for n, row := range []struct {
		search, choose string // a name and the beginning of the line to choose; or coordinates
		says           []string
		species        string
	}{
		{"Bad Nauheim", "Bad Nauheim", []string{"January", "July"}, "field maple"},
		{"Christchurch, NZ", "Christchurch", []string{"July", "usually"}, "Acer palmatum"},
		{"1.35, 103.82", "", []string{"Last frost of spring", "none"}, "Ficus microcarpa"},
		{"69.65,18.96,10", "", []string{"°C"}, "silver birch"},
		{"東京", "", nil, ""},
	} {
		b := newcomer(t)
		if n == 0 {
			b.set(time.Date(2027, time.February, 20, 6, 0, 0, 0, time.UTC))
		}
		page := b.sees("/start/place?q=" + url.QueryEscape(row.search))
		if row.species == "" { // the gazetteer has names in Latin letters
			refused(t, row.search, page, "No place of this name is known", row.search)
			continue
		}
		if row.choose != "" {
			var link string
			for _, a := range find(page.node(t), "a", "", "") {
				if strings.HasPrefix(text(a), row.choose) && link == "" {
					link = attr(a, "href")
				}
			}
			if link == "" || !strings.Contains(page.text, "GeoNames") || !strings.Contains(page.text, "stations around are at") {
				t.Fatalf("%s is not found, or not credited:\n%s", row.search, page.text)
			}
			page = b.sees(link)
		}
		page = b.fill(page, "/places", "name", "Höhe <b>")
		if page.Request.URL.Path != "/places/höhe-b/weather" || len(find(page.node(t), "li", "aria-current", "step")) != 1 {
			t.Fatalf("%s: %s %s\n%s", row.search, page.Status, page.Request.URL, page.text)
		}
		for _, words := range row.says {
			if !strings.Contains(text(page.node(t)), words) {
				t.Errorf("%s: the atlas does not say %q", row.search, words)
			}
		}
		page = b.fill(b.sees("/places/h%C3%B6he-b/trees"), "/places/h%c3%b6he-b/trees", "name", "楓 "+row.search, "species", row.species)
		if page.StatusCode != http.StatusOK || !strings.Contains(page.text, "is kept") {
			t.Fatalf("%s: %s\n%s", row.search, page.Status, page.text)
		}
		page = b.fill(b.sees("/start"), "/start/feed")
		links := find(page.node(t), "input", "class", "link")
		if len(links) != 3 || len(find(page.node(t), "svg", "class", "qr")) != 1 {
			t.Fatalf("%s: no link\n%s", row.search, page.text)
		}
		feed := b.get(strings.TrimPrefix(attr(links[0], "value"), "http://trees.example"))
		bodies[fmt.Sprint("place", n)] = []byte(feed.text)
		if n == 0 && !strings.Contains(feed.text, "BEGIN:VEVENT") {
			t.Errorf("the feed is empty:\n%s", feed.text)
		}
		if page := b.sees("/start/feed"); strings.Contains(page.text, attr(links[0], "value")) || !strings.Contains(page.text, "Make another link") {
			t.Error("the link is shown twice")
		}
		if page := b.sees("/"); page.StatusCode != http.StatusOK || !strings.Contains(page.text, "Höhe &lt;b&gt;") || strings.Contains(page.text, "Höhe <b>") {
			t.Errorf("%s: home: %s", row.search, page.Status)
		}
	}
	icstest.Check(t, bodies)
}

func TestWhereFaults(t *testing.T) {
	b := newcomer(t)
	for q, words := range map[string]string{
		"Nowhereatallton": "No place of this name is known", "91, 8": "-90 to 90", "50": "LAT,LON", "50,8,9000": "metres", "1e999, 3": "-90 to 90",
	} {
		refused(t, q, b.sees("/start/place?q="+url.QueryEscape(q)), words, q)
	}
	good := []string{"name", "shed", "lat", "50.1", "lon", "8.7", "elevation", "120", "tz", "Europe/Berlin"}
	for name, row := range map[string][]string{
		"no name":       {"name", " ", "1 to 100 letters"},
		"a long name":   {"name", strings.Repeat("x", 101), "1 to 100 letters"},
		"latitude":      {"lat", "north", "-90 to 90"},
		"longitude":     {"lon", "181", "-180 to 180"},
		"elevation":     {"elevation", "9000", "-430 to 6000"},
		"not a number":  {"elevation", "NaN", "-430 to 6000"},
		"zone":          {"tz", "Europe/Nowhere", "Europe/Zurich"},
		"the server's":  {"tz", "Local", "Europe/Zurich"},
		"open water":    {"lon", "-40", "Look at the signs first"},
		"the ice":       {"lat", "-80", "Look at the signs first"},
		"half of means": {"lon", "-40", "twelve numbers", "tmin", "1 2 3"},
	} {
		fields := append(append([]string{}, good...), row[3:]...)
		for i := 0; i+1 < len(fields); i += 2 {
			if fields[i] == row[0] {
				fields[i+1] = row[1]
			}
		}
		a := b.form(b.client, "/places", fields...)
		refused(t, name, a, row[2], strings.TrimSpace(row[1]))
	}
	if a := b.send(b.client, http.MethodPost, "/places", url.Values{"name": {"shed"}, "lat": {"50"}, "lon": {"8"}}, "Sec-Fetch-Site", "cross-site"); a.StatusCode != http.StatusForbidden {
		t.Errorf("from another site: %s", a.Status)
	}
	if places, err := b.store.Places(b.ctx(), "new"); err != nil || len(places) != 0 {
		t.Errorf("a place was made: %v %v", places, err)
	}
	// A small island, by means that were typed.
	a := b.fill(b.sees("/start/place?q=30,-40"), "/places", "name", "raft", "tmin", strings.Repeat("15 ", 12), "tmax", strings.Repeat("22,5; ", 12))
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "Monthly means as typed") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	a = b.form(b.client, "/places", good...)
	if a = b.form(b.client, "/places", good...); a.Request.URL.Path != "/places/shed-2/weather" {
		t.Errorf("a second place of the name: %s", a.Request.URL)
	}
}

func TestWeatherOfAPlace(t *testing.T) {
	b := newcomer(t)
	b.form(b.client, "/places", "name", "shed", "lat", "50.1", "lon", "8.7")
	const path = "/places/shed/weather"
	weather := func() climate.Weather {
		p, err := b.store.Place(b.ctx(), "new", "shed")
		b.must(err)
		return p.Weather
	}
	for name, row := range map[string][]string{
		"eleven":        {"twelve numbers", "do", "normals", "tmin", strings.Repeat("1 ", 11), "tmax", strings.Repeat("9 ", 12)},
		"a word":        {"March", "do", "normals", "tmin", "1 2 x 4 5 6 7 8 9 10 11 12", "tmax", strings.Repeat("15 ", 12)},
		"turned round":  {"tmin", "do", "normals", "tmin", strings.Repeat("20 ", 12), "tmax", strings.Repeat("9 ", 12)},
		"no day":        {"25 April", "do", "frost", "last", "30 February", "first", "10-15"},
		"no autumn":     {"frost", "do", "frost", "last", "25 April", "first", "26 April"},
		"contradiction": {"want a mean", "do", "frost", "last", "1 June", "first", "1 September", "mean", "20", "range", "10"},
		"too warm":      {"-30 to 35", "do", "frost", "last", "1 June", "first", "1 September", "mean", "50"},
	} {
		var typed []string
		for i := 3; i+1 < len(row); i += 2 {
			typed = append(typed, strings.TrimSpace(row[i+1]))
		}
		refused(t, name, b.form(b.client, path, row[1:]...), row[0], typed...)
	}
	if w := weather(); w.Normals == nil || w.Normals.Source == "" {
		t.Errorf("the atlas is lost: %+v", w)
	}
	b.form(b.client, path, "do", "normals", "tmin", "-3,-2,0,3,7,10,12,12,9,5,1,-2", "tmax", "2 4 9 14 18 21 24 24 19 13 7 3")
	if w := weather(); w.Normals == nil || w.Normals.Source != "" || w.Normals.Tmin[0] != -3 || w.Normals.Tmax[11] != 3 {
		t.Errorf("normals: %+v", w.Normals)
	}
	b.form(b.client, path, "do", "frost", "last", "25 April", "first", "10-15")
	if w := weather(); w.Normals != nil || w.Frost == nil || w.Frost.Last != (climate.MonthDay{Month: 4, Day: 25}) || w.Frost.Mean < 5 || w.Frost.Mean > 13 {
		t.Errorf("frost: %+v", w.Frost)
	}
	refused(t, "no file", b.form(b.client, "/places/shed/station"), "Pick a file first")
	refused(t, "bad file", b.sendFile("/places/shed/station", "mine.csv", "date,tmin,tmax\n2026-01-01,1,2\n2026-01-02,abc,4\n"), `mine.csv:3: tmin "abc"`)
	var days strings.Builder
	days.WriteString("date,tmin,tmax\n")
	for d := climate.NewDate(2026, 1, 1); d < climate.NewDate(2027, 2, 1); d++ {
		fmt.Fprintf(&days, "%s,%d,%d\n", d, d.Month()%7, 10+d.Month()%7)
	}
	if a := b.sendFile("/places/shed/station", "../mine.csv", days.String()); !strings.Contains(a.text, "mine.csv was read: 396 days") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	if w := weather(); w.Record == nil || len(w.Record.Days) != 396 || w.Frost == nil {
		t.Error("the record is not kept beside what was typed")
	}
	if a := b.sendFile("/places/shed/station", "huge.csv", strings.Repeat("x", 6<<20)); a.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("a huge file: %s", a.Status)
	}
	b.form(b.client, path, "do", "sources", "source", "open-meteo")
	if s, err := b.server.sourcesOf(b.ctx(), "new", "shed"); err != nil || len(s) != 1 || s[0].Kind != "open-meteo" {
		t.Errorf("sources: %v %v", s, err)
	}
	if a := b.form(b.client, path, "do", "sources", "source", "folder"); a.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a folder of the service's machine: %s", a.Status)
	}
	b.form(b.client, path, "do", "sources")
	b.form(b.client, path, "do", "atlas")
	if s, err := b.server.sourcesOf(b.ctx(), "new", "shed"); err != nil || len(s) != 0 || weather().Record != nil || weather().Normals == nil {
		t.Errorf("back to the atlas: %v %v %+v", s, err, weather())
	}
	if a := b.form(b.client, "/places/north/weather", "do", "atlas"); a.StatusCode != http.StatusNotFound {
		t.Errorf("another's place: %s", a.Status)
	}
}

func TestPlantingFaults(t *testing.T) {
	b := newcomer(t)
	b.form(b.client, "/places", "name", "shed", "lat", "50.1", "lon", "8.7")
	const path = "/places/shed/trees"
	good := []string{"name", "ridge", "species", "field maple", "origin", "collected", "had since", "2020", "last repot", "2023-03", "strength", "strong", "note", `"a" <b>`}
	if a := b.form(b.client, path, good...); !strings.Contains(a.text, "ridge is kept") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	for name, row := range map[string][]string{
		"the same name": {"name", "Ridge", `"Ridge 2"`},
		"no species":    {"species", "field mapel", "did you mean"},
		"tomorrow":      {"had since", "2027-03-02", "up to today"},
		"no litres":     {"litres", "many", "0.05 to 500"},
	} {
		v := url.Values{"name": {"slope"}, "species": {"field maple"}, "origin": {"collected"}}
		v.Set(row[0], row[1])
		a := b.form(b.client, path, flat(v)...)
		refused(t, name, a, row[2], row[1])
	}
	trees, err := b.store.Trees(b.ctx(), "new")
	if err != nil || len(trees) != 1 || len(trees[0].Log) != 3 || trees[0].Note != `"a" <b>` {
		t.Errorf("trees: %+v %v", trees, err)
	}
}

func TestSheetOfTrees(t *testing.T) {
	b := newcomer(t)
	b.form(b.client, "/places", "name", "shed", "lat", "-37.8", "lon", "145")
	const path = "/places/shed/sheet"
	const table = "name;species;origin;last repot\nridge;field maple;collected;2025\nslope;field mapel;collected;\nnorth larch;Larix decidua;collected;2099\n"
	a := b.sendFile(path, "trees.csv", table)
	n := a.node(t)
	rows := find(n, "ul", "class", "rows")
	if a.StatusCode != http.StatusUnprocessableEntity || len(rows) != 1 {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	for _, words := range []string{"Row 3: slope", "species “field mapel”", "did you mean", "Row 4: north larch", "last repot “2099”", "2027-03-01"} {
		if !strings.Contains(text(rows[0]), words) {
			t.Errorf("the rows do not say %q: %s", words, text(rows[0]))
		}
	}
	if trees, err := b.store.Trees(b.ctx(), "new"); err != nil || len(trees) != 0 {
		t.Errorf("trees were added unasked: %v", err)
	}
	a = b.form(b.client, path, "text", table, "do", "add")
	if trees, err := b.store.Trees(b.ctx(), "new"); err != nil || len(trees) != 1 || trees[0].ID != "ridge" {
		t.Errorf("the good one: %+v %v", trees, err)
	}
	kept := text(find(a.node(t), "textarea", "", "")[0])
	if !strings.Contains(a.text, "1 tree added") || !strings.Contains(kept, "slope;field mapel") || strings.Contains(kept, "ridge") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
	a = b.form(b.client, path, "text", "name,species,origin\nslope,field maple,collected", "do", "add")
	if a.Request.URL.Path != "/places/shed/trees" || !strings.Contains(a.text, "1 tree added") {
		t.Errorf("mended: %s %s", a.Status, a.Request.URL)
	}
	for text, words := range map[string]string{"": "nothing in it", "a,b\n1,2": "not known", "name,species,origin\n\"x": "quotation mark"} {
		refused(t, text, b.form(b.client, path, "text", text), words)
	}
	long := "name,species,origin\n" + strings.Repeat(strings.Repeat("x", 150)+",field maple,collected\n", 900)
	if a := b.form(b.client, path, "text", long); a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "Row 901") {
		t.Errorf("a long table: %s", a.Status)
	}
}

// TestNothingTypedOnTheWayIsLost when the sign-in has ended meanwhile.
func TestNothingTypedOnTheWayIsLost(t *testing.T) {
	b := accountBed(t)
	a := b.form(b.newClient(), "/places/north/trees", "name", "ridge 楓", "species", "field maple")
	form := find(a.node(t), "input", "name", "form")
	if a.StatusCode != http.StatusForbidden || len(form) != 1 || !strings.Contains(attr(form[0], "value"), "ridge") {
		t.Errorf("%s\n%s", a.Status, a.text)
	}
}

// day is the day where the places of tests are.
func (b *bed) day() climate.Date { return climate.DateOf(b.now()) }
