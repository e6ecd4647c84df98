package calendar

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"budswell/climate"
)

func putOn(t testing.TB, on, bench string) Entry { return Entry{On: day(t, on), Moved: bench} }

func fixtureBenches() []Bench {
	frost := 5.0
	return []Bench{
		{ID: "frame", Name: "the frame", Exposure: climate.ColdFrame},
		{ID: "wall", Name: "wall", Exposure: climate.Sheltered, ShiftTmin: 0.5},
		{ID: "glass", Name: "glass house", Exposure: climate.Heated, Floor: &frost},
		{ID: "lawn", Name: "lawn"},
	}
}

func TestStands(t *testing.T) {
	o := temperate.outlook(t, "2026-02-10") // days from 2024-09-01
	trees := []Tree{
		{ID: "a", Name: "a"},
		{ID: "b", Name: "b", Bench: "frame"},
		{ID: "c", Name: "c", Log: []Entry{putOn(t, "2025-11-01", "frame"), putOn(t, "2026-03-01", "lawn")}}, // the last is yet to come
		{ID: "d", Name: "d", Bench: "lawn", Log: []Entry{putOn(t, "2025-11-01", "frame")}},
		{ID: "e", Name: "e", Bench: "wall", Log: []Entry{putOn(t, "2020-11-01", "glass"), putOn(t, "2021-11-01", "frame")}}, // before the days
		{ID: "f", Name: "f", Log: []Entry{putOn(t, "2025-11-01", "wall"), putOn(t, "2025-11-01", "frame")}},
		{ID: "g", Name: "g", Bench: "frame", Log: []Entry{putOn(t, "2025-11-01", "frame")}},
		{ID: "h", Name: "h", Bench: "lawn"},
	}
	stands, err := Stands(o, fixtureBenches(), trees)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range stands {
		var ids []string
		for _, tree := range s.Trees {
			ids = append(ids, tree.ID)
		}
		got = append(got, strings.Join(ids, " ")+": "+s.Bench)
	}
	if want := []string{"a: ", "b e g: frame", "c f: frame", "d: frame", "h: lawn"}; !slices.Equal(got, want) {
		t.Errorf("stands %q, want %q", got, want)
	}
	if stands[0].Outlook != o || stands[4].Outlook != o {
		t.Error("open air has an outlook of its own")
	}
	before, after := int(day(t, "2025-10-31")-o.First), int(day(t, "2026-01-15")-o.First)
	m, open := stands[2].Outlook.Members[0], o.Members[0]
	if m.Tmax[before] != open.Tmax[before] || m.Tmax[after] <= open.Tmax[after] {
		t.Errorf("moved on 1 November: %v before and %v after, in the open %v and %v", m.Tmax[before], m.Tmax[after], open.Tmax[before], open.Tmax[after])
	}
	if s, err := Stands(o, nil, nil); err != nil || len(s) != 1 || s[0].Outlook != o {
		t.Errorf("no trees: %+v, %v", s, err)
	}
	// A log is only ever added to: a bench that was taken away must not stop all planning.
	stands, err = Stands(o, fixtureBenches(), []Tree{{Bench: "attic"}, {Log: []Entry{putOn(t, "2025-01-01", "loft"), putOn(t, "2026-03-01", "to come")}}, {}})
	if err != nil || len(stands) != 3 {
		t.Fatalf("%+v, %v", stands, err)
	}
	for _, s := range stands {
		if n := s.Outlook.Supply.Notes; len(n) != 1 || n[0] != "trees on benches that are not known are planned as in the open: attic, loft" {
			t.Errorf("notes %q", n)
		}
		if s.Outlook.Members[0].Tmin[500] != o.Members[0].Tmin[500] || len(o.Supply.Notes) != 0 {
			t.Error("not as in the open")
		}
	}
}

func TestBenchOn(t *testing.T) {
	tree := Tree{Bench: "lawn", Log: []Entry{putOn(t, "2025-11-01", "frame"), putOn(t, "2025-03-01", "wall"), {On: climate.NoDate, Moved: "glass"}}}
	for on, want := range map[string]string{"2025-02-28": "lawn", "2025-03-01": "wall", "2025-10-31": "wall", "2025-11-01": "frame", "2030-01-01": "frame"} {
		if got := tree.BenchOn(day(t, on)); got != want {
			t.Errorf("on %s: %q, want %q", on, got, want)
		}
	}
}

// A tree in a cold frame has its last frost, and so the works that hang on it,
// earlier than one in the open.
func TestFrostComesToABenchByItsExposure(t *testing.T) {
	o := temperate.outlook(t, "2026-02-10")
	stands, err := Stands(o, fixtureBenches(), []Tree{{ID: "a"}, {ID: "b", Bench: "frame"}, {ID: "c", Bench: "glass"}})
	if err != nil {
		t.Fatal(err)
	}
	var last []climate.Date
	for _, s := range stands {
		spread, ok := s.Outlook.LastFrost(2026, 0).Spread()
		if !ok {
			spread.P50 = climate.NoDate
		}
		last = append(last, spread.P50)
	}
	if !(last[1] < last[0]) || last[2].Valid() {
		t.Errorf("last frost in the open %v, in the frame %v, behind heated glass %v", last[0], last[1], last[2])
	}
}

