package feeds

import (
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

// newClub puts a club into the bed, of which its grower is what role says.
func (b *bed) newClub(id string, role calendar.Role) {
	b.t.Helper()
	b.must(b.store.PutClub(b.ctx(), calendar.Club{ID: id, Name: "Club " + id, Founded: b.now()}))
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: id, Grower: g.ID, Role: role, Since: b.now()}))
}

func (b *bed) changes(region string) string {
	n, err := b.store.RegionChanges(b.ctx(), region)
	b.must(err)
	return number(float64(n))
}

var aBand = url.Values{"region": {"The hill"}, "name": {"Valley floor"}, "where": {"47.05, 8.9"}, "elevation": {"480"}, "weather": {"atlas"}, "changes": {"0"}}

func with(v url.Values, pairs ...string) url.Values {
	out := url.Values{}
	for k, list := range v {
		out[k] = list
	}
	for i := 0; i < len(pairs); i += 2 {
		out[pairs[i]] = []string{pairs[i+1]}
	}
	return out
}

func TestEditorsMakeRegions(t *testing.T) {
	b := newBed(t, func(c *Config) {
		c.ReadStation = func(name string, r io.Reader) (*climate.Record, error) {
			rec := &climate.Record{Source: name, First: date(2020, 1, 1)}
			for range 800 {
				rec.Days = append(rec.Days, climate.Day{Tmin: 1, Tmax: 9, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured})
			}
			return rec, nil
		}
	})
	b.open()
	b.newClub("ridge", calendar.Editor)
	a := b.post("/clubs/ridge/regions/new", with(aBand))
	if a.StatusCode != http.StatusOK || !strings.HasSuffix(a.Request.URL.Path, "/clubs/ridge/regions/the-hill") {
		t.Fatalf("%s at %s\n%s", a.Status, a.Request.URL, a.text)
	}
	r, err := b.store.Region(b.ctx(), "the-hill")
	b.must(err)
	if r.Club != "ridge" || r.Name != "The hill" || r.Bands[0].ID != "valley-floor" || r.Bands[0].Weather.Normals == nil || r.Bands[0].Site.Zone != "Europe/Zurich" {
		t.Errorf("made: %+v", r)
	}
	again := b.post("/clubs/ridge/regions/new", with(aBand))
	if !strings.HasSuffix(again.Request.URL.Path, "/the-hill-2") {
		t.Errorf("a second of the name: at %s", again.Request.URL)
	}

	named := b.post("/clubs/ridge/regions/new", with(aBand, "region", "New"))
	if at := named.Request.URL.Path; at != "/clubs/ridge/regions/new-2" || !strings.Contains(named.text, `action="/clubs/ridge/regions/new-2/end"`) {
		t.Errorf("one that is called as the form for a new one: at %s", at)
	}

	edit := "/clubs/ridge/regions/the-hill"
	shows := url.Values{"name": {"Hill trees"}, "group": {"deciduous"}, "species": {"field maple", "", "Pinus sylvestris"}, "changes": {b.changes("the-hill")}}
	if p := b.post(edit, with(shows, "do", "preview")); !strings.Contains(p.text, "not published yet") || !strings.Contains(p.text, "Hill trees") || p.Header.Get("Cache-Control") != "no-store" {
		t.Errorf("preview: %s, %s", p.Status, p.text)
	}
	if now, _ := b.store.Region(b.ctx(), "the-hill"); now.Name != "The hill" {
		t.Error("what was only to be shown was kept")
	}
	b.post(edit, shows)
	now, err := b.store.Region(b.ctx(), "the-hill")
	b.must(err)
	if now.Name != "Hill trees" || len(now.Groups) != 1 || strings.Join(now.Species, "; ") != "Acer campestre; Pinus sylvestris" || now.Club != "ridge" {
		t.Errorf("changed: %+v", now)
	}

	upper := with(aBand, "name", "Upper slopes", "elevation", "980", "weather", "frost", "last", "10 May", "first", "28 September", "changes", b.changes("the-hill"))
	b.post(edit+"/bands/new", upper)
	lower := with(aBand, "name", "Lake shore", "elevation", "420", "changes", b.changes("the-hill"))
	b.post(edit+"/bands/valley-floor", lower)
	now, err = b.store.Region(b.ctx(), "the-hill")
	b.must(err)
	if len(now.Bands) != 2 || now.Bands[1].Weather.Frost == nil || now.Bands[0].ID != "valley-floor" || now.Bands[0].Name != "Lake shore" || now.Bands[0].Site.Elevation != 420 {
		t.Errorf("bands: %+v", now.Bands)
	}
	b.post(edit+"/bands/upper-slopes/end", url.Values{})
	if last := b.post(edit+"/bands/valley-floor/end", url.Values{}); last.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("the last band was taken: %s", last.Status)
	}
	if no := b.post(edit+"/end", url.Values{}); no.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("ended without the tick: %s", no.Status)
	}
	if page := b.get("/r/the-hill"); page.StatusCode != http.StatusOK {
		t.Errorf("published: %s", page.Status)
	}
	b.post(edit+"/end", url.Values{"sure": {"yes"}})
	if page := b.get("/r/the-hill"); page.StatusCode != http.StatusNotFound {
		t.Errorf("ended, and yet: %s", page.Status)
	}
}

