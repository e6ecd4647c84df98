package feeds

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/nudge"
)

// steady is days of one temperature.
func steady(source string, kind climate.Kind, first, last climate.Date, tmin float64) climate.Series {
	s := climate.Series{Source: source, Kind: kind}
	for d := first; d <= last; d++ {
		s.Readings = append(s.Readings, climate.Reading{On: d, Tmin: tmin, Tmax: tmin + 8, Got: time.Unix(0, 0)})
	}
	return s
}

// What comes in is in the next plan; its age and whose it is are told on the page
// and in the feed, and a source that is down changes nothing else.
func TestWeatherComesIn(t *testing.T) {
	b := newBed(t, func(c *Config) {
		c.Credit = func(w calendar.WeatherSource) (string, string) {
			return "Weather by " + w.Kind + " <CC BY>", "https://terms.example/"
		}
	})
	var planned calendar.Place
	b.server.planner.trees = func(_ *calendar.Lore, p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
		planned = *p
		plan, err := b.plan(nil, p, shows, trees, on)
		if plan != nil {
			plan.Supply = p.Weather.Supply(on)
		}
		return plan, err
	}
	feed := "/f/" + b.addFeed("ada", "all", calendar.Filter{})
	unfold := func(a answered) string { return strings.ReplaceAll(a.text, "\r\n ", "") }
	if a := b.get(feed); !strings.Contains(unfold(a), "No weather of the place is known: dates rest on typical years.") {
		t.Errorf("feed without weather:\n%s", a.text)
	}
	today := climate.NewDate(2027, 3, 1)
	service := calendar.WeatherSource{Grower: "ada", Place: "north", Kind: calendar.SourceOpenMeteo}
	b.must(b.store.PutWeatherSources(b.ctx(), "ada", "north", []calendar.WeatherSource{service}))
	for _, s := range []climate.Series{
		steady("Open-Meteo archive", climate.Analysis, today-300, today-6, 1), steady("Open-Meteo forecast", climate.Foretold, today-8, today+10, 2),
	} {
		_, err := b.store.PutReadings(b.ctx(), "ada", "north", s, false)
		b.must(err)
	}
	a := b.get(feed)
	if !strings.Contains(unfold(a), "Weather is known up to 23 February 2027. Weather by open-meteo <CC BY>: https://terms.example/") {
		t.Errorf("feed:\n%s", a.text)
	}
	r, f := planned.Weather.Record, planned.Weather.Forecast
	if r.Last() != today-6 || r.Source != "Open-Meteo archive" || f.First != today-5 || f.Last() != today+10 || planned.Weather.Frost == nil {
		t.Errorf("planned with %v to %v, forecast %v to %v", r.First, r.Last(), f.First, f.Last())
	}
	b.open()
	page := b.shown("/places")
	for _, want := range []string{
		"Weather is known up to 23 February 2027, 6 days ago; of the last year 295 days from Open-Meteo archive (analysis), 6 days from Open-Meteo forecast (forecast).",
		`<a href="https://terms.example/" rel="noreferrer">Weather by open-meteo &lt;CC BY&gt;</a>. It was not asked yet.`,
	} {
		if !strings.Contains(page.text, want) {
			t.Errorf("page does not say %q:\n%s", want, page.text)
		}
	}
	plans := b.plans.Load()
	service.State = calendar.SourceState{Tried: b.now(), Got: b.now().Add(-50 * time.Hour), Failed: 3, Why: "secret reason"}
	b.must(b.store.Asked(b.ctx(), service))
	page = b.shown("/places")
	if !strings.Contains(page.text, "It has not answered since 27 February 2027, 05:00.") || strings.Contains(page.text, "secret reason") {
		t.Errorf("page:\n%s", page.text)
	}
	if again := b.get(feed); b.plans.Load() != plans || again.Header.Get("ETag") != a.Header.Get("ETag") {
		t.Errorf("%d plans more, ETag %s and %s", b.plans.Load()-plans, a.Header.Get("ETag"), again.Header.Get("ETag"))
	}
	service.State.Got = time.Time{}
	b.must(b.store.Asked(b.ctx(), service))
	if page = b.shown("/places"); !strings.Contains(page.text, "It has not answered yet.") {
		t.Error("the page does not say that the source never answered")
	}
	// Own readings are better than the service's.
	_, err := b.store.PutReadings(b.ctx(), "ada", "north", steady("own readings", climate.OwnReading, today-2, today-1, -3), false)
	b.must(err)
	if a := b.get(feed); !strings.Contains(unfold(a), "Weather is known up to 28 February 2027.") || planned.Weather.Record.At(today-1).Tmin != -3 {
		t.Errorf("with own readings:\n%s", a.text)
	}
}

