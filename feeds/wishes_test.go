package feeds

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics/icstest"
)

// startOf returns the first day of an event, of one day alone.
func startOf(t *testing.T, e string) climate.Date {
	t.Helper()
	m := regexp.MustCompile(`DTSTART;VALUE=DATE:(\d{8})\r\nDTEND;VALUE=DATE:(\d{8})`).FindStringSubmatch(e)
	if m == nil {
		t.Fatalf("no days in %q", e)
	}
	var days [2]climate.Date
	for i := range days {
		at, err := time.Parse("20060102", m[i+1])
		if err != nil {
			t.Fatal(err)
		}
		days[i] = climate.DateOf(at)
	}
	if days[1] != days[0]+1 {
		return climate.NoDate
	}
	return days[0]
}

// TestAGrowersHours follows a grower of the demo's trees with the real planner: hours
// are told and works move to the Saturday; the next morning, and in a server that was
// started anew, they stay; a work is logged and the agenda changes; a show is entered
// and its preparation appears.
func TestAGrowersHours(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.March, 30, 7, 0, 0, 0, time.UTC))
	b.must(b.store.PutHours(b.ctx(), "demo", nil))
	b.must(b.store.PutShows(b.ctx(), "demo", nil))
	b.open()
	feed := "/f/" + b.addFeed("demo", "story", calendar.Filter{}) + ".ics"
	bodies := map[string][]byte{}
	read := func(name string) string {
		t.Helper()
		a := b.get(feed)
		if a.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", name, a.Status)
		}
		bodies[name] = []byte(a.text)
		return a.text
	}

	before := read("without hours")
	if strings.Contains(before, "Chosen for you") {
		t.Fatal("a day is chosen, and nobody told hours")
	}
	a := b.post("/hours", url.Values{
		"day_6": {"4"}, "away_from": {"", ""}, "away_to": {"", ""}, "extra_on": {""}, "extra_hours": {""},
		"helper_on": {""}, "helper_day": {""}, "helper_hours": {""}, "work": {"repot", ""}, "work_minutes": {"60", ""}, "work_set_up": {"30", ""},
	})
	if a.StatusCode != http.StatusOK || a.Request.URL.Path != "/agenda" || !strings.Contains(a.text, "Your hours are kept, and the days chosen.") {
		t.Fatalf("hours: %s at %s\n%s", a.Status, a.Request.URL, a.text)
	}
	hours, err := b.store.Hours(b.ctx(), "demo")
	b.must(err)
	if hours.Weekdays != [7]int{6: 240} || hours.Minutes["repot"] != 60 || hours.SetUp["repot"] != 30 {
		t.Errorf("kept: %+v", hours)
	}

	// Events move to Saturdays, under their UIDs.
	with := read("with hours")
	days := map[string]climate.Date{}
	uid := regexp.MustCompile(`UID:(\S+)`)
	for _, part := range strings.Split(strings.ReplaceAll(with, "\r\n ", ""), "BEGIN:VEVENT")[1:] {
		if !strings.Contains(part, "Chosen for you") {
			continue
		}
		day := startOf(t, part)
		if !day.Valid() || day.Weekday() != time.Saturday {
			t.Errorf("chosen, and on %v: %s", day, part)
		}
		id := uid.FindStringSubmatch(part)[1]
		days[id] = day
		if !strings.Contains(before, id) {
			t.Errorf("an event has another UID than without hours: %s", part)
		}
		if !strings.Contains(part, "open that day: ") || !strings.Contains(part, "Opens: ") {
			t.Errorf("its window is not told: %s", part)
		}
	}
	if len(days) < 10 {
		t.Fatalf("%d works have their day, want more", len(days))
	}
	promise, err := b.store.Promise(b.ctx(), "demo")
	b.must(err)
	if len(promise) < len(days) {
		t.Errorf("%d works promised, %d shown", len(promise), len(days))
	}

	// The next morning nearly all stay, also in a server that was started anew. What
	// is promised for the next three days must, unless its window moved.
	b.set(b.now().Add(24 * time.Hour))
	b.restart()
	b.must(b.server.Morning(b.ctx(), "demo", nil, b.now()))
	next := read("the next morning")
	stayed := 0
	for _, part := range strings.Split(strings.ReplaceAll(next, "\r\n ", ""), "BEGIN:VEVENT")[1:] {
		id := uid.FindStringSubmatch(part)[1]
		day, chosen := days[id]
		if !chosen {
			continue
		}
		if startOf(t, part) == day {
			stayed++
		} else if day <= climate.NewDate(2027, time.April, 3) {
			t.Errorf("promised for %v, within three days: %s", day, part)
		}
	}
	if 10*stayed < 9*len(days) {
		t.Errorf("%d of %d works stayed on their days", stayed, len(days))
	}

	// Log a work that has its day on the next Saturday: the agenda goes on without it.
	page := b.send(b.client, http.MethodGet, "/agenda", nil)
	saturday := find(page.node(t), "article", "class", "tree")[0]
	first := find(saturday, "a", "", "")[0]
	tree := strings.TrimPrefix(attr(first, "href"), "/trees/")
	agenda := b.agenda("demo")
	work := agenda.Days[0].Works[0]
	at := slices.IndexFunc(agenda.Days[0].Works, func(c calendar.Chosen) bool { return c.Work.Rule.Every == 0 })
	if at >= 0 {
		work = agenda.Days[0].Works[at]
	}
	if tree == "" || work.Tree.Tree.ID == "" {
		t.Fatal("the agenda's first day is empty")
	}
	if a := b.post("/trees/"+work.Tree.Tree.ID+"/log", url.Values{"on": {"2027-03-31"}, "what": {"did:" + work.Work.Work.ID}}); a.StatusCode != http.StatusOK {
		t.Fatalf("log: %s\n%s", a.Status, a.text)
	}
	for _, d := range b.agenda("demo").Days {
		for _, c := range d.Works {
			if c.Tree.Tree.ID == work.Tree.Tree.ID && c.Work.Key == work.Work.Key && c.Day == work.Day {
				t.Errorf("%s of %s is done, and still on %v", c.Work.Title, c.Tree.Tree.Name, c.Day)
			}
		}
	}

	// A show: its preparation, and the day itself, with cautions and its name.
	a = b.post("/shows", url.Values{"name": {"Winter table"}, "on": {"2028-01-15"}, "look": {"winter-silhouette"}, "tree": {"twin-larch"}})
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "Winter table: entered, and planned anew.") {
		t.Fatalf("shows: %s\n%s", a.Status, a.text)
	}
	shown := read("with a show")
	found := 0
	for _, part := range strings.Split(strings.ReplaceAll(shown, "\r\n ", ""), "BEGIN:VEVENT")[1:] {
		if strings.Contains(part, "twin larch") && strings.Contains(part, `For the show: Winter table\, Sat 15 Jan 2028`) {
			found++
			if strings.Contains(part, "SUMMARY:Set it up on trial") && !strings.Contains(part, "Caution: ") {
				t.Errorf("no caution: %s", part)
			}
		}
	}
	if found < 3 {
		t.Errorf("%d events of the show, want its preparation", found)
	}
	if a := b.send(b.client, http.MethodGet, "/trees/twin-larch", nil); !strings.Contains(a.text, `id="show-winter-table"`) || !strings.Contains(a.text, "Out of reach") {
		t.Errorf("the tree's page does not tell of the show: %s", a.Status)
	}
	if a := b.post("/shows/winter-table/remove", url.Values{}); !strings.Contains(a.text, "Winter table: taken out") {
		t.Errorf("remove: %s", a.Status)
	}
	if strings.Contains(strings.ReplaceAll(read("without the show"), "\r\n ", ""), "For the show: Winter table") {
		t.Error("the show is taken out, and its works still stand")
	}
	if a := b.post("/hours", url.Values{"forget": {"1"}}); !strings.Contains(a.text, "Your hours are forgotten") {
		t.Errorf("forget: %s", a.Status)
	}
	if strings.Contains(read("hours forgotten"), "Chosen for you") {
		t.Error("hours are forgotten, and days still chosen")
	}
	icstest.Check(t, bodies)
}

