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
)

// lendBed is a club's region whose one band stands ten kilometres from the place of its editor
// ada, who is signed in; planned is what was last planned of it.
func lendBed(t *testing.T) (b *bed, planned *calendar.Region) {
	b = newBed(t)
	b.open()
	b.newClub("ridge", calendar.Editor)
	planned = &calendar.Region{}
	b.server.planner.groups = func(l *calendar.Lore, r *calendar.Region, on climate.Date) (*calendar.RegionPlan, error) {
		*planned = *r
		b.plans.Add(1)
		return b.planGroups(l, r, on)
	}
	r := valley
	r.Club, r.Bands = "ridge", []calendar.Band{valley.Bands[0]}
	r.Bands[0].Site = climate.Site{Name: "valley", Lat: 50.19, Lon: 8.7, Elevation: 420, Zone: "Europe/Berlin"}
	b.must(b.store.PutRegion(b.ctx(), r))
	return b, planned
}

// bandTyped is the form of the band as it stands, with a choice of the place.
func (b *bed) bandTyped(lent string) url.Values {
	return url.Values{"name": {"Valley floor"}, "where": {"50.19, 8.7"}, "elevation": {"420"}, "weather": {"kept"}, "lent": {lent}, "changes": {b.changes("valley")}}
}

// read lets something come in at a place.
func (b *bed) read(grower, place string, s climate.Series) {
	b.t.Helper()
	_, err := b.store.PutReadings(b.ctx(), grower, place, s, false)
	b.must(err)
}

const theBand = "/clubs/ridge/regions/valley/bands/floor"

// TestBandTakesWeatherFromAPlace: an editor picks an own place; the plan goes by its weather, at
// the band's elevation, and anew in the morning, but not with all that comes in.
func TestBandTakesWeatherFromAPlace(t *testing.T) {
	b, planned := lendBed(t)
	today := date(2027, 3, 1)
	far := calendar.Place{ID: "far", Grower: "ada", Site: climate.Site{Name: "far bench", Lat: 47, Lon: 8.7, Elevation: 400, Zone: "Europe/Zurich"}, Weather: valley.Bands[0].Weather}
	b.must(b.store.PutPlace(b.ctx(), far))
	var offered []string
	for _, o := range find(find(b.shown(theBand).node(t), "select", "name", "lent")[0], "option", "", "") {
		offered = append(offered, text(o))
	}
	if got := strings.Join(offered, "; "); got != "None but what stands here; north bench" {
		t.Errorf("offered: %s", got)
	}
	refused(t, "too far", b.post(theBand, b.bandTyped("place far")), "far bench is 355 km from the band")
	refused(t, "nobody's", b.post(theBand, b.bandTyped("place nosuch")), "no such place of yours")
	refused(t, "none to keep", b.post(theBand, b.bandTyped("kept")), "no such place of yours")

	a := b.post(theBand, b.bandTyped("place north"))
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "It goes by its own weather alone until any is measured, or foretold, at your place north bench.") {
		t.Errorf("kept: %s\n%s", a.Status, a.text)
	}
	b.get("/r/valley")
	if w := planned.Bands[0].Weather; w.Record != nil || planned.Bands[0].Lent != nil {
		t.Errorf("before anything was measured: %+v", w)
	}
	b.read("ada", "north", steady("Open-Meteo archive", climate.Analysis, today-300, today-1, 4))
	b.read("ada", "north", steady("Open-Meteo forecast", climate.Foretold, today, today+9, 5))
	plans := b.plans.Load()
	b.get("/r/valley")
	if n := b.plans.Load(); n != plans {
		t.Errorf("%d plans more for what came in after the morning's", n-plans)
	}
	b.set(b.now().Add(24 * time.Hour)) // at seven o'clock there
	b.get("/r/valley")
	r, f := planned.Bands[0].Weather.Record, planned.Bands[0].Weather.Forecast
	if r == nil || f == nil || r.Last() != today-1 || f.Last() != today+9 {
		t.Fatalf("planned with %v and %v", r, f)
	}
	if v := r.At(today - 1); !(v.Tmin < 3.5 && v.Tmin > 0) { // 300 m higher up
		t.Errorf("4 degrees became %v", v.Tmin)
	}
	if p := b.shown("/clubs/ridge/regions/valley"); !strings.Contains(p.text, "Over it, each morning, the weather of your place north bench.") {
		t.Errorf("the form says:\n%s", p.text)
	}
	kept, err := b.store.Region(b.ctx(), "valley")
	b.must(err)
	if w := kept.Bands[0].Weather; w.Record != nil || w.Frost == nil || kept.Bands[0].Lent == nil {
		t.Errorf("the band's own weather became %+v", w)
	}

	// The place is put elsewhere: at once, and then too far.
	p, err := b.store.Place(b.ctx(), "ada", "north")
	b.must(err)
	p.Site.Lat = 48
	b.must(b.store.PutPlace(b.ctx(), p))
	b.get("/r/valley")
	if planned.Bands[0].Weather.Record != nil {
		t.Error("planned by a place that is far")
	}
	if p := b.shown(theBand); !strings.Contains(p.text, "your place north bench, from which it is to take its weather, is more than 50 km away by now") {
		t.Errorf("the form says:\n%s", p.text)
	}
	b.post(theBand, b.bandTyped(""))
	if kept, err = b.store.Region(b.ctx(), "valley"); err != nil || kept.Bands[0].Lent != nil {
		t.Errorf("picked none: %+v, %v", kept.Bands[0].Lent, err)
	}
}

