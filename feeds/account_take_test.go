package feeds

import (
	"bytes"
	"io"
	"math"
	"mime/multipart"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/climate"
)

// upload sends a file as the account page does.
func (b *bed) upload(c *http.Client, field, name, content string) answered {
	b.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	var part io.Writer
	var err error
	if name == "" {
		part, err = w.CreateFormField(field)
	} else {
		part, err = w.CreateFormFile(field, name)
	}
	b.must(err)
	_, err = io.WriteString(part, content)
	b.must(err)
	b.must(w.Close())
	req, err := http.NewRequestWithContext(b.ctx(), http.MethodPost, b.http.URL+"/account/add", &body)
	b.must(err)
	req.Header.Set("Content-Type", w.FormDataContentType())
	req.Header.Set("Sec-Fetch-Site", "same-origin")
	resp, err := c.Do(req)
	b.must(err)
	defer func() { _ = resp.Body.Close() }()
	text, err := io.ReadAll(resp.Body)
	b.must(err)
	return answered{resp, string(text)}
}

func archive(t *testing.T, s calendar.Store, growers ...string) string {
	t.Helper()
	a, err := Collect(t.Context(), s, growers...)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := a.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestArchiveComesBackTheSame: out of the demo, into an empty store, and out
// again, byte for byte.
func TestArchiveComesBackTheSame(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, 3, 30, 6, 0, 0, 0, time.UTC))
	for _, e := range b.circle() { // who is in a club is not in the file, and nobody shares out of it
		b.must(b.store.PutShares(b.ctx(), "quernthal-tree-circle", e.Grower, false))
	}
	b.must(b.store.PutShares(b.ctx(), "quernthal-tree-circle", "demo", false))
	// What the demo lacks.
	b.grower("bea", "south")
	b.must(b.store.PutTree(b.ctx(), calendar.Kept{Grower: "bea", Place: "south", Tree: calendar.Tree{
		ID: "third", Name: "third", Species: "Acer campestre", Origin: calendar.Nursery,
		Log: []calendar.Entry{{On: date(2027, 3, 2), Judged: &calendar.Judgement{Stage: calendar.StageBuilding, Strength: calendar.Weak}, Note: "two \"lines\"\nof <it>"}},
	}}))
	b.addFeed("bea", "f", calendar.Filter{Trees: []string{"third"}})
	b.addFeed("bea", "gone", calendar.Filter{})
	b.must(b.store.RevokeFeed(b.ctx(), "bea", "gone", b.now()))
	south, err := b.store.Place(b.ctx(), "bea", "south")
	b.must(err)
	south.Benches = []calendar.Bench{{ID: "frame", Name: "frame", Exposure: climate.ColdFrame, ShiftTmin: 0.5}}
	b.must(b.store.PutPlace(b.ctx(), south))
	b.must(b.store.AddEntry(b.ctx(), "bea", "third", calendar.Entry{On: date(2027, 3, 3), Moved: "frame"}))
	back := calendar.Entry{On: date(2027, 3, 4), Did: "repot", Note: "a slip"}
	b.must(b.store.AddEntry(b.ctx(), "bea", "third", back))
	b.must(b.store.Withdraw(b.ctx(), "bea", "third", back, b.now()))
	high := 90.0
	b.must(b.store.PutWeatherSources(b.ctx(), "bea", "south", []calendar.WeatherSource{
		{Kind: calendar.SourceFolder, At: "/var/lib/station"}, {Kind: calendar.SourceMETNorway}, {Kind: calendar.SourceStation, At: "https://station.example/x.csv", Elevation: &high},
	}))
	for _, kind := range []climate.Kind{climate.OwnReading, climate.Analysis} {
		_, err = b.store.PutReadings(b.ctx(), "bea", "south", climate.Series{Source: kind.String() + "s", Kind: kind, Readings: []climate.Reading{
			{On: date(2027, 3, 1), Tmin: -2.5, Tmax: 4, Prcp: math.NaN(), Got: b.now()}, {On: date(2027, 3, 3), Tmin: -1, Tmax: math.NaN(), Prcp: 3, Got: b.now()},
		}}, false)
		b.must(err)
	}
	wants := calendar.DefaultPreferences()
	wants.Cap, wants.Zone, wants.Off = 7, "Europe/Paris", []string{"heat"}
	b.must(b.store.PutPreferences(b.ctx(), "bea", wants))
	b.must(b.store.AddWebhook(b.ctx(), calendar.Webhook{ID: "w", Grower: "bea", URL: "https://hooks.example/x", Secret: "s", Created: b.now()}))
	for _, a := range []calendar.Amendment{
		{Subject: "rule my-moss", Text: "rules: [{id: my-moss}]\n# \"quoted\" ß木\n", Why: "it shines"}, {Subject: "rule repot", Text: "of long ago"},
	} {
		a.Whose, a.At, a.Who = calendar.Whose{Grower: "bea"}, b.now(), "bea"
		_, err := b.store.Amend(b.ctx(), a, 0)
		b.must(err)
	}
	_, err = b.store.Amend(b.ctx(), calendar.Amendment{Whose: calendar.Whose{Grower: "bea"}, Subject: "rule repot", At: b.now(), Withdrawn: true}, 2)
	b.must(err)
	before := archive(t, b.store)
	for _, secret := range []string{"hash", "token", "key", "hooks.example", "/var/lib", "a slip", "analysis", "of long ago"} {
		if strings.Contains(strings.ToLower(before), secret) {
			t.Errorf("the archive says %q", secret)
		}
	}
	if !calendar.IsArchive([]byte(before)) {
		t.Error("the archive is not known for one")
	}
	fresh, err := store.Open(t.Context(), "sqlite::memory:")
	b.must(err)
	defer fresh.Close()
	cfg := b.server.cfg
	cfg.Store = fresh
	a, err := calendar.ReadArchive("a.json", []byte(before), cfg.Lore, date(2027, 3, 31))
	b.must(err)
	for i := range a.Growers {
		d, err := Add(t.Context(), fresh, &a.Growers[i], a.Growers[i].ID)
		b.must(err)
		links, err := d.Write(t.Context(), cfg)
		b.must(err)
		if links.Page == "" || len(links.Feeds) != len(a.Growers[i].Feeds) {
			t.Errorf("links %+v", links)
		}
	}
	if after := archive(t, fresh); after != before {
		t.Errorf("it is not the same afterwards: %s", cmp.Diff(before, after))
	}
	for _, there := range []string{`"own_readings"`, `"subject": "rule my-moss"`, `"cold frame"`, `"moved": "frame"`, `"met-norway"`, `"Europe/Paris"`, "station.example", `"prcp": null`, `"why": "it shines"`} {
		if !strings.Contains(before, there) {
			t.Errorf("the archive lacks %s", there)
		}
	}
	// A second time nothing is added.
	for i := range a.Growers {
		if d, err := Add(t.Context(), fresh, &a.Growers[i], a.Growers[i].ID); err != nil || len(d.Adds) != 0 || d.New {
			t.Errorf("a second time: %+v %v", d.Adds, err)
		}
	}
}

