package feeds

import (
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/wording"
)

const northReadings = "/places/north/readings"

func reading(on, tmin, tmax, prcp string) url.Values {
	return url.Values{"on": {on}, "tmin": {tmin}, "tmax": {tmax}, "prcp": {prcp}}
}

// typedDays returns what is kept of the readings typed at ada's place, as text.
func (b *bed) typedDays() (out []string) {
	b.t.Helper()
	series, err := b.store.Readings(b.ctx(), "ada", "north")
	b.must(err)
	for _, s := range series {
		if s.Source != typedReadings || s.Kind != climate.OwnReading {
			b.t.Errorf("a series %s, %v", s.Source, s.Kind)
		}
		for _, r := range s.Readings {
			out = append(out, strings.Join([]string{r.On.String(), wording.English.Typed(r.Tmin), wording.English.Typed(r.Tmax), wording.English.Typed(r.Prcp)}, " "))
		}
	}
	return out
}

func TestReadingsAreTypedCorrectedAndTakenOut(t *testing.T) {
	b := newBed(t)
	if a := b.send(b.client, http.MethodGet, northReadings, nil); a.StatusCode != http.StatusForbidden {
		t.Errorf("a stranger: %s", a.Status)
	}
	b.open()
	if links := find(b.shown("/places").node(t), "a", "href", northReadings); len(links) != 1 {
		t.Errorf("%d links to the page", len(links))
	}
	plans := b.plans.Load()
	a := b.postTo(northReadings, northReadings, reading("2027-02-28", "\u22123,5", " 7 ", ""))
	if a.StatusCode != http.StatusOK || !strings.Contains(a.text, "kept, and planned anew") || b.plans.Load() == plans {
		t.Fatalf("%s, %d plans\n%s", a.Status, b.plans.Load()-plans, a.text)
	}
	b.postTo(northReadings, northReadings, reading("2027-03-01", "-1", "", "0"))
	if got, want := strings.Join(b.typedDays(), "; "), "2027-02-28 -3.5 7 ; 2027-03-01 -1  0"; got != want {
		t.Errorf("kept %q, want %q", got, want)
	}
	list := text(find(b.send(b.client, http.MethodGet, northReadings, nil).node(t), "ul", "class", "past")[0])
	if !strings.Contains(list, "Mon 1 Mar 2027: lowest −1 °C, rain 0 mm") || strings.Index(list, "1 Mar") > strings.Index(list, "28 Feb") {
		t.Errorf("the list: %s", list)
	}

	// One is corrected: its page shows it, and what is left empty stays.
	n := b.send(b.client, http.MethodGet, northReadings+"?on=2027-02-28", nil).node(t)
	if v := attr(find(n, "input", "name", "tmin")[0], "value"); v != "-3.5" {
		t.Errorf("to be corrected is %q", v)
	}
	b.postTo(northReadings, northReadings, reading("2027-02-28", "-4", "", ""))
	if got := b.typedDays()[0]; got != "2027-02-28 -4 7 " {
		t.Errorf("corrected %q", got)
	}

	b.postTo(northReadings, northReadings+"/out", url.Values{"on": {"2027-02-28"}})
	if got := strings.Join(b.typedDays(), "; "); got != "2027-03-01 -1  0" {
		t.Errorf("left %q", got)
	}
	if a := b.postTo(northReadings, northReadings+"/out", url.Values{"on": {"2027-02-28"}}); a.StatusCode != http.StatusNotFound {
		t.Errorf("taken out twice: %s", a.Status)
	}
	b.grower("bea", "south")
	for _, path := range []string{"/places/south/readings", "/places/nowhere/readings"} {
		if a := b.send(b.client, http.MethodGet, path, nil); a.StatusCode != http.StatusNotFound {
			t.Errorf("%s: %s", path, a.Status)
		}
	}
}

