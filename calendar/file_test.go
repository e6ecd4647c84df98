package calendar

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"budswell/climate"
	"budswell/climate/phenology"
)

const goodFile = `version: 1
site: {name: north bench, lat: 50.1, lon: 8.7, elevation: 120, tz: Europe/Berlin}
weather: {record: station.csv}
grower: {name: A. Grower, email: grower@example.org}
feeds:
  - {name: roots only, classes: [roots]}
region: {id: hill-club, name: Hill club, groups: [deciduous]}
trees:
  - name: ridge maple
    species: Field Maple
    origin: collected
    container: {kind: box, litres: 30}
    log:
      - {on: 2025-03-20, did: collected}
      - {on: 2025-04-10, not_yet: bud-swell}
      - {on: 2025-04-12, saw: bud-swell, note: "on the south side"}
      - {on: 2025-09-01, judged: {strength: strong}}
  - name: Ridge maple, the 2nd
    species: Acer campestre
    origin: nursery
    field_soil: 0.25
    log:
      - {on: 2026-03-20, did: repot, field_soil_left: 0}
`

func TestReadFile(t *testing.T) {
	f, err := ReadFile("plan.yaml", []byte(goodFile), smallLore(), day(t, "2026-04-05"))
	if err != nil {
		t.Fatal(err)
	}
	quarter, zero := 0.25, 0.0
	want := &File{
		Version: 1,
		Site:    climate.Site{Name: "north bench", Lat: 50.1, Lon: 8.7, Elevation: 120, Zone: "Europe/Berlin"},
		Weather: FileWeather{Record: "station.csv"},
		Grower:  Grower{Name: "A. Grower", Email: "grower@example.org"},
		Feeds:   []Feed{{Name: "roots only", Filter: Filter{Classes: []string{"roots"}}}},
		Region:  &Region{ID: "hill-club", Name: "Hill club", Groups: []string{"deciduous"}},
		Trees: []Tree{
			{
				ID: "ridge-maple", Name: "ridge maple", Species: "Field Maple", Origin: Collected, Container: Container{Kind: Box, Litres: 30},
				Log: []Entry{
					did(t, "2025-03-20", "collected"),
					{On: day(t, "2025-04-10"), NotYet: phenology.BudSwell},
					{On: day(t, "2025-04-12"), Saw: phenology.BudSwell, Note: "on the south side"},
					judged(t, "2025-09-01", "", Strong),
				},
			},
			{
				ID: "ridge-maple-the-2nd", Name: "Ridge maple, the 2nd", Species: "Acer campestre", Origin: Nursery, FieldSoil: &quarter,
				Log: []Entry{{On: day(t, "2026-03-20"), Did: WorkRepot, FieldSoilLeft: &zero}},
			},
		},
	}
	if diff := cmp.Diff(want, f, cmpopts.IgnoreUnexported(File{})); diff != "" {
		t.Error(diff)
	}
}

func TestReadFileOfTypedWeather(t *testing.T) {
	text := strings.Replace(goodFile, "weather: {record: station.csv}", `weather:
  normals:
    tmin: [-1, -1, 1, 4, 8, 12, 14, 13, 10, 6, 2, 0]
    tmax: [4, 6, 11, 16, 20, 23, 26, 25, 20, 14, 8, 5]
  frost: {last: 04-25, first: "10-15", mean: 10.5, range: 19}`, 1)
	f, err := ReadFile("plan.yaml", []byte(text), smallLore(), climate.NoDate)
	if err != nil {
		t.Fatal(err)
	}
	if n := f.Weather.Normals; n == nil || n.Tmin[0] != -1 || n.Tmax[11] != 5 || n.TminSD != nil {
		t.Errorf("normals %+v", n)
	}
	want := climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 10.5, Range: 19}
	if f.Weather.Frost == nil || *f.Weather.Frost != want {
		t.Errorf("frost %+v", f.Weather.Frost)
	}
}

func TestReadFileOfNamedPlace(t *testing.T) {
	text := "version: 1\nsite: {place: tromso}\ntrees:\n  - {name: birch, species: Acer campestre, origin: nursery}\n"
	f, err := ReadFile("plan.yaml", []byte(text), smallLore(), climate.NoDate)
	if err != nil {
		t.Fatal(err)
	}
	if s := f.Site; f.Place != "tromso" || s.Name != "Tromsø, Troms, NO" || s.Lat != 69.65 || s.Lon != 18.95 || !f.NoElevation {
		t.Errorf("%q, %+v", f.Place, s)
	}
	if w := f.Weather; w.Record != "" || w.Normals != nil || w.Frost != nil {
		t.Errorf("%+v", w)
	}
}