// TestMorningOfALentBand: what was planned in the night gives way at six, once; a region to which
// nothing is lent is planned once a day.
func TestMorningOfALentBand(t *testing.T) {
	b, _ := lendBed(t)
	for _, lent := range []bool{false, true} {
		want := []int32{1, 0, 0, 0, 0, 1}
		if lent {
			r, err := b.store.Region(b.ctx(), "valley")
			b.must(err)
			r.Bands[0].Lent = &calendar.Lent{Grower: "ada", Place: "north"}
			b.must(b.store.PutRegion(b.ctx(), r))
			want = []int32{1, 0, 1, 0, 0, 1}
		}
		for i, at := range []string{"2027-05-04T00:20", "2027-05-04T05:50", "2027-05-04T06:10", "2027-05-04T12:00", "2027-05-04T23:50", "2027-05-05T00:10"} {
			zone, err := time.LoadLocation("Europe/Berlin")
			b.must(err)
			now, err := time.ParseInLocation("2006-01-02T15:04", at, zone)
			b.must(err)
			if lent {
				now = now.AddDate(0, 0, 7)
			}
			b.set(now)
			b.read("ada", "north", steady("Open-Meteo archive", climate.Analysis, date(2027, 4, 1), date(2027, 4, 2), float64(i)))
			before := b.plans.Load()
			b.get("/r/valley")
			if got := b.plans.Load() - before; got != want[i] {
				t.Errorf("lent %t, at %s: %d plans, want %d", lent, at, got, want[i])
			}
		}
	}
}

// TestOthersDoNotSeeWhosePlace: another editor sees that a band rests on a place, and may leave or
// end that; members and strangers do not. Nobody lends a place of somebody else.
func TestOthersDoNotSeeWhosePlace(t *testing.T) {
	b, planned := lendBed(t)
	b.must(b.store.PutClub(b.ctx(), calendar.Club{ID: "vale", Name: "Vale", Founded: b.now()}))
	b.post(theBand, b.bandTyped("place north"))
	b.read("ada", "north", steady("zzsource", climate.FromStation, date(2027, 1, 1), date(2027, 2, 27), 4))
	b.grower("bea", "south")
	b.client = b.newClient()
	b.open()
	b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: "ridge", Grower: "bea", Role: calendar.Editor, Since: b.now()}))
	for _, path := range []string{"/clubs/ridge/regions/valley", theBand, "/r/valley"} {
		a := b.shown(path)
		for _, private := range []string{"north bench", "place north", "ada", "ADA", "zzsource", "50.1,", "120 m"} {
			if strings.Contains(a.text, private) {
				t.Errorf("%s tells %q", path, private)
			}
		}
		if words := "Over it, each morning, the weather of a place of an editor."; (path != "/r/valley") != strings.Contains(a.text, words) {
			t.Errorf("%s: %s", path, a.text)
		}
	}
	is := func(what string, want *calendar.Lent) {
		t.Helper()
		r, err := b.store.Region(b.ctx(), "valley")
		b.must(err)
		if got := r.Bands[0].Lent; (got == nil) != (want == nil) || got != nil && *got != *want {
			t.Errorf("%s: %+v, want %+v", what, got, want)
		}
	}
	ada := &calendar.Lent{Grower: "ada", Place: "north"}
	refused(t, "another's", b.post(theBand, b.bandTyped("place north")), "no such place of yours")
	b.post(theBand, with(b.bandTyped("kept"), "name", "Other name"))
	is("left as it is", ada)
	form := b.bandTyped("")
	form.Del("lent")
	b.post(theBand, form)
	is("not asked", ada)
	if p := b.post(theBand, with(b.bandTyped("kept"), "do", "preview")); !strings.Contains(p.text, "not published yet") || planned.Bands[0].Weather.Record == nil || planned.Bands[0].Lent != nil {
		t.Errorf("preview: %s, of %+v", p.Status, planned.Bands[0])
	}
	b.post(theBand, b.bandTyped("place south"))
	is("her own", &calendar.Lent{Grower: "bea", Place: "south"})
	b.must(b.store.EndMember(b.ctx(), "ridge", "bea"))
	is("she left", &calendar.Lent{})
	b.get("/r/valley")
	if planned.Bands[0].Weather.Record != nil {
		t.Error("planned by the place of one who left")
	}
	b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: "ridge", Grower: "bea", Role: calendar.Editor, Since: b.now()}))
	if p := b.shown("/clubs/ridge/regions/valley"); !strings.Contains(p.text, "whose owner left or edits no more: it goes by its own weather alone.") {
		t.Errorf("editors are not told:\n%s", p.text)
	}
}