func TestMerge(t *testing.T) {
	trees := []Tree{{ID: "x"}, {ID: "y"}, {ID: "z"}}
	plan := func(ids ...int) *Plan {
		p := &Plan{On: 7, Site: climate.Site{Name: "s"}}
		for _, i := range ids {
			p.Trees = append(p.Trees, TreePlan{Tree: &trees[i]})
		}
		return p
	}
	trees[1].Bench = "wall"
	got := Merge([]*Plan{plan(2, 0), plan(1)}, fixtureBenches(), trees)
	if b := got.Trees[1].Bench; b == nil || b.String() != "wall (sheltered)" || got.Trees[0].Bench != nil || fixtureBenches()[3].String() != "lawn (open)" {
		t.Errorf("stands on %v", b)
	}
	for i, want := range []string{"x", "y", "z"} {
		if got.Trees[i].Tree.ID != want {
			t.Errorf("tree %d is %s", i, got.Trees[i].Tree.ID)
		}
	}
	if got.On != 7 || got.Site.Name != "s" || Merge(nil, nil, nil) != nil {
		t.Errorf("%+v", got)
	}
}

func TestBenchesThatCannotBe(t *testing.T) {
	hot := 30.0
	for want, b := range map[string]Bench{
		`id ""`: {Name: "x"}, `id "Top Shelf"`: {ID: "Top Shelf", Name: "x"}, `name ""`: {ID: "x"}, `exposure "balcony"`: {ID: "x", Name: "x", Exposure: "balcony"},
		"shift 20": {ID: "x", Name: "x", ShiftTmax: 20}, "floor 30": {ID: "x", Name: "x", Floor: &hot}, "same id": {ID: "lawn", Name: "x"},
	} {
		if err := CheckBenches(append(fixtureBenches(), b)); !errors.Is(err, ErrInvalid) || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v", b, err)
		}
	}
	if err := CheckBenches(make([]Bench, 101)); !errors.Is(err, ErrInvalid) {
		t.Error(err)
	}
	if err := CheckBenches(fixtureBenches()); err != nil {
		t.Error(err)
	}
}

// A plan file may name benches and where weather keeps coming from.
func TestReadFileWithBenches(t *testing.T) {
	text := strings.NewReplacer(
		"trees:\n", "benches:\n  - {name: North frame, exposure: cold frame}\n  - {id: glass, name: glass house, exposure: heated, floor: 4, shift_tmin: -0.5}\ntrees:\n",
		"{record: station.csv}", "{record: station.csv, station_elevation: 700, station: 'https://weather.example/x.dly', provider: met-norway, folder: readings}",
		"    origin: collected\n", "    origin: collected\n    bench: North frame\n",
		"      - {on: 2025-04-12, saw", "      - {on: 2025-04-02, moved: glass}\n      - {on: 2025-04-12, saw",
	).Replace(goodFile)
	f, err := ReadFile("plan.yaml", []byte(text), smallLore(), day(t, "2026-04-05"))
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Benches) != 2 || f.Benches[0].ID != "north-frame" || *f.Benches[1].Floor != 4 || f.Benches[1].ShiftTmin != -0.5 {
		t.Errorf("benches %+v", f.Benches)
	}
	tree := f.Trees[0]
	if tree.Bench != "north-frame" || tree.BenchOn(day(t, "2025-04-02")) != "glass" || tree.BenchOn(day(t, "2025-04-01")) != "north-frame" {
		t.Errorf("tree %+v", tree)
	}
	s := f.Weather.Sources
	if len(s) != 3 || s[0].Kind != SourceStation || *s[0].Elevation != 700 || s[1].Kind != SourceMETNorway || s[2] != (WeatherSource{Kind: SourceFolder, At: "readings"}) {
		t.Errorf("sources %+v", s)
	}
	for old, c := range map[string]struct{ new, want string }{
		"exposure: cold frame": {"exposure: cellar", `benches[1]: bench "north-frame": exposure "cellar": want one of [open sheltered cold frame heated]`},
		"id: glass":            {"id: north-frame", `benches[2]: bench "north-frame": another has the same id`},
		"name: North frame, ":  {"", `benches[1].name: is missing`},
		"floor: 4":             {"floor: 40", `floor 40`},
		"bench: North frame":   {"bench: north-fram", `trees[1].bench: "north-fram": there is no bench "north-fram"; want the name or id of one of benches; did you mean north-frame?`},
		"moved: glass":         {"moved: attic", `trees[1].log[3].moved: "attic": there is no bench "attic"`},
		"moved: glass}":        {"moved: glass, did: repot}", `want exactly one of did, saw, not_yet, judged and moved`},
		"provider: met-norway": {"provider: met-norwey", `weather.provider: "met-norwey": want one of open-meteo, met-norway; did you mean met-norway?`},
		"https://":             {"file://", `weather.station: "file://weather.example/x.dly": want an address that begins with https://`},
		"folder: readings":     {"folder: ' '", `weather.folder: " ": want the path of a file or folder`},
		"station_elevation: 700, station: 'https://weather.example/x.dly'": {"station_elevation: 700", `weather.station_elevation: "700": stands without station`},
		"station_elevation: 700": {"station_elevation: 9000", `weather.station_elevation: "9000": want metres from -430 to 6000`},
	} {
		spoilt := strings.Replace(text, old, c.new, 1)
		if spoilt == text {
			t.Fatalf("%q is not in the file", old)
		}
		if _, err := ReadFile("plan.yaml", []byte(spoilt), smallLore(), day(t, "2026-04-05")); !errors.Is(err, ErrInvalid) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s:\n%v\nwant:\n%s", c.new, err, c.want)
		}
	}
}
