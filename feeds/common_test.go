package feeds

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/wording"
)

// apart plans as for a grower who shares nothing with anybody.
func apart(t testing.TB, lore *calendar.Lore, p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*calendar.Plan, seasons) {
	outlook, err := p.Weather.Outlook(p.Site, on)
	if err != nil {
		t.Fatal(err)
	}
	stands, err := calendar.Stands(outlook, p.Benches, trees)
	if err != nil {
		t.Fatal(err)
	}
	var plans []*calendar.Plan
	at := &planting{seasons: seasons{}}
	for i := range stands {
		planner, forecaster, err := stands[i].Planner(lore, nil)
		if err != nil {
			t.Fatal(err)
		}
		planner.Shows = shows
		plan, err := planStand(planner, forecaster, &stands[i], at)
		if err != nil {
			t.Fatal(err)
		}
		plans = append(plans, plan)
	}
	return calendar.Merge(plans, p.Benches, trees), at.seasons
}

// Growers of a club have the same site and weather, by other names, and some of them
// write down what they see. Whoever was planned before, each grower's plan is, to the
// byte, that of one who shares nothing.
func TestSharedPlansAreThoseMadeApart(t *testing.T) {
	today := climate.NewDate(2027, 4, 12)
	people, err := newPopulation(3*growersASite, today)
	if err != nil {
		t.Fatal(err)
	}
	together := newCommons(people.lore)
	r := people.random(9, 0)
	names := []string{"yard", "north wall", "roof"}
	for round := range 8 {
		g, err := people.of(r.IntN(people.growers))
		if err != nil {
			t.Fatal(err)
		}
		p := g.place
		p.Site.Name = names[r.IntN(len(names))]
		on := today - climate.Date(r.IntN(2))
		var trees []calendar.Tree
		for i := range g.trees[:min(4, len(g.trees))] {
			tree := g.trees[i].Tree
			if i%3 == 2 {
				tree.Bench = "frame"
			}
			trees = append(trees, tree)
		}
		var shows []calendar.Show
		if round%4 == 3 {
			shows = []calendar.Show{{Name: "show", On: today + 200, Look: calendar.Evergreen, Trees: []string{trees[0].ID}}}
		}
		shared, err := together.plan(people.lore, &p, shows, trees, on)
		if err != nil {
			t.Fatal(err)
		}
		plan, at := apart(t, people.lore, &p, shows, trees, on)
		a, errA := json.Marshal(shared.Plan)
		b, errB := json.Marshal(plan)
		if errA != nil || errB != nil || !bytes.Equal(a, b) {
			t.Fatalf("another plan (%v, %v):\n%.2000s\n%.2000s", errA, errB, a, b)
		}
		if a, b := ics.Entries(wording.English, "x", shared.Plan, "/"), ics.Entries(wording.English, "x", plan, "/"); !reflect.DeepEqual(a, b) {
			t.Fatal("other events")
		}
		if !reflect.DeepEqual(shared.seasons, at) {
			t.Fatal("other forecasts")
		}
	}
	if n := len(together.shelf.slots); n > mostCommon {
		t.Errorf("%d outlooks are kept, want %d at most", n, mostCommon)
	}
}

// BenchmarkPlanOfAClub plans the trees of twenty growers of one site, who share what they
// can, or nothing.
func BenchmarkPlanOfAClub(b *testing.B) {
	today := climate.NewDate(2027, 4, 12)
	people, err := newPopulation(growersASite, today)
	if err != nil {
		b.Fatal(err)
	}
	var club []*grower
	for i := range people.growers {
		g, err := people.of(i)
		if err != nil {
			b.Fatal(err)
		}
		club = append(club, g)
	}
	for name, plan := range map[string]func(c *commons, g *grower, trees []calendar.Tree){
		"apart": func(_ *commons, g *grower, trees []calendar.Tree) {
			apart(b, people.lore, &g.place, g.shows, trees, today)
		},
		"shared": func(c *commons, g *grower, trees []calendar.Tree) {
			if _, err := c.plan(people.lore, &g.place, g.shows, trees, today); err != nil {
				b.Fatal(err)
			}
		},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				c := newCommons(people.lore)
				for _, g := range club {
					plan(c, g, treesAt(g.trees, g.place.ID))
				}
			}
		})
	}
}

// What differs in anything that an outlook is made from is not shared.
func TestWeatherThatDiffersIsNotShared(t *testing.T) {
	site := climate.Site{Lat: 50, Lon: 8, Elevation: 100, Zone: "UTC"}
	on := climate.NewDate(2027, 4, 12)
	days := []climate.Day{{Tmin: 1, Tmax: 5, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured}}
	weather := func() *climate.Weather {
		return &climate.Weather{Normals: &climate.Normals{Source: "s"}, Record: &climate.Record{Source: "r", First: 5, Days: days}}
	}
	seen := map[string]string{}
	try := func(name string, site climate.Site, w *climate.Weather, on climate.Date) {
		t.Helper()
		key, err := weatherKey(site, w, on)
		if err != nil {
			t.Fatal(err)
		}
		if was, ok := seen[key]; ok {
			t.Errorf("%s has the key of %s", name, was)
		}
		seen[key] = name
	}
	change := func(name string, f func(*climate.Weather)) {
		t.Helper()
		w := weather()
		f(w)
		try(name, site, w, on)
	}
	change("as it is", func(*climate.Weather) {})
	change("a day warmer", func(w *climate.Weather) {
		w.Record.Days = []climate.Day{{Tmin: 1, Tmax: 5.1, TminOrigin: 4, TmaxOrigin: 4}}
	})
	change("a day of another origin", func(w *climate.Weather) {
		w.Record.Days = []climate.Day{{Tmin: 1, Tmax: 5, TminOrigin: 3, TmaxOrigin: 4}}
	})
	change("two days", func(w *climate.Weather) { w.Record.Days = append(w.Record.Days, days[0]) })
	change("a day later", func(w *climate.Weather) { w.Record.First++ })
	change("from elsewhere", func(w *climate.Weather) { w.Record.Source = "q" })
	change("with a note", func(w *climate.Weather) { w.Record.Notes = []string{"n"} })
	change("foretold", func(w *climate.Weather) { w.Record, w.Forecast = nil, w.Record })
	change("other normals", func(w *climate.Weather) { w.Normals.Tmin[3] = 1 })
	change("normals with an error", func(w *climate.Weather) { w.Normals.Error = 1 })
	change("normals of another source", func(w *climate.Weather) { w.Normals.Source = "t" })
	change("frost dates", func(w *climate.Weather) { w.Frost = &climate.FrostNormal{Mean: 9} })
	change("another seed", func(w *climate.Weather) { w.Seed = 1 })
	change("a lapse", func(w *climate.Weather) { w.Lapse = &climate.Lapse{} })
	try("the day after", site, weather(), on+1)
	for i, s := range []climate.Site{{Lat: 50.1, Lon: 8, Elevation: 100, Zone: "UTC"}, {Lat: 50, Lon: 8.1, Elevation: 100, Zone: "UTC"}, {Lat: 50, Lon: 8, Elevation: 101, Zone: "UTC"}, {Lat: 50, Lon: 8, Elevation: 100, Zone: "Europe/Paris"}} {
		try(fmt.Sprint("site ", i), s, weather(), on)
	}
}
