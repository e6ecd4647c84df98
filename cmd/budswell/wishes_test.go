package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"budswell/calendar/store"
	"budswell/climate"
)

// TestImportKeepsShowsAndHours imports the trees of two places that go to one show, and
// takes all of it along to another instance.
func TestImportKeepsShowsAndHours(t *testing.T) {
	now := time.Date(2027, 4, 12, 8, 0, 0, 0, time.UTC)
	dir := t.TempDir()
	file := func(name, rest string) string {
		path := filepath.Join(dir, name)
		writeFile(t, path, `version: 1
site: {name: `+strings.TrimSuffix(name, ".yaml")+`, lat: 55.5, lon: -3.2, elevation: 60}
weather: {normals: {tmin: [1.5,1.5,2.5,4,6.5,9.5,11.5,11.3,9.3,6.5,3.7,1.7], tmax: [7,7.5,9.5,12,15,17.5,19.3,19,16.5,13,9.5,7.2]}}
grower: {name: Test Grower}
`+rest)
		return path
	}
	run := func(want int, args ...string) string {
		t.Helper()
		p, _, stderr := testProgram(now)
		if status := p.run(t.Context(), args); status != want {
			t.Fatalf("%v: status %d: %s", args, status, stderr)
		}
		return stderr.String()
	}
	db := "sqlite:" + filepath.Join(dir, "trees.db")
	cool := file("cool.yaml", `hours: {saturday: 3, helpers: [{weekday: sunday, hours: 2}], set_up: {repot: 30}}
trees: [{name: one, species: Acer campestre, origin: nursery}]
shows: [{name: Long night, on: 2027-12-18, look: winter-silhouette, trees: [one]}]
`)
	mild := file("mild.yaml", `trees: [{name: two, species: Acer campestre, origin: nursery}]
shows: [{name: Long night, on: 2027-12-19, look: winter-silhouette, trees: [two]}]
`)
	run(done, "import", cool, "--db", db)
	run(done, "import", mild, "--db", db)
	past := file("past.yaml", `trees: [{name: three, species: Acer campestre, origin: nursery}]
shows: [{name: Gone by, on: 2027-04-01, look: in-leaf, trees: [three]}]
`)
	if said := run(done, "import", past, "--db", "sqlite:"+filepath.Join(dir, "third.db")); !strings.Contains(said, "past.yaml:6: shows[1].on: the show on 2027-04-01 is past") {
		t.Errorf("a show that is past: %s", said)
	}
	far := file("far.yaml", `trees: [{name: three, species: Acer campestre, origin: nursery}]
shows: [{name: Far off, on: 2207-04-01, look: in-leaf, trees: [three]}]
`)
	if said := run(failed, "import", far, "--db", db); !strings.Contains(said, "far.yaml:6:") || !strings.Contains(said, "15 years") {
		t.Errorf("a show too far ahead: %s", said)
	}
	check := func(db string) {
		t.Helper()
		s, err := store.Open(t.Context(), db)
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = s.Close() }()
		shows, err := s.Shows(t.Context(), "test-grower")
		if err != nil || len(shows) != 1 || shows[0].On != climate.NewDate(2027, 12, 19) || strings.Join(shows[0].Trees, " ") != "two one" {
			t.Errorf("shows: %+v, %v", shows, err)
		}
		hours, err := s.Hours(t.Context(), "test-grower")
		if err != nil || hours == nil || hours.Weekdays != [7]int{6: 180} || len(hours.Helpers) != 1 || hours.SetUp["repot"] != 30 {
			t.Errorf("hours: %+v, %v", hours, err)
		}
		trees, err := s.Trees(t.Context(), "test-grower")
		if err != nil || len(trees) != 2 {
			t.Errorf("%d trees, %v; want those of the two files that were taken", len(trees), err)
		}
	}
	check(db)

	all, second := filepath.Join(dir, "all.json"), "sqlite:"+filepath.Join(dir, "second.db")
	run(done, "export", all, "--db", db)
	if said := run(done, "import", all, "--db", second); !strings.Contains(said, "show Long night") || !strings.Contains(said, "hours") {
		t.Errorf("import of the export: %s", said)
	}
	check(second)
	again := filepath.Join(dir, "again.json")
	run(done, "export", again, "--db", second)
	a, err := os.ReadFile(all)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(again)
	if err != nil || string(a) != string(b) {
		t.Errorf("exported again, it is not the same (%v):\n%s\n%s", err, a, b)
	}
	if said := run(done, "import", all, "--db", second); !strings.Contains(said, "show Long night is there already") {
		t.Errorf("import a second time: %s", said)
	}
}
