package feeds

import (
	"crypto/rand"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/calendar/store"
	"budswell/climate"
	"budswell/climate/source"
	sample "budswell/data-sample"
	"budswell/feeds/ics/icstest"
)

var demo = Demo{
	Files: sample.Files, Plan: sample.Plan, Club: sample.Club, Story: sample.Story,
	Read: func(name string, r io.Reader) (*climate.Record, error) { return source.Read(name, r) },
}

// newDemo is a bed with the demo in it, as of a day, and the real planner.
func newDemo(t *testing.T, on time.Time) (*bed, Links) {
	t.Helper()
	st, err := store.Open(t.Context(), "sqlite::memory:")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = st.Close() })
	b, links := demoOver(t, st, on)
	b.t = t
	b.http = httptest.NewServer(b.server.Handler())
	t.Cleanup(b.http.Close)
	b.client, b.key = b.newClient(), strings.TrimPrefix(links.Page, "http://trees.example/enter/")
	return b, links
}

// demoOver loads the demo into a store, and puts a server over it.
func demoOver(t testing.TB, st calendar.Store, on time.Time) (*bed, Links) {
	t.Helper()
	ground, err := lore.NewGround()
	if err != nil {
		t.Fatal(err)
	}
	b := &bed{store: st}
	b.set(on)
	cfg := Config{Store: st, Lore: ground.Lore(), Ground: ground, Base: "http://trees.example", Now: b.now, Random: rand.Reader}
	links, err := LoadDemo(t.Context(), cfg, demo)
	if err != nil {
		t.Fatal(err)
	}
	if b.server, err = New(cfg); err != nil {
		t.Fatal(err)
	}
	return b, links
}

// TestDemoIsLivelyOnAnyDay loads the demo on a day of each season and on days
// that calendars stumble over.
func TestDemoIsLivelyOnAnyDay(t *testing.T) {
	bodies := map[string][]byte{}
	for _, on := range []string{"2027-01-20", "2027-03-30", "2028-02-29", "2026-06-15", "2030-10-01", "2026-12-31"} {
		at, err := time.Parse(time.DateOnly, on)
		if err != nil {
			t.Fatal(err)
		}
		b, links := newDemo(t, at.Add(9*time.Hour))
		if len(links.Feeds) != 3 || links.Region != "http://trees.example/r/quernthal" {
			t.Fatalf("%s: links %v", on, links)
		}
		for i, f := range append(links.Feeds, links.Region+"/calendar.ics") {
			a := b.get(strings.TrimPrefix(f, "http://trees.example"))
			n := strings.Count(a.text, "BEGIN:VEVENT")
			if a.StatusCode != http.StatusOK || i != 1 && n < 3 || n == 0 {
				t.Errorf("%s: feed %d: %s with %d events", on, i, a.Status, n)
			}
			bodies[on+"-"+string(rune('a'+i))] = []byte(a.text)
		}
		works := 0
		for _, w := range find(b.open().node(t), "li", "class", "task") {
			if !hasWord(attr(w, "class"), "waits") {
				works++
			}
		}
		page := b.shown("/trees").node(t)
		trees := 0
		for _, l := range find(page, "ul", "class", "list") {
			trees += len(find(l, "h3", "", ""))
		}
		if trees < 12 || works < 3 {
			t.Errorf("%s: %d trees, %d works to do", on, trees, works)
		}
		for _, p := range find(page, "p", "class", "next") {
			if s := text(p); len(s) < len("Next. Leave") {
				t.Errorf("%s: a tree does not say what comes next: %q", on, s)
			}
		}
	}
	icstest.Check(t, bodies)
}

func TestDemoMornings(t *testing.T) {
	b, _ := newDemo(t, time.Date(2027, time.April, 12, 5, 0, 0, 0, time.UTC))
	for range 2 {
		b.must(b.server.Morning(b.ctx(), "demo", nil, b.now()))
	}
	nudges, err := b.store.Nudges(b.ctx(), "demo", 0)
	b.must(err)
	kinds := map[string]int{}
	for _, n := range nudges {
		kinds[n.Kind]++
	}
	if kinds["buds-swell"] != 1 {
		t.Errorf("in mid-April, after the same morning twice: nudges %v; want one that buds swell", kinds)
	}
}

func TestMovingByYears(t *testing.T) {
	leap := climate.NewDate(2024, time.February, 28)
	r := &climate.Record{First: leap, Days: []climate.Day{
		{Tmax: 1, TmaxOrigin: climate.Measured}, {Tmax: 2, TmaxOrigin: climate.Measured}, {Tmax: 3, TmaxOrigin: climate.Measured},
	}}
	if m := moveRecord(r, 1); m.First != climate.NewDate(2025, time.February, 28) || len(m.Days) != 2 || m.Days[1].Tmax != 3 {
		t.Errorf("to a year without 29 February: %+v", m)
	}
	r = &climate.Record{First: climate.NewDate(2025, time.February, 28), Days: r.Days[:2]}
	if m := moveRecord(r, 3); len(m.Days) != 3 || m.Days[1].TmaxOrigin != climate.Missing || m.Days[2].Tmax != 2 {
		t.Errorf("to a year with 29 February: %+v", m)
	}
	if d := moveDate(climate.NewDate(2024, time.February, 29), 1); d != climate.NewDate(2025, time.February, 28) {
		t.Errorf("29 February a year later: %v", d)
	}
	trees := []calendar.Tree{{ID: "a", Log: []calendar.Entry{{On: leap}, {On: leap + 400}}}, {ID: "b", Log: []calendar.Entry{{On: leap + 400}}}}
	if m := moveTrees(trees, 0, leap+10); len(m) != 1 || len(m[0].Log) != 1 || len(trees[0].Log) != 2 {
		t.Errorf("what is to come is not left out: %+v", m)
	}
}
