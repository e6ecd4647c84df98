package calendar

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"budswell/climate"
)

const regionHead = `version: 1
site: {name: mill, lat: 47.05, lon: 8.9, elevation: 560, tz: Europe/Zurich}
weather: {frost: {last: 04-25, first: 10-15, mean: 9, range: 18}}
trees: []
region:
  id: hill
  name: Hill club
`

func TestReadRegion(t *testing.T) {
	f, err := ReadFile("plan.yaml", []byte(regionHead+`  groups: [deciduous]
  species: [field maple, Pinus sylvestris]
  bands:
    - {name: Valley floor, elevation: 420, weather: {record: station.csv}}
    - {id: top, name: Upper slopes, elevation: 980}
    - {name: The other side, elevation: 700, lat: 46.5, lon: 8.5}
`), smallLore(), climate.NoDate)
	if err != nil {
		t.Fatal(err)
	}
	want := &Region{ID: "hill", Name: "Hill club", Groups: []string{"deciduous"}, Species: []string{"Acer campestre", "Pinus sylvestris"}}
	if diff := cmp.Diff(want, f.Region); diff != "" {
		t.Error(diff)
	}
	r, err := f.RegionWith(f.Site, climate.Weather{}, func(path string) (*climate.Record, error) {
		return &climate.Record{Source: path}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct {
		id, zone       string
		elevation, lat float64
		record         string
	}{{"valley-floor", "Europe/Zurich", 420, 47.05, "station.csv"}, {"top", "Europe/Zurich", 980, 47.05, ""}, {"the-other-side", "Europe/Zurich", 700, 46.5, ""}} {
		b := r.Bands[i]
		if b.ID != want.id || b.Site.Zone != want.zone || b.Site.Elevation != want.elevation || b.Site.Lat != want.lat || b.Site.Name != b.Name {
			t.Errorf("band %d: %+v, want %+v", i, b, want)
		}
		if b.Weather.Normals == nil || (b.Weather.Record != nil) != (want.record != "") {
			t.Errorf("band %d: weather %+v", i, b.Weather)
		}
	}
	if low, high := r.Bands[0].Weather.Normals, r.Bands[1].Weather.Normals; low.Tmax[4] <= high.Tmax[4] {
		t.Errorf("May at 420 m has %.1f C, at 980 m %.1f", low.Tmax[4], high.Tmax[4])
	}
}

// TestOldRegionIsOneBand: a file that names no bands publishes its site.
func TestOldRegionIsOneBand(t *testing.T) {
	f, err := ReadFile("plan.yaml", []byte(regionHead), smallLore(), climate.NoDate)
	if err != nil {
		t.Fatal(err)
	}
	w := climate.Weather{Frost: f.Weather.Frost}
	r, err := f.RegionWith(f.Site, w, nil)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]Band{{ID: "mill", Name: "mill", Site: f.Site, Weather: w}}, r.Bands); diff != "" {
		t.Error(diff)
	}
}

func TestReadRegionFaults(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"  bands: []", "plan.yaml:8:10: region.bands: has 0 bands; want 1 to 8"},
		{"  bands:\n    - {name: low}", "plan.yaml:9:7: region.bands[1].elevation: is missing"},
		{"  bands:\n    - {elevation: 400}", "region.bands[1].name: is missing"},
		{"  bands:\n    - {name: low, elevation: 9000}", `plan.yaml:9:30: region.bands[1].elevation: site "low": elevation 9000: want metres from -430 to 6000`},
		{"  bands:\n    - {name: low, elevation: high}", `region.bands[1].elevation: "high": want a number`},
		{"  bands:\n    - {name: low, elevation: 400, lat: 47}", "has only one of lat and lon"},
		{"  bands:\n    - {name: low, elevation: 400, lat: 97, lon: 8}", "region.bands[1].lat"},
		{"  bands:\n    - {name: low, elevation: 400, lat: -47, lon: 8}\n    - {name: high, elevation: 800}", "lies across the equator"},
		{"  bands:\n    - {name: low, elevation: 400, lat: 47, lon: 8, place: Zurich}", "stands beside lat or lon"},
		{"  bands:\n    - {name: low, elevation: 400, place: Nowhereatall}", "region.bands[1].place"},
		{"  bands:\n    - {name: low, elevation: 400, tz: Nowhere/There}", "want an IANA time zone"},
		{"  bands:\n    - {name: low, elevation: 400, id: print}", `id "print": stands for something else in links`},
		{"  bands:\n    - {name: low, elevation: 400, id: Low Band}", "want lower-case letters a to z"},
		{"  bands:\n    - {name: low, elevation: 400}\n    - {name: low, elevation: 800}", "another band has this name"},
		{"  bands:\n    - {name: low, id: x, elevation: 400}\n    - {name: high, id: x, elevation: 800}", "another band has it"},
		{"  bands:\n    - {name: low, elevation: 400, weather: {provider: open-meteo}}", "weather that keeps coming is for places only"},
		{"  bands:\n    - {name: low, elevation: 400, weather: {normals: {tmin: [1], tmax: [2]}}}", "has 1 numbers; want 12"},
		{"  bands:\n    - {name: low, elevation: 400, hight: 3}", "there is no such field"},
		{"  species: [Acer kampestre]", `plan.yaml:8:13: region.species[1]: "Acer kampestre": no such species is known; did you mean Acer campestre?`},
		{"  species: [field maple, Acer campestre]", "region.species[2]: \"Acer campestre\": Acer campestre is given twice"},
		{"  groups: [shrubs]", "there is no group"},
	} {
		f, err := ReadFile("plan.yaml", []byte(regionHead+c.in+"\n"), smallLore(), climate.NoDate)
		if f != nil || err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s:\n got %v\nwant %s", c.in, err, c.want)
		}
	}
	for _, id := range []string{"Hill", "a b", "-a", strings.Repeat("a", 65)} {
		if _, err := ReadFile("plan.yaml", []byte(strings.Replace(regionHead, "id: hill", "id: '"+id+"'", 1)), smallLore(), climate.NoDate); err == nil || !strings.Contains(err.Error(), "region.id") {
			t.Errorf("id %q: %v", id, err)
		}
	}
}