// TestReadFileFaults breaks one thing at a time; every fault names where it is,
// what stands there and what would be right.
func TestReadFileFaults(t *testing.T) {
	for _, test := range []struct{ old, new, want string }{
		{"version: 1", "version: 2", `plan.yaml:1:10: version: "2": want 1, the version that this program reads`},
		{"version: 1\n", "", `plan.yaml:1:1: version: is missing`},
		{"version: 1", "version: one", `plan.yaml:1:10: version: "one": want a whole number`},
		{"version: 1", "verson: 1", `plan.yaml:1:1: file: "verson": there is no such field; did you mean version?`},
		{"lat: 50.1", "lat: 95", `plan.yaml:2:32: site.lat: site "north bench": lat 95: want degrees north from -90 to 90`},
		{"lat: 50.1", "lat: fifty", `plan.yaml:2:32: site.lat: "fifty": want a number`},
		{"lat: 50.1", "lat: .nan", `plan.yaml:2:32: site.lat: ".nan": want a number`},
		{", lon: 8.7", "", `plan.yaml:2:7: site.lon: is missing`},
		{"lat: 50.1, lon: 8.7", "place: Qqxyzzy", `plan.yaml:2:34: site.place: "Qqxyzzy": place "Qqxyzzy": no such place known`},
		{"lat: 50.1", "place: Zurich", `plan.yaml:2:34: site.place: "Zurich": stands beside lat or lon; want either`},
		{"lat: 50.1, lon: 8.7", "place: ''", `plan.yaml:2:34: site.place: want the name of a town`},
		{"tz: Europe/Berlin", "tz: Mars/Base", `plan.yaml:2:68: site.tz: site "north bench": tz "Mars/Base": want an IANA time zone`},
		{"{record: station.csv}", "{}", `plan.yaml:3:10: weather: want one of record, normals, frost, folder, provider and station`},
		{"{record: station.csv}", "station.csv", `plan.yaml:3:10: weather: "station.csv": want fields, each written name: value`},
		{"{record: station.csv}", "{normals: {tmin: [1, 2], tmax: [3]}}", `plan.yaml:3:27: weather.normals.tmin: has 2 numbers; want 12, January first`},
		{"{record: station.csv}", "{frost: {last: 02-30, first: 10-15, mean: 10, range: 19}}", `plan.yaml:3:25: weather.frost.last: "02-30": day "02-30": want a day of the year, written MM-DD`},
		{"{record: station.csv}", "{frost: {last: 04-25, first: 10-15, mean: 50, range: 19}}", `weather.frost.mean: frost: mean 50: want the mean temperature of the year`},
		{"groups: [deciduous]", "groups: [conifers]", `there is no group "conifers"`},
		{"name: ridge maple", "name: ''", `plan.yaml:9:11: trees[1].name: want a name`},
		{"species: Field Maple", "species: Acer campestra", `plan.yaml:10:14: trees[1].species: "Acer campestra": want Acer campestre, or the genus Acer alone`},
		{"species: Field Maple", "species: Acre campestre", `did you mean Acer campestre?`},
		{"species: Field Maple", "species: 12", `plan.yaml:10:14: trees[1].species: "12": want text; put it in quotes if it looks like a number`},
		{"origin: collected", "origin: stolen", `plan.yaml:11:13: trees[1].origin: "stolen": want one of collected, field-grown`},
		{"    origin: collected\n", "", `plan.yaml:9:5: trees[1].origin: is missing`},
		{"litres: 30", "litres: 3000", `plan.yaml:12:36: trees[1].container.litres: "3000": want 0.05 to 500 litres`},
		{"kind: box", "kind: bucket", `plan.yaml:12:23: trees[1].container.kind: "bucket": want one of box, training pot, final pot`},
		{"on: 2025-03-20", "on: 2025-02-30", `plan.yaml:14:14: trees[1].log[1].on: "2025-02-30": date "2025-02-30": want a day that exists`},
		{"on: 2025-03-20, did", "did", `plan.yaml:14:9: trees[1].log[1].on: is missing`},
		{"did: collected", "did: colected", `plan.yaml:14:31: trees[1].log[1].did: "colected": want a work of the lore; did you mean collected?`},
		{"{on: 2025-03-20, did: collected}", "{on: 2025-03-20}", `plan.yaml:14:9: trees[1].log[1].entry: want exactly one of did, saw, not_yet, judged and moved`},
		{"saw: bud-swell", "saw: candles-extending", `trees[1].log[3].saw: "candles-extending": want a phase that Acer campestre shows: bud-swell`},
		{"{on: 2025-04-12, saw: bud-swell", "{on: 2025-04-09, saw: bud-swell", `plan.yaml:15:35: trees[1].log[2].not_yet: "bud-swell": was seen on 2025-04-09 already`},
		{"on: 2025-09-01, judged: {strength: strong}", "on: 2025-09-01, judged: {strength: mighty}", `trees[1].log[4].judged.strength: "mighty": want one of weak, recovering, strong`},
		{"judged: {strength: strong}", "judged: {}", `trees[1].log[4].judged: want a stage, a strength, or both`},
		{"on: 2026-03-20, did: repot", "on: 2026-04-06, did: repot", `plan.yaml:23:14: trees[2].log[1].on: "2026-04-06": lies after today, 2026-04-05`},
		{"{on: 2025-09-01, judged", "{on: 2025-03-19, did: feed}\n      - {on: 2025-09-01, judged", `trees[1].log[4].on: "2025-03-19": lies before the day on which the tree was collected, 2025-03-20`},
		{"{on: 2025-09-01, judged", "{on: 2025-08-19, did: collect}\n      - {on: 2025-09-01, judged", `trees[1].log[4].did: "collect": the tree was collected on 2025-03-20 already`},
		{"{on: 2025-09-01, judged", "{on: 2025-03-30, saw: leaf-out}\n      - {on: 2025-09-01, judged", `trees[1].log[3].saw: "bud-swell": comes before leaf-out, which was seen on 2025-03-30`},
		{"field_soil_left: 0", "field_soil_left: 40", `trees[2].log[1].field_soil_left: "40": want a share from 0 to 1`},
		{"did: repot, field", "did: feed, field", `trees[2].log[1].field_soil_left: "0": belongs to work on the roots`},
		{"field_soil: 0.25", "field_soil: .inf", `trees[2].field_soil: ".inf": want a number`},
		{"name: Ridge maple, the 2nd", "name: Ridge  maple!", `plan.yaml:18:5: trees[2].name: "Ridge  maple!": tree 1, "ridge maple", has the same id, "ridge-maple"`},
		{"name: Ridge maple, the 2nd", "name: x\n    name: y", `plan.yaml:19:5: trees[2].name: is given twice`},
		{"origin: nursery", "origin:", `trees[2].origin: has no value; give one or leave the field out`},
		{"trees:\n", "trees: {}\nwood:\n", `trees: want a list`},
		{"version: 1", "version: [", `is not YAML: `},
		{"grower:", "variants: [no-such-way]\ngrower:", `no rule has the variant "no-such-way"`},
	} {
		t.Run(test.new, func(t *testing.T) {
			text := strings.Replace(goodFile, test.old, test.new, 1)
			if text == goodFile {
				t.Fatalf("%q is not in the file", test.old)
			}
			f, err := ReadFile("plan.yaml", []byte(text), smallLore(), day(t, "2026-04-05"))
			if f != nil || err == nil {
				t.Fatalf("read without an error")
			}
			if !errors.Is(err, ErrInvalid) || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error:\n%v\nwant:\n%s", err, test.want)
			}
		})
	}
}