// agenda returns that of the grower's garden.
func (b *bed) agenda(grower string) *calendar.Agenda {
	b.t.Helper()
	g, err := b.server.garden(b.ctx(), grower)
	b.must(err)
	return g.agenda
}

// TestOneAgendaForAllPlaces: trees of two places share the hours of the one who keeps
// them, and each place's events stand on the days chosen.
func TestOneAgendaForAllPlaces(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.March, 30, 7, 0, 0, 0, time.UTC))
	home, err := b.store.Place(b.ctx(), "demo", "demo")
	b.must(err)
	home.ID, home.Site.Name, home.Site.Elevation = "alp", "Alp bench", 900
	b.must(b.store.PutPlace(b.ctx(), home))
	trees, err := b.store.Trees(b.ctx(), "demo")
	b.must(err)
	for _, tree := range trees[:4] {
		tree.ID, tree.Name, tree.Place = "alp-"+tree.ID, "alp "+tree.Name, "alp"
		b.must(b.store.PutTree(b.ctx(), tree))
	}
	b.must(b.store.PutHours(b.ctx(), "demo", &calendar.Hours{Weekdays: [7]int{6: 180}}))
	a := b.agenda("demo")
	both := 0
	for i := range a.Days {
		d := &a.Days[i]
		sum, alp := 0, 0
		for _, c := range d.Works {
			sum += c.Minutes
			if strings.HasPrefix(c.Tree.Tree.ID, "alp-") {
				alp++
			}
		}
		if d.Day.Weekday() != time.Saturday || sum > 180 || d.Minutes != sum {
			t.Errorf("%v %v: %d minutes of works, told as %d", d.Day.Weekday(), d.Day, sum, d.Minutes)
		}
		if alp > 0 && alp < len(d.Works) {
			both++
		}
	}
	if both == 0 {
		t.Error("no day has works of both places")
	}
	feed := b.get("/f/" + b.addFeed("demo", "alp", calendar.Filter{Trees: []string{"alp-ridge-maple"}}) + ".ics")
	if !strings.Contains(strings.ReplaceAll(feed.text, "\r\n ", ""), "Chosen for you: Sat ") {
		t.Errorf("no day is chosen in\n%s", feed.text)
	}
}