func TestTakeAlongAndAddFromTheAccountPage(t *testing.T) {
	b := accountBed(t)
	c := b.newClient()
	b.signIn(c, "ada@example.org", phrase)
	b.grower("bea", "south") // another's data is not in the file
	b.addFeed("ada", "f", calendar.Filter{Works: []string{"repot"}})
	b.must(b.store.AddEntry(b.ctx(), "ada", "ridge-maple", calendar.Entry{On: date(2027, 2, 27), Did: "repot"}))
	file := b.send(c, http.MethodGet, "/account/garden.json", nil)
	if file.StatusCode != http.StatusOK || strings.Contains(file.text, "BEA") || !strings.Contains(file.Header.Get("Content-Disposition"), "attachment") {
		t.Fatalf("%s\n%s", file.Status, file.text)
	}

	b.grower("cay", "east")
	b.setPassword("cay", "cay@example.org", phrase)
	cay := b.newClient()
	b.signIn(cay, "cay@example.org", phrase)
	before := archive(t, b.store, "cay")
	shown := b.upload(cay, "file", "garden.json", file.text)
	// Cay has trees of the same ids already: what is new is the place, one entry, a feed.
	for _, want := range []string{"place north bench", "1 entry in the log of ridge maple", "feed feed f, with a new link", "tree old pine"} {
		if !strings.Contains(shown.text, want) {
			t.Errorf("the preview lacks %q:\n%s", want, shown.text)
		}
	}
	if archive(t, b.store, "cay") != before {
		t.Error("a preview adds something")
	}
	text := attr(find(shown.node(t), "input", "name", "text")[0], "value")
	added := b.upload(cay, "text", "", text)
	links := find(added.node(t), "input", "class", "link")
	if added.StatusCode != http.StatusOK || len(links) != 2 {
		t.Fatalf("%s\n%s", added.Status, added.text)
	}
	if feed := b.get(strings.TrimPrefix(attr(links[0], "value"), "http://trees.example")); feed.StatusCode != http.StatusOK {
		t.Errorf("the new feed: %s", feed.Status)
	}
	trees, err := b.store.Trees(b.ctx(), "cay")
	b.must(err)
	if len(trees) != 2 || len(trees[0].Log) != 1 || trees[0].Place != "east" {
		t.Errorf("trees: %+v", trees)
	}
	if again := b.upload(cay, "file", "garden.json", file.text); !strings.Contains(again.text, "Nothing: all that the file holds is here already") {
		t.Errorf("a second time:\n%s", again.text)
	}
}