// All faults are told at once, in the order of the file.
func TestReadFileTellsAllFaults(t *testing.T) {
	text := strings.NewReplacer("lat: 50.1", "lat: 95", "kind: box", "kind: bucket", "did: repot", "did: rest").Replace(goodFile)
	_, err := ReadFile("plan.yaml", []byte(text), smallLore(), climate.NoDate)
	var faults FileFaults
	if !errors.As(err, &faults) || len(faults) != 3 {
		t.Fatalf("faults: %v", err)
	}
	for i, line := range []int{2, 12, 23} {
		if faults[i].Line != line {
			t.Errorf("fault %d on line %d, want %d: %v", i+1, faults[i].Line, line, faults[i])
		}
	}
}

func TestReadFileOfNothing(t *testing.T) {
	for _, text := range []string{"", "---\n", "# only a comment\n", "~", "a\n---\nb\n", "[1]", "\xff\xfe", strings.Repeat("[", 5000), strings.Repeat("- ", 5000), strings.Repeat("a: &a [*a]\n", 3)} {
		if f, err := ReadFile("plan.yaml", []byte(text), smallLore(), climate.NoDate); f != nil || !errors.Is(err, ErrInvalid) {
			t.Errorf("%.20q: %v, %v", text, f, err)
		}
	}
}

func FuzzReadFile(f *testing.F) {
	f.Add([]byte(goodFile))
	f.Add([]byte(regionHead + "  species: [field maple]\n  bands: [{name: low, elevation: 400, weather: {record: x.csv, station_elevation: 500}}, {name: high, elevation: 900, lat: 47, lon: 9}]\n"))
	f.Add([]byte(goodFile + goodHours))
	f.Add([]byte(goodFile + "shows:\n  - {name: hall, on: 2028-02-12, look: winter-silhouette, trees: [ridge-maple]}\n"))
	f.Add([]byte("version: 1\ntrees: []\n"))
	f.Add([]byte("a: &a {b: *a}\n"))
	f.Add([]byte("{version: 1, site: {lat: 1e400, lon: 0x10}, weather: {record: ''}, trees: [null, {log: [{on: }]}]}"))
	lore := smallLore()
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := ReadFile("plan.yaml", text, lore, climate.NewDate(2026, 4, 5))
		if (file == nil) == (err == nil) {
			t.Fatalf("file %v, error %v", file, err)
		}
		if err != nil {
			if !errors.Is(err, ErrInvalid) || err.Error() == "" {
				t.Fatalf("error %v", err)
			}
			return
		}
		if file.Hours != nil {
			if err := file.Hours.Check(lore); err != nil {
				t.Fatalf("read hours that are not valid: %v", err)
			}
		}
		ids := map[string]bool{}
		for i := range file.Trees {
			tree := &file.Trees[i]
			if faults := tree.Check(lore, file.Site, climate.NewDate(2026, 4, 5)); len(faults) > 0 || ids[tree.ID] {
				t.Fatalf("read a tree that is not valid: %v", faults)
			}
			ids[tree.ID] = true
		}
	})
}