// TestMostRegions: a club that has many regions ends one first; what was typed stays.
func TestMostRegions(t *testing.T) {
	b := newBed(t)
	b.open()
	b.newClub("ridge", calendar.Editor)
	r := valley
	for i := range mostRegions {
		r.ID, r.Club = "valley-"+number(float64(i)), "ridge"
		b.must(b.store.PutRegion(b.ctx(), r))
	}
	a := b.post("/clubs/ridge/regions/new", with(aBand))
	if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "24 regions at most") || attr(find(a.node(t), "input", "name", "region")[0], "value") != "The hill" {
		t.Errorf("one too many: %s\n%s", a.Status, a.text)
	}
	b.must(b.store.EndRegion(b.ctx(), r.ID))
	if a := b.post("/clubs/ridge/regions/new", with(aBand)); a.StatusCode != http.StatusOK {
		t.Errorf("with room: %s", a.Status)
	}
}

func TestBandFormKeepsWhatWasTyped(t *testing.T) {
	b := newBed(t)
	b.open()
	b.newClub("ridge", calendar.Keeper)
	b.post("/clubs/ridge/regions/new", with(aBand))
	edit := "/clubs/ridge/regions/the-hill"
	sound := with(aBand, "name", "Upper slopes", "changes", b.changes("the-hill"))
	for name, c := range map[string]struct {
		form  url.Values
		words string
	}{
		"no name":            {with(sound, "name", " "), "1 to 100 letters"},
		"a name twice":       {with(sound, "name", "Valley floor"), "Another band"},
		"no place":           {with(sound, "where", ""), "Want a town"},
		"an unknown place":   {with(sound, "where", "Nowhereatall"), "no such place known"},
		"south of the rest":  {with(sound, "where", "-33, 19"), "across the equator"},
		"the sea":            {with(sound, "where", "30, -40"), "no land here"},
		"no elevation":       {with(sound, "elevation", ""), "-430 to 6000"},
		"too high":           {with(sound, "elevation", "9000"), "-430 to 6000"},
		"no number":          {with(sound, "elevation", "NaN"), "-430 to 6000"},
		"no such weather":    {with(sound, "weather", "magic"), "Want one of these"},
		"no frost dates":     {with(sound, "weather", "frost"), "Want a day of the year"},
		"few means":          {with(sound, "weather", "normals", "tmin", "1 2 3", "tmax", "4"), "twelve numbers"},
		"a station, no file": {with(sound, "weather", "station"), "Want one of these"},
		"changed meanwhile":  {with(sound, "changes", "0"), "changed by somebody else"},
	} {
		refused(t, name, b.post(edit+"/bands/new", c.form), c.words, c.form.Get("elevation"), strings.TrimSpace(c.form.Get("where")))
	}
	for name, c := range map[string]struct {
		form  url.Values
		words string
	}{
		"no name":           {url.Values{"name": {""}, "changes": {b.changes("the-hill")}}, "1 to 100 letters"},
		"no such species":   {url.Values{"name": {"x"}, "species": {"Acer kampestre"}, "changes": {b.changes("the-hill")}}, "Acer kampestre"},
		"no such group":     {url.Values{"name": {"x"}, "group": {"shrubs"}, "changes": {b.changes("the-hill")}}, "no such group"},
		"changed meanwhile": {url.Values{"name": {"typed name"}, "changes": {"7"}}, "changed by somebody else"},
	} {
		refused(t, name, b.post(edit, c.form), c.words, c.form.Get("name"), c.form.Get("species"))
	}
	r, err := b.store.Region(b.ctx(), "the-hill")
	b.must(err)
	if len(r.Bands) != 1 || r.Name != "The hill" {
		t.Errorf("something of it was kept: %+v", r)
	}
}