func TestFilesThatCannotBeAdded(t *testing.T) {
	b := accountBed(t)
	c := b.newClient()
	b.signIn(c, "ada@example.org", phrase)
	good := b.send(c, http.MethodGet, "/account/garden.json", nil).text
	for name, row := range map[string]struct {
		content string
		status  int
		words   string
	}{
		"empty":             {"", 422, "EOF"},
		"no JSON":           {"version: 1", 422, "the file:1"},
		"cut short":         {good[:len(good)/2], 422, "unexpected EOF"},
		"two":               {good + good, 422, "something follows"},
		"another version":   {strings.Replace(good, `"version": 1`, `"version": 2`, 1), 422, "version: 2"},
		"off the earth":     {strings.Replace(good, `"lat": 50.1`, `"lat": 150.1`, 1), 422, "places[0]"},
		"a place elsewhere": {strings.Replace(good, `"lat": 50.1`, `"lat": 51.1`, 1), 422, "want another id"},
		"another species":   {strings.Replace(good, "field maple", "Acer palmatum", 1), 422, "Acer palmatum"},
		"no such species":   {strings.Replace(good, "field maple", "Yggdrasil", 1), 422, "Yggdrasil"},
		"no such field":     {strings.Replace(good, `"tz"`, `"timezone"`, 1), 422, "timezone"},
		"another place":     {strings.Replace(good, `"place": "north"`, `"place": "x"`, 1), 422, "trees[0].place"},
		"nobody":            {`{"format": "budswell-archive", "version": 1, "growers": []}`, 422, "want one"},
		"too large":         {strings.Repeat(" ", longestUpload+1), 413, "more than this form takes"},
		"far too large":     {strings.Repeat(" ", 6<<20), 413, "more than this form takes"},
	} {
		a := b.upload(c, "file", "x.json", row.content)
		if a.StatusCode != row.status || !strings.Contains(a.text, row.words) {
			t.Errorf("%s: %s, want %d and %q in\n%s", name, a.Status, row.status, row.words, a.text)
		}
	}
	if a := b.send(b.newClient(), http.MethodGet, "/account/garden.json", nil); a.StatusCode != http.StatusForbidden {
		t.Errorf("a stranger: %s", a.Status)
	}
}