// TestPlanAsksWhoLends: whatever the store was told, such as by an older instance, the weather of a
// place goes over a band only while its grower edits the regions of the very club.
func TestPlanAsksWhoLends(t *testing.T) {
	b, _ := lendBed(t)
	b.read("ada", "north", steady("s", climate.FromStation, date(2027, 1, 1), date(2027, 2, 27), 4))
	b.grower("bea", "south")
	b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: "ridge", Grower: "bea", Role: calendar.Plain, Since: b.now()}))
	b.read("bea", "south", steady("s", climate.FromStation, date(2027, 1, 1), date(2027, 2, 27), 4))
	for name, c := range map[string]struct {
		club string
		lent *calendar.Lent
		want lentHow
	}{
		"an editor":      {"ridge", &calendar.Lent{Grower: "ada", Place: "north"}, lentSound},
		"none":           {"ridge", nil, lentNone},
		"another club":   {"vale", &calendar.Lent{Grower: "ada", Place: "north"}, lentGone},
		"no club":        {"", &calendar.Lent{Grower: "ada", Place: "north"}, lentGone},
		"no such place":  {"ridge", &calendar.Lent{Grower: "ada", Place: "south"}, lentGone},
		"a plain member": {"ridge", &calendar.Lent{Grower: "bea", Place: "south"}, lentGone},
		"nobody we know": {"ridge", &calendar.Lent{Grower: "cy", Place: "north"}, lentGone},
		"lent no more":   {"ridge", &calendar.Lent{}, lentGone},
		"no name of one": {"ridge", &calendar.Lent{Grower: "ada", Place: ""}, lentGone},
	} {
		r, err := b.store.Region(b.ctx(), "valley")
		b.must(err)
		r.Club, r.Bands[0].Lent = c.club, c.lent
		l, err := b.server.lend(b.ctx(), &r)
		b.must(err)
		if got := l.stands["floor"]; got != c.want || (r.Bands[0].Weather.Record != nil) != (c.want == lentSound) || r.Bands[0].Lent != nil {
			t.Errorf("%s: stands as %d, with %v", name, got, r.Bands[0].Weather.Record)
		}
	}
}

// TestRegionShowsSpeciesOfItsClub: what the club's own words call a species is offered, taken, and
// planned; that of another club is not.
func TestRegionShowsSpeciesOfItsClub(t *testing.T) {
	ground, err := lore.NewGround()
	if err != nil {
		t.Fatal(err)
	}
	b := newBed(t, func(c *Config) { c.Ground, c.Lore = ground, ground.Lore() })
	b.open()
	b.newClub("ridge", calendar.Editor)
	b.newClub("vale", calendar.Editor)
	for _, club := range []string{"ridge", "vale"} {
		r := valley
		r.ID, r.Club = club, club
		b.must(b.store.PutRegion(b.ctx(), r))
	}
	own := "species:\n  - name: Acer vallense\n    common: [valley maple]\n    group: deciduous\n    source: common practice, no published source\n"
	_, err = b.store.Amend(b.ctx(), calendar.Amendment{Whose: calendar.Whose{Club: "ridge"}, Subject: "species Acer vallense", At: b.now(), Who: "ada", Text: own}, 0)
	b.must(err)
	if p := b.shown("/clubs/ridge/regions/ridge"); !strings.Contains(p.text, `value="Acer vallense"`) || !strings.Contains(p.text, `value="valley maple"`) {
		t.Error("it is not offered")
	}
	if p := b.shown("/clubs/vale/regions/vale"); strings.Contains(p.text, "vallense") {
		t.Error("it is offered to another club")
	}
	form := func(region string) url.Values {
		return url.Values{"name": {"R"}, "species": {"valley maple"}, "changes": {b.changes(region)}}
	}
	if p := b.post("/clubs/ridge/regions/ridge", form("ridge")); p.StatusCode != http.StatusOK {
		t.Errorf("%s\n%s", p.Status, p.text)
	}
	r, err := b.store.Region(b.ctx(), "ridge")
	b.must(err)
	if strings.Join(r.Species, "; ") != "Acer vallense" {
		t.Errorf("it shows %q", r.Species)
	}
	refused(t, "another club's", b.post("/clubs/vale/regions/vale", form("vale")), "alley maple")
}