// TestAFeedOfTheYears: it shows stages and no work, the others no stages; its tasks are
// none, and say why; programs that connect see no stages.
func TestAFeedOfTheYears(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.March, 30, 7, 0, 0, 0, time.UTC))
	b.open()
	a := b.post("/feeds", url.Values{"name": {"My years"}, "years": {"1"}, "group": {"deciduous"}})
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "the years to the bench of deciduous") || strings.Contains(a.text, "/tasks.ics") {
		t.Fatalf("making the feed: %s\n%s", a.Status, a.text)
	}
	link := attr(find(a.node(t), "input", "class", "link")[0], "value")
	path := strings.TrimPrefix(link, "http://trees.example")
	years := b.get(path)
	work := b.get("/f/" + b.addFeed("demo", "work", calendar.Filter{}) + ".ics")
	unfolded := strings.ReplaceAll(years.text, "\r\n ", "")
	if n := strings.Count(unfolded, "CATEGORIES:Roadmap"); n < 5 || n != strings.Count(unfolded, "BEGIN:VEVENT") || n != strings.Count(unfolded, "STATUS:TENTATIVE") {
		t.Errorf("%d stages in\n%s", n, unfolded)
	}
	if strings.Contains(unfolded, "VALARM") || strings.Contains(unfolded, "scree pine") || !strings.Contains(unfolded, "a season\\, not a day") || !strings.Contains(unfolded, "URL:http://trees.example/trees/ridge-maple") {
		t.Errorf("the years:\n%s", unfolded)
	}
	if strings.Contains(work.text, "CATEGORIES:Roadmap") {
		t.Error("a feed of work shows stages")
	}
	tasks := b.get(strings.TrimSuffix(path, ".ics") + "/tasks.ics")
	if tasks.StatusCode != http.StatusOK || strings.Contains(tasks.text, "VTODO") || !strings.Contains(strings.ReplaceAll(tasks.text, "\r\n ", ""), "Stages years ahead are no tasks") {
		t.Errorf("tasks: %s\n%s", tasks.Status, tasks.text)
	}
	e, err := b.server.editionOf(b.ctx(), "demo")
	b.must(err)
	g, err := b.store.Grower(b.ctx(), "demo")
	b.must(err)
	for _, c := range b.server.homeOf(b.ctx(), &g, e).Collections {
		for _, o := range c.Objects {
			if text, err := o.Text(); err != nil || strings.Contains(string(text), "Roadmap") {
				t.Fatalf("programs see a stage, or nothing: %v\n%s", err, text)
			}
		}
	}
	icstest.Check(t, map[string][]byte{"years": []byte(years.text), "tasks": []byte(tasks.text), "work": []byte(work.text)})
}

// TestTreePage looks at a tree of the demo with the real planner.
func TestTreePage(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.March, 30, 7, 0, 0, 0, time.UTC))
	b.open()
	a := b.send(b.client, http.MethodGet, "/trees/ridge-maple", nil)
	n := a.node(t)
	if h := find(n, "h1", "", ""); len(h) != 1 || text(h[0]) != "ridge maple" {
		t.Fatalf("%s\n%s", a.Status, a.text)
	}
	for _, want := range []string{"Are buds swelling?", "As likely as not by", "root ball is still field soil", "The years to the bench", "In 8 of 10", "Windows up to eighteen months ahead", "So far"} {
		if !strings.Contains(strings.ToLower(a.text), strings.ToLower(want)) {
			if want == "In 8 of 10" && strings.Contains(a.text, "8 of 10") {
				continue
			}
			t.Errorf("the page does not say %q", want)
		}
	}
	if svg := find(n, "svg", "class", "years"); len(svg) != 1 {
		t.Errorf("%d pictures of the years, want 1", len(svg))
	}
	// The same stages stand in the table as in the picture.
	rows := 0
	for _, table := range find(n, "table", "class", "years") {
		rows += len(find(table, "tr", "", "")) - 1
	}
	if rows < 4 {
		t.Errorf("%d rows of stages and works", rows)
	}
	// What is logged against the rules is kept, and said.
	a = b.post("/trees/ridge-maple/log", url.Values{"on": {"2027-03-30"}, "what": {"did:second-style"}})
	if said := find(a.node(t), "", "role", "status"); a.StatusCode != http.StatusOK || len(said) != 1 ||
		!strings.Contains(text(said[0]), "logged, and planned anew. But: ") || !strings.Contains(text(said[0]), "That means: ") {
		t.Errorf("a second styling too early: %s\n%s", a.Status, a.text)
	}
	if a = b.send(b.client, http.MethodGet, "/trees/ridge-maple", nil); !strings.Contains(a.text, "Done against the rules") {
		t.Error("the tree's page does not tell what was done against the rules")
	}
}