func TestReadingsThatCannotBe(t *testing.T) {
	b := newBed(t)
	b.open()
	b.postTo(northReadings, northReadings, reading("2027-02-27", "", "4", ""))
	for name, row := range map[string]struct {
		form  url.Values
		words string
	}{
		"no day":                    {reading("", "1", "2", ""), "written YYYY-MM-DD; 2027-03-01 is today"},
		"no such day":               {reading("2027-02-29", "1", "2", ""), "one that exists"},
		"tomorrow":                  {reading("2027-03-02", "1", "2", ""), "not be after today"},
		"long ago":                  {reading("1950-01-01", "1", "2", ""), "forty years"},
		"nothing":                   {reading("2027-02-28", "", "", ""), "type the lowest"},
		"no number":                 {reading("2027-02-28", "cold", "2", ""), "such as -3.5"},
		"not a number":              {reading("2027-02-28", "NaN", "2", ""), "-90 to 60"},
		"too cold":                  {reading("2027-02-28", "-90.1", "2", ""), "-90 to 60"},
		"too hot":                   {reading("2027-02-28", "1", "1e9", ""), "-90 to 60"},
		"rain upward":               {reading("2027-02-28", "1", "2", "-1"), "0 to 2000"},
		"lowest above":              {reading("2027-02-28", "9", "2", ""), "9 °C, must not be above the highest of the day, 2 °C"},
		"lowest above the one kept": {reading("2027-02-27", "5", "", ""), "5 °C, must not be above the highest of the day, 4 °C"},
	} {
		a := b.postTo(northReadings, northReadings, row.form)
		if a.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(a.text, "Not kept: ") || !strings.Contains(a.text, row.words) {
			t.Errorf("%s: %s, want %q in\n%s", name, a.Status, row.words, a.text)
			continue
		}
		for field := range row.form {
			if v := attr(find(a.node(t), "input", "name", field)[0], "value"); v != row.form.Get(field) {
				t.Errorf("%s: %s was typed as %q and is shown as %q", name, field, row.form.Get(field), v)
			}
		}
	}
	if got := strings.Join(b.typedDays(), "; "); got != "2027-02-27  4 " {
		t.Errorf("kept %q", got)
	}
}

// From two weeks of readings on, the plan's weather is shifted by how they differ.
func TestReadingsShiftTheWeather(t *testing.T) {
	b := newBed(t)
	b.open()
	var days []climate.Reading
	for d := range 40 {
		days = append(days, climate.Reading{On: date(2027, 1, 20) + climate.Date(d), Tmin: 0, Tmax: 8, Prcp: math.NaN(), Got: b.now()})
	}
	_, err := b.store.PutReadings(b.ctx(), "ada", "north", climate.Series{Source: "a service", Kind: climate.Analysis, Readings: days}, false)
	b.must(err)
	notes := func() string {
		p := b.weather("north")
		return strings.Join(p.Record.Notes, "; ")
	}
	for d := range 14 {
		if strings.Contains(notes(), "was taken") {
			t.Fatalf("shifted after %d days: %s", d, notes())
		}
		b.postTo(northReadings, northReadings, reading((date(2027, 2, 10)+climate.Date(d)).String(), strconv.Itoa(-4), "8", ""))
	}
	// -4 C over two weeks, which count for half beside as much disbelief.
	if !strings.Contains(notes(), "what was not read at the place was taken -2.0 C by night and +0.0 C by day, after 14 and 14 days") {
		t.Errorf("notes: %s", notes())
	}
	if day := b.weather("north").Record.At(date(2027, 1, 25)); day.Tmin != -2 || day.Tmax != 8 {
		t.Errorf("another day is %+v", day)
	}
}

// weather is what the plan of one of ada's places is made from.
func (b *bed) weather(place string) climate.Weather {
	b.t.Helper()
	p, err := b.store.Place(b.ctx(), "ada", place)
	b.must(err)
	b.must(b.server.addReadings(b.ctx(), &garden{grower: calendar.Grower{ID: "ada"}}, &p))
	return p.Weather
}

// What a station read elsewhere is taken to the place by the rates that the atlas has
// there, which in winter are less than the mean.
func TestStationsAreAdjustedByTheRatesOfThePlace(t *testing.T) {
	b := newBed(t)
	p, err := b.store.Place(b.ctx(), "ada", "north")
	b.must(err)
	high := p.Site.Elevation + 1000
	_, err = b.store.PutReadings(b.ctx(), "ada", "north", climate.Series{Source: "summit", Kind: climate.FromStation, Elevation: &high, Readings: []climate.Reading{
		{On: date(2027, 1, 15), Tmin: -10, Tmax: -5, Prcp: math.NaN(), Got: b.now()},
	}}, false)
	b.must(err)
	w := b.weather("north")
	day := w.Record.At(date(2027, 1, 15))
	if w.Lapse == nil || day.Tmin <= -10 || day.Tmin > -4.5 || math.Abs(day.Tmin-(-10+1000*w.Lapse.Tmin[0])) > 1e-9 {
		t.Errorf("the night is %v, by the mean it would be -3.5", day.Tmin)
	}
}