func TestDeleteAllThatIsMine(t *testing.T) {
	b := accountBed(t)
	b.grower("bea", "south")
	c := b.newClient()
	b.signIn(c, "ada@example.org", phrase)
	feed := "/f/" + b.addFeed("ada", "f", calendar.Filter{})
	if b.get(feed).StatusCode != http.StatusOK || !b.signedIn(c) {
		t.Fatal("not set up")
	}
	page := b.send(c, http.MethodGet, "/account/leave", nil)
	if !strings.Contains(page.text, "1 place, 2 trees with all that was logged, and 1 feed.") {
		t.Errorf("the page does not say what is at stake:\n%s", page.text)
	}
	for name, row := range map[string][]string{
		"without the password": {"word", "delete"},
		"another password":     {"word", "delete", "now", another},
		"without the word":     {"now", phrase},
	} {
		if a := b.form(c, "/account/leave", row...); a.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %s", name, a.Status)
		}
	}
	if a := b.form(c, "/account/leave", "word", " Delete ", "now", phrase); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "All that was yours is deleted") {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	if b.signedIn(c) {
		t.Error("still signed in")
	}
	if a := b.get(feed); a.StatusCode != http.StatusOK || !strings.Contains(a.text, "was withdrawn") || strings.Contains(a.text, "Repot") {
		t.Errorf("the feed does not say, for a while, that it was withdrawn: %s\n%s", a.Status, a.text)
	}
	if b.signIn(b.newClient(), "ada@example.org", phrase).StatusCode == http.StatusOK {
		t.Error("the account is still there")
	}
	growers, err := b.store.Growers(b.ctx())
	b.must(err)
	if len(growers) != 1 || growers[0].ID != "bea" {
		t.Errorf("growers: %v", growers)
	}
	if strings.Contains(b.log.String(), "error") {
		t.Errorf("the log: %s", &b.log)
	}
}

// TestReadingsAndWishesAreAdded: days that are there stay, others are added, and what
// one wants to be told is taken over only where nothing was said of it here.
func TestReadingsAndWishesAreAdded(t *testing.T) {
	b := newBed(t)
	b.grower("bea", "south")
	series := func(days ...climate.Reading) climate.Series {
		return climate.Series{Source: "Own", Kind: climate.OwnReading, Readings: days}
	}
	day := func(d int, tmin float64) climate.Reading {
		return climate.Reading{On: date(2027, 2, d), Tmin: tmin, Tmax: 9, Prcp: math.NaN(), Got: b.now()}
	}
	put := func(days ...climate.Reading) {
		_, err := b.store.PutReadings(b.ctx(), "bea", "south", series(days...), true)
		b.must(err)
	}
	put(day(1, -1), day(2, -2))
	wants := calendar.DefaultPreferences()
	wants.Cap = 9
	b.must(b.store.PutPreferences(b.ctx(), "bea", wants))
	a, err := Collect(b.ctx(), b.store, "bea")
	b.must(err)

	put(day(2, 5), day(3, 6))
	b.must(b.store.PutPreferences(b.ctx(), "bea", calendar.DefaultPreferences()))
	d, err := Add(b.ctx(), b.store, &a.Growers[0], "bea")
	b.must(err)
	if want := []string{"what to be told, and when", "1 day of own readings at south bench"}; !cmp.Equal(d.Adds, want) {
		t.Errorf("it adds %q, want %q", d.Adds, want)
	}
	_, err = d.Write(b.ctx(), b.server.cfg)
	b.must(err)
	got, err := b.store.Readings(b.ctx(), "bea", "south")
	b.must(err)
	if want := series(day(1, -1), day(2, 5), day(3, 6)); len(got) != 1 || !cmp.Equal(got[0], want, cmpopts.EquateNaNs(), cmpopts.EquateApproxTime(time.Second)) {
		t.Errorf("readings %+v, want %+v", got, want)
	}
	// A place that has its weather from nowhere gets the archive's sources, another keeps its own.
	a.Growers[0].Places[0].Sources = []calendar.ArchiveSource{{Kind: calendar.SourceMETNorway}}
	for _, kind := range []string{calendar.SourceMETNorway, calendar.SourceOpenMeteo} {
		d, err = Add(b.ctx(), b.store, &a.Growers[0], "bea")
		b.must(err)
		_, err = d.Write(b.ctx(), b.server.cfg)
		b.must(err)
		sources, err := b.store.WeatherSources(b.ctx())
		b.must(err)
		if len(sources) != 1 || sources[0].Kind != kind {
			t.Errorf("sources %+v, want %s", sources, kind)
		}
		b.must(b.store.PutWeatherSources(b.ctx(), "bea", "south", []calendar.WeatherSource{{Kind: calendar.SourceOpenMeteo}}))
	}
	wants.Cap = 3
	b.must(b.store.PutPreferences(b.ctx(), "bea", wants))
	d, err = Add(b.ctx(), b.store, &a.Growers[0], "bea")
	b.must(err)
	if d.Nudges != nil || !slices.Contains(d.Stays, "what to be told, and when") {
		t.Errorf("what was said here is not kept: %+v", d)
	}
}
