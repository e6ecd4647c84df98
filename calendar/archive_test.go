package calendar_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
)

const sound = `{"format": "budswell-archive", "version": 1, "growers": [{"id": "ada", "name": "Ada", "email": "",
 "places": [{"id": "p", "name": "bench", "lat": 50, "lon": 8, "elevation": 100, "tz": "Europe/Berlin", "seed": 18446744073709551615,
  "record": {"source": "s", "first": "2024-02-28", "tmin": [-1.5, null, 0.1], "tmax": [3, null, 5], "prcp": [null, null, 0],
   "origins": {"tmin": "m-p", "tmax": "i-t", "prcp": "--m"}},
  "benches": [{"id": "frame", "name": "frame", "exposure": "cold frame"}],
  "sources": [{"kind": "met-norway"}, {"kind": "station", "at": "https://s.example/x.csv", "elevation": 90}],
  "own_readings": [{"source": "own", "days": [{"on": "2025-01-05", "tmin": -3, "tmax": 2, "prcp": null, "got": "2025-01-05T18:00:00Z"}]}]}],
 "nudges": {"mail": true, "off": ["heat"], "level": 0.5, "moved": 10, "cap": 4, "week_day": 5},
 "locale": {"language": "de", "temperature": "F", "volume": "quarts", "dates": "iso", "week_start": 6},
 "trees": [{"place": "p", "id": "t", "name": "tree", "species": "Acer campestre", "origin": "nursery", "container": {}, "log": [{"on": "2024-04-01", "did": "repot"}]}],
 "feeds": [{"id": "f", "name": "all", "created": "2024-05-01T10:00:00.123456789Z", "filter": {"works": ["repot"]}}]}]}`

func readArchive(t testing.TB, text string) (*calendar.Archive, error) {
	t.Helper()
	known, err := lore.Load()
	if err != nil {
		t.Fatal(err)
	}
	return calendar.ReadArchive("a.json", []byte(text), known, climate.NewDate(2026, 1, 1))
}

func TestReadArchive(t *testing.T) {
	a, err := readArchive(t, sound)
	if err != nil {
		t.Fatal(err)
	}
	p, err := a.Growers[0].Places[0].Place("ada")
	if err != nil {
		t.Fatal(err)
	}
	r := p.Weather.Record
	if d := r.At(climate.NewDate(2024, 3, 1)); d != (climate.Day{Tmin: 0.1, Tmax: 5, TminOrigin: climate.Predicted, TmaxOrigin: climate.Typical, PrcpOrigin: climate.Measured}) {
		t.Errorf("1 March is %+v", d)
	}
	if d := r.At(climate.NewDate(2024, 2, 29)); d != (climate.Day{}) {
		t.Errorf("29 February is %+v", d)
	}
	back := calendar.ArchivePlaceOf(p)
	from := &a.Growers[0].Places[0]
	back.Sources = calendar.ArchiveSourcesOf(from.WeatherSources("ada"))
	back.Readings = calendar.ArchiveReadingsOf([]climate.Series{from.Readings[0].Series()})
	var x, y bytes.Buffer
	b := *a
	b.Growers = append([]calendar.ArchiveGrower{}, a.Growers...)
	b.Growers[0].Places = []calendar.ArchivePlace{back}
	if err := errors.Join(a.Write(&x), b.Write(&y)); err != nil || x.String() != y.String() {
		t.Errorf("a place does not come back the same: %v\n%s\n%s", err, &x, &y)
	}
}