// Trees on a warm bench swell before those in the open, a frame's frost ends
// earlier, and the plan has all trees in their order.
func TestTreesArePlannedByBench(t *testing.T) {
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	site := climate.Site{Name: "s", Lat: 47.4, Lon: 8.5, Elevation: 500, Zone: "Europe/Zurich"}
	frost := &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}
	log := []calendar.Entry{{On: climate.NewDate(2020, 3, 1), Did: "collect"}}
	trees := []calendar.Tree{
		{ID: "a", Name: "a", Species: "Acer campestre", Origin: calendar.Collected, Bench: "frame", Log: log},
		{ID: "b", Name: "b", Species: "Acer campestre", Origin: calendar.Collected, Log: log},
		{ID: "c", Name: "c", Species: "Acer campestre", Origin: calendar.Collected, Bench: "frame", Log: log},
		{ID: "d", Name: "d", Species: "Acer campestre", Origin: calendar.Collected, Log: append([]calendar.Entry{{On: climate.NewDate(2025, 11, 1), Moved: "glass"}}, log...)},
	}
	place := &calendar.Place{Site: site, Weather: climate.Weather{Frost: frost}, Benches: []calendar.Bench{
		{ID: "frame", Name: "frame", Exposure: climate.ColdFrame}, {ID: "glass", Name: "glass", Exposure: climate.Heated},
	}}
	plan, err := newCommons(known).plan(known, place, nil, trees, climate.NewDate(2026, 2, 10))
	if err != nil {
		t.Fatal(err)
	}
	swell := map[string]climate.Date{}
	for i, want := range []string{"a", "b", "c", "d"} {
		if plan.Trees[i].Tree.ID != want || len(plan.Trees[i].Works) == 0 {
			t.Errorf("tree %d: %+v", i, plan.Trees[i].Tree)
		}
		season := plan.seasons[want]
		spread, ok := season.Phases[phenology.BudSwell].Dates.Spread()
		if !ok {
			t.Fatalf("%s does not swell", want)
		}
		swell[want] = spread.P50
	}
	if !(swell["d"] < swell["a"] && swell["a"] < swell["b"]) || swell["a"] != swell["c"] {
		t.Errorf("buds swell behind glass %v, in the frame %v and %v, in the open %v", swell["d"], swell["a"], swell["c"], swell["b"])
	}
	trees[0].Bench = "attic"
	plan, err = newCommons(known).plan(known, place, nil, trees, climate.NewDate(2026, 2, 10))
	if err != nil || plan.Trees[0].Bench != nil || !strings.Contains(strings.Join(plan.Supply.Notes, " "), "attic") {
		t.Errorf("a bench that is not there: %+v, %v", plan.Supply, err)
	}
}

