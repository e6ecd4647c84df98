package calendar_test

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/climate/atlas"
)

func atlasBand(t *testing.T, name string, lat, lon, elevation float64) calendar.Band {
	t.Helper()
	at, err := atlas.At(lat, lon, &elevation)
	if err != nil {
		t.Fatal(err)
	}
	return calendar.Band{
		ID: calendar.BandID(name, nil), Name: name, Weather: climate.Weather{Normals: &at.Normals},
		Site: climate.Site{Name: name, Lat: lat, Lon: lon, Elevation: elevation, Zone: "UTC"},
	}
}

// TestBandsOfAValley: what bud swell opens comes later the higher the band; the whole lies
// between its bands and is wider than each, and says nothing of a season that nobody measured.
func TestBandsOfAValley(t *testing.T) {
	l, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	on := climate.NewDate(2027, 2, 1)
	r := &calendar.Region{
		ID: "hill", Name: "Hill", Groups: []string{"deciduous"}, Species: []string{"Larix decidua", "Nosuch tree"},
		Bands: []calendar.Band{atlasBand(t, "floor", 47.05, 8.9, 430), atlasBand(t, "slope", 47.05, 8.9, 900), atlasBand(t, "alp", 47.05, 8.9, 1350)},
	}
	p, err := calendar.PlanRegion(l, r, on)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Whole.Trees) != 2 || p.Whole.Trees[1].Tree.ID != "larix-decidua" {
		t.Fatalf("%d groups and species", len(p.Whole.Trees))
	}
	checked := 0
	for i := range p.Whole.Trees {
		for _, w := range p.Whole.Trees[i].Works {
			if w.Work.ID != calendar.WorkRepot || w.Season != 2027 {
				continue
			}
			checked++
			var before climate.Spread
			wide := w.Window.Opens.P90 - w.Window.Opens.P10
			for k := range p.Bands {
				b := p.Bands[k].Work(i, w.Key)
				if b == nil {
					t.Fatalf("%s lacks %s", p.Bands[k].Band.Name, w.Key)
				}
				o := b.Window.Opens
				if o.P50 <= before.P50 {
					t.Errorf("%s opens %v at %s, %v below it", w.Key, o, p.Bands[k].Band.Name, before)
				}
				if o.P90-o.P10 > wide {
					t.Errorf("%s is wider at %s than over all bands", w.Key, p.Bands[k].Band.Name)
				}
				before = o
			}
			low, high := p.Bands[0].Work(i, w.Key).Window, p.Bands[2].Work(i, w.Key).Window
			if o := w.Window.Opens.P50; o <= low.Opens.P50 || o >= high.Opens.P50 {
				t.Errorf("%s over all opens %v, from %v to %v", w.Key, o, low.Opens.P50, high.Opens.P50)
			}
		}
		for k := range p.Bands {
			if pace := p.Bands[k].Paces[i]; pace != nil {
				t.Errorf("no weather was measured, and yet: %+v", pace)
			}
		}
	}
	if checked < 2 {
		t.Errorf("%d repots", checked)
	}
	r.Bands = r.Bands[:1]
	alone, err := calendar.PlanRegion(l, r, on)
	if err != nil {
		t.Fatal(err)
	}
	if alone.Whole != alone.Bands[0].Plan {
		t.Error("the whole of one band is another plan")
	}
	r.Groups, r.Species = nil, []string{"Nosuch tree"}
	if _, err := calendar.PlanRegion(l, r, on); !errors.Is(err, calendar.ErrInvalid) {
		t.Errorf("nothing to show: %v", err)
	}
}

// TestTropicalRegion: no day is given for what hangs on buds, and no season is ahead.
func TestTropicalRegion(t *testing.T) {
	l, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	r := &calendar.Region{ID: "isle", Name: "Isle", Groups: []string{"deciduous", "frost-tender"}, Bands: []calendar.Band{atlasBand(t, "town", 1.35, 103.82, 20)}}
	p, err := calendar.PlanRegion(l, r, climate.NewDate(2027, 4, 1))
	if err != nil {
		t.Fatal(err)
	}
	for i, pace := range p.Bands[0].Paces {
		if pace != nil {
			t.Errorf("%s: %+v", p.Whole.Trees[i].Tree.ID, pace)
		}
	}
	for _, w := range p.Whole.Trees[0].Works {
		if w.Work.ID == calendar.WorkRepot {
			t.Errorf("repot: %+v", w.Window)
		}
	}
	if p.Whole.Trees[0].Doubt == "" {
		t.Error("it is not said that deciduous trees are doubtful there")
	}
}

// TestBandIDs: whatever a band is called, its id is one, and its own.
func TestBandIDs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var bands []calendar.Band
		for i := range rapid.IntRange(1, calendar.MostBands).Draw(t, "bands") {
			name := rapid.String().Draw(t, "name")
			id := calendar.BandID(name, bands)
			bands = append(bands, calendar.Band{ID: id, Name: strings.Repeat("x", i+1), Site: climate.Site{Zone: "UTC", Lat: 1}})
		}
		if err := calendar.CheckBands(bands); err != nil {
			t.Fatal(err)
		}
	})
	for name, want := range map[string]string{"Valley floor": "valley-floor", "print": "print-2", "Über 800 m": "ber-800-m", "谷": "band", "": "band"} {
		if got := calendar.BandID(name, nil); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}