// TestOnlyEditorsEdit: to all others there is no such page.
func TestOnlyEditorsEdit(t *testing.T) {
	b := newBed(t)
	b.open()
	b.newClub("ridge", calendar.Plain)
	b.must(b.store.PutClub(b.ctx(), calendar.Club{ID: "other", Name: "Other", Founded: b.now()}))
	r := valley
	r.Club = "other"
	b.must(b.store.PutRegion(b.ctx(), r))
	mine := valley
	mine.ID, mine.Club = "mine", "ridge"
	b.must(b.store.PutRegion(b.ctx(), mine))
	paths := []string{"/regions", "/regions/new", "/regions/valley", "/regions/mine", "/regions/valley/bands/floor", "/regions/mine/bands/floor", "/regions/mine/bands/new"}
	look := func(club string, want int) {
		t.Helper()
		for _, path := range paths {
			if a := b.send(b.client, http.MethodGet, "/clubs/"+club+path, nil); a.StatusCode != want {
				t.Errorf("%s%s: %s, want %d", club, path, a.Status, want)
			}
			if a := b.post("/clubs/"+club+path, with(aBand)); a.StatusCode != want && a.StatusCode != http.StatusMethodNotAllowed {
				t.Errorf("POST %s%s: %s, want %d", club, path, a.Status, want)
			}
		}
	}
	look("ridge", http.StatusNotFound) // a plain member
	look("other", http.StatusNotFound) // of another club
	look("none", http.StatusNotFound)
	g, err := b.store.GrowerByKey(b.ctx(), HashSecret(b.key))
	b.must(err)
	b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: "ridge", Grower: g.ID, Role: calendar.Editor, Since: b.now()}))
	for _, path := range []string{"/regions/valley", "/regions/valley/bands/floor", "/regions/mine/bands/nosuch"} { // another club's region
		if a := b.send(b.client, http.MethodGet, "/clubs/ridge"+path, nil); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", path, a.Status)
		}
	}
	if a := b.send(b.client, http.MethodGet, "/clubs/ridge/regions/mine/bands/floor", nil); a.StatusCode != http.StatusOK {
		t.Errorf("an editor's own: %s", a.Status)
	}
	for _, who := range []string{"valley", "mine"} {
		if _, err := b.store.Region(b.ctx(), who); err != nil {
			t.Errorf("%s: %v", who, err)
		}
	}
}

// TestStationFileOfABand: a file read at another elevation is adjusted to the band's.
func TestStationFileOfABand(t *testing.T) {
	b := newBed(t, func(c *Config) {
		c.ReadStation = func(name string, _ io.Reader) (*climate.Record, error) {
			rec := &climate.Record{Source: name, First: date(2020, 1, 1)}
			for range 800 {
				rec.Days = append(rec.Days, climate.Day{Tmin: 1, Tmax: 9, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured})
			}
			return rec, nil
		}
	})
	b.open()
	b.newClub("ridge", calendar.Editor)
	b.post("/clubs/ridge/regions/new", with(aBand))
	form := with(aBand, "name", "Upper slopes", "elevation", "980", "weather", "station", "station", "480", "changes", b.changes("the-hill"), "_csrf", b.token())
	if a := b.sendBand("/clubs/ridge/regions/the-hill/bands/new", form, "daily.csv"); a.StatusCode != http.StatusOK {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	r, err := b.store.Region(b.ctx(), "the-hill")
	b.must(err)
	rec := r.Bands[1].Weather.Record
	if rec == nil || rec.At(date(2020, 7, 1)).Tmax > 8 || len(rec.Notes) == 0 || r.Bands[1].Weather.Normals == nil {
		t.Errorf("record: %+v", rec)
	}
}

// token is that of the session's forms.
func (b *bed) token() string {
	page := b.send(b.client, http.MethodGet, "/", nil)
	return attr(find(page.node(b.t), "input", "name", "_csrf")[0], "value")
}

// sendBand sends the form of a band with a file.
func (b *bed) sendBand(path string, form url.Values, file string) answered {
	b.t.Helper()
	var body strings.Builder
	w := multipart.NewWriter(&body)
	for name := range form {
		b.must(w.WriteField(name, form.Get(name)))
	}
	f, err := w.CreateFormFile("file", file)
	b.must(err)
	_, err = io.WriteString(f, "date,tmin,tmax\n")
	b.must(err)
	b.must(w.Close())
	req, err := http.NewRequestWithContext(b.ctx(), http.MethodPost, b.http.URL+path, strings.NewReader(body.String()))
	b.must(err)
	req.Header.Set("Content-Type", w.FormDataContentType())
	resp, err := b.client.Do(req)
	b.must(err)
	defer func() { _ = resp.Body.Close() }()
	out, err := io.ReadAll(resp.Body)
	b.must(err)
	return answered{resp, string(out)}
}