// A grower puts a tree on another bench by the form of its log.
func TestMovingATree(t *testing.T) {
	b := newBed(t)
	place, err := b.store.Place(b.ctx(), "ada", "north")
	b.must(err)
	place.Benches = []calendar.Bench{{ID: "frame", Name: "the <frame>", Exposure: climate.ColdFrame}}
	b.must(b.store.PutPlace(b.ctx(), place))
	b.server.planner.trees = func(_ *calendar.Lore, p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
		plan, err := b.plan(nil, p, shows, trees, on)
		return &planting{Plan: calendar.Merge([]*calendar.Plan{plan.Plan}, p.Benches, trees)}, err
	}
	b.open()
	if a := b.send(b.client, http.MethodGet, "/trees/old-pine/log", nil); !strings.Contains(a.text, `<option value="moved:frame">the &lt;frame&gt; (cold frame)</option>`) {
		t.Errorf("form:\n%s", a.text)
	}
	for what, status := range map[string]int{"moved:attic": http.StatusUnprocessableEntity, "moved:": http.StatusUnprocessableEntity, "moved:frame": http.StatusOK} {
		if a := b.post("/trees/old-pine/log", url.Values{"on": {"2027-02-27"}, "what": {what}}); a.StatusCode != status {
			t.Errorf("%s: %s\n%s", what, a.Status, a.text)
		}
	}
	trees, err := b.store.Trees(b.ctx(), "ada")
	b.must(err)
	for _, tree := range trees {
		if got := tree.BenchOn(climate.NewDate(2027, 3, 1)); (got == "frame") != (tree.ID == "old-pine") || got != "" && len(tree.Log) != 1 {
			t.Errorf("%s stands on %q", tree.ID, got)
		}
	}
	if a := b.send(b.client, http.MethodGet, "/trees/old-pine/log", nil); !strings.Contains(a.text, "Sat 27 Feb 2027: put on the bench frame") {
		t.Errorf("log:\n%s", a.text)
	}
	if a := b.shown("/trees"); strings.Count(a.text, "on the &lt;frame&gt; (cold frame)") != 1 {
		t.Errorf("page:\n%s", a.text)
	}
}

func BenchmarkPlanOnFourBenches(b *testing.B) {
	known, err := lore.Load()
	if err != nil {
		b.Fatal(err)
	}
	site := climate.Site{Name: "s", Lat: 47.4, Lon: 8.5, Elevation: 500, Zone: "Europe/Zurich"}
	frost := &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}
	for name, benches := range map[string][]string{"one": {"", "", "", ""}, "four": {"", climate.Sheltered, climate.ColdFrame, climate.Heated}} {
		b.Run(name, func(b *testing.B) {
			place := &calendar.Place{Site: site, Weather: climate.Weather{Frost: frost}}
			var trees []calendar.Tree
			for i, e := range benches {
				id := string(rune('a' + i))
				place.Benches = append(place.Benches, calendar.Bench{ID: id, Name: id, Exposure: e})
				for k := range 10 {
					t := calendar.Tree{ID: id + string(rune('a'+k)), Name: "x", Species: "Acer campestre", Origin: calendar.Nursery}
					if e != "" {
						t.Bench = id
					}
					trees = append(trees, t)
				}
			}
			for b.Loop() {
				if _, err := newCommons(known).plan(known, place, nil, trees, climate.NewDate(2026, 2, 10)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A forecast that turns cold after the afternoon's look is told of the same
// evening, once; what can wait for the morning waits.
func TestFrostIsToldWhenTheForecastComes(t *testing.T) {
	b := newBed(t)
	b.set(time.Date(2027, time.March, 20, 17, 30, 0, 0, time.UTC))
	today := climate.NewDate(2027, 3, 20)
	put := func(tmin float64) {
		t.Helper()
		_, err := b.store.PutReadings(b.ctx(), "ada", "north", steady("a forecast", climate.Foretold, today-8, today+10, tmin), false)
		b.must(err)
		b.must(b.server.Weathered(b.ctx(), "ada"))
	}
	for _, tmin := range []float64{3, -25, -25.5} {
		put(tmin)
	}
	nudges, err := b.store.Nudges(b.ctx(), "ada", 0)
	b.must(err)
	if len(nudges) != 1 || nudges[0].Kind != nudge.RootCold || !nudges[0].Urgent || !strings.Contains(nudges[0].Title, "tonight at north bench: −25.0 °C") {
		t.Fatalf("told %+v", nudges)
	}
	b.must(b.server.Morning(b.ctx(), "ada", nil, b.now()))
	if nudges, err = b.store.Nudges(b.ctx(), "ada", 0); err != nil || len(nudges) < 2 {
		t.Errorf("the morning's own news did not come: %+v, %v", nudges, err)
	}
}