func TestReadArchiveFaults(t *testing.T) {
	for _, c := range []struct{ from, to, words string }{
		{`"version": 1`, `"version": 7`, "version: 7: want 1"},
		{`"budswell-archive"`, `"x"`, `format: "x"`},
		{`"id": "ada"`, `"id": ""`, "growers[0].id"},
		{`"lat": 50`, `"lat": 500`, "growers[0].places[0]: site \"bench\": lat 500"},
		{`"lat": 50`, `"lat": "50"`, "a.json:2: "},
		{`"tz": "Europe/Berlin"`, `"tz": "Nowhere"`, "Nowhere"},
		{`"first": "2024-02-28"`, `"first": null`, "first: want the day"},
		{`"first": "2024-02-28"`, `"first": "2024-02-31"`, "2024-02-31"},
		{`"first": "2024-02-28"`, `"first": "9999-12-30"`, "9999"},
		{`"tmin": [-1.5, null, 0.1]`, `"tmin": [-1.5, null]`, "2 tmin, 3 tmax, 3 prcp"},
		{`"tmin": [-1.5`, `"tmin": [-91`, "tmin of 2024-02-28: -91: want -90 to 60"},
		{`"tmin": "m-p"`, `"tmin": "m-"`, "origins.tmin: 2 letters"},
		{`"tmin": "m-p"`, `"tmin": "mmp"`, "origins.tmin of 2024-02-29"},
		{`"tmin": "m-p"`, `"tmin": "m-x"`, `"x": want one of`},
		{`"exposure": "cold frame"`, `"exposure": "cellar"`, `growers[0].places[0]: bench "frame"`},
		{`"kind": "met-norway"`, `"kind": "folder", "at": "/etc"`, "growers[0].places[0].sources[0].kind: folder: names files of the service's own machine"},
		{`"kind": "met-norway"`, `"kind": "station", "at": "http://a.example"`, "is there twice"},
		{`"kind": "met-norway"`, `"kind": "crystal ball"`, "want one of open-meteo, met-norway, station"},
		{`"kind": "met-norway"`, `"kind": "met-norway", "at": "https://a.example"`, "want none"},
		{`https://s.example/x.csv`, `file:///etc/passwd`, "want an address"},
		{`"elevation": 90`, `"elevation": 9000`, "sources[1].elevation: 9000: want metres"},
		{`"on": "2025-01-05"`, `"on": "2026-01-05"`, "own_readings[0].days[0].on: 2026-01-05: lies after today"},
		{`"tmin": -3, "tmax": 2`, `"tmin": 3, "tmax": 2`, "own_readings[0].days[0]: 2025-01-05: tmin 3"},
		{`"tmin": -3, "tmax": 2`, `"tmin": null, "tmax": null`, "want a number at least"},
		{`"got": "2025-01-05T18:00:00Z"`, `"got": "0001-01-01T00:00:00Z"`, "days[0].got"},
		{`"cap": 4`, `"cap": 40`, "growers[0].nudges: cap 40"},
		{`"place": "p"`, `"place": "q"`, "growers[0].trees[0].place"},
		{`"species": "Acer campestre"`, `"species": "Acer x"`, "growers[0].trees[0]: species"},
		{`"on": "2024-04-01"`, `"on": "2026-04-01"`, "lies after today"},
		{`"did": "repot"`, `"did": "repot", "saw": "bud-swell"`, "log entry 1"},
		{`"name": "all"`, `"name": ""`, "feeds[0].name"},
		{`"created": "2024-05-01T10:00:00.123456789Z"`, `"created": "0001-01-01T00:00:00Z"`, "feeds[0].created"},
		{`"species": "Acer campestre"`, `"species": "` + strings.Repeat("a", 201) + `"`, "want at most 200 letters"},
		{`"email": ""`, `"e-mail": ""`, "unknown field"},
		{`}]}]}`, `}]}]} x`, "a.json"},
		{`"trees": [{`, `"trees": [{"place": "p", "id": "t", "name": "tree", "species": "Acer campestre", "origin": "nursery", "container": {}, "log": []}, {`, "growers[0].trees[1].id: \"t\": is there twice"},
	} {
		text := strings.Replace(sound, c.from, c.to, 1)
		if text == sound {
			t.Errorf("%s is not in the sample", c.from)
			continue
		}
		_, err := readArchive(t, text)
		if err == nil || !strings.Contains(err.Error(), c.words) || !strings.HasPrefix(err.Error(), "a.json") || !errors.Is(err, calendar.ErrInvalid) {
			t.Errorf("%s: want an error with %q, got: %v", c.to, c.words, err)
		}
	}
}

func TestIsArchive(t *testing.T) {
	for text, want := range map[string]bool{
		sound: true, "\n " + sound: true, "version: 1": false, "": false, `{"version": 1, "site": {}}`: false, `# "budswell-archive"`: false,
	} {
		if got := calendar.IsArchive([]byte(text)); got != want {
			t.Errorf("%.40q: %v", text, got)
		}
	}
}

// FuzzArchive: what is read can be written, and read again as the same.
func FuzzArchive(f *testing.F) {
	f.Add(sound)
	f.Add(`{"format": "budswell-archive", "version": 1, "growers": []}`)
	f.Add(`{"format": "budswell-archive", "version": 1, "growers": [{"places": [{"normals": {"tmin": [1]}, "frost": {"last": "02-30"}}]}]}`)
	known, err := lore.Load()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, err := calendar.ReadArchive("a", []byte(text), known, climate.NewDate(2026, 1, 1))
		if err != nil {
			return
		}
		var x, y bytes.Buffer
		if err := a.Write(&x); err != nil {
			t.Fatal(err)
		}
		again, err := calendar.ReadArchive("a", x.Bytes(), known, climate.NewDate(2026, 1, 1))
		if err != nil {
			t.Fatalf("%v\n%s", err, &x)
		}
		if err := again.Write(&y); err != nil || x.String() != y.String() {
			t.Fatalf("%v\n%s\n%s", err, &x, &y)
		}
	})
}
