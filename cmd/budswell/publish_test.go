package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
)

// TestPublishByTheRulesOfTheClub: the files for a web space hold what the service shows, by
// the words that the club, and the grower whose feed it is, laid over the lore.
func TestPublishByTheRulesOfTheClub(t *testing.T) {
	dir := t.TempDir()
	plan := filepath.Join(dir, "trees.yaml")
	if err := os.WriteFile(plan, []byte(`version: 1
site: {name: north bench, lat: 47.05, lon: 8.9, elevation: 560, tz: Europe/Zurich}
weather: {frost: {last: 04-25, first: 10-15, mean: 9, range: 18}}
grower: {name: Ada}
feeds: [{name: all work}]
region: {id: hill, name: Hill, groups: [deciduous]}
trees:
  - {name: ridge maple, species: Acer campestre, origin: nursery}
`), 0o600); err != nil {
		t.Fatal(err)
	}
	dsn := "sqlite:" + filepath.Join(dir, "trees.db")
	now := time.Date(2027, time.March, 1, 9, 0, 0, 0, time.UTC)
	run := func(args ...string) {
		t.Helper()
		p, stdout, stderr := testProgram(now)
		if status := p.run(t.Context(), args); status != done {
			t.Fatalf("%v: %d: %s%s", args, status, stdout, stderr)
		}
	}
	run("import", plan, "--db", dsn, "--base", "https://club.example")
	write := func(of calendar.Whose, title string) {
		t.Helper()
		db, err := store.Open(t.Context(), dsn)
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		do := func(err error) {
			if t.Helper(); err != nil {
				t.Fatal(err)
			}
		}
		if of.Club != "" {
			do(db.PutClub(t.Context(), calendar.Club{ID: of.Club, Name: "Hill", Founded: now}))
			r, err := db.Region(t.Context(), "hill")
			do(err)
			r.Club = of.Club
			do(db.PutRegion(t.Context(), r))
		}
		_, err = db.Amend(t.Context(), calendar.Amendment{
			Whose: of, Subject: "rule repot-deciduous", At: now, Who: "ada", Text: "rules: [{id: repot-deciduous, amends: true, title: " + title + "}]",
		}, 0)
		do(err)
	}
	write(calendar.Whose{Club: "hill"}, "Repot as the club does")
	write(calendar.Whose{Grower: "ada"}, "Repot as Ada does")
	web := filepath.Join(dir, "web")
	run("publish", web, "--db", dsn, "--base", "https://club.example", "--grower", "ada", "--feed", "all work")
	feeds, err := filepath.Glob(filepath.Join(web, "f", "*.ics"))
	if err != nil || len(feeds) != 1 {
		t.Fatalf("%q, %v", feeds, err)
	}
	for path, want := range map[string]string{filepath.Join(web, "r", "hill", "calendar.ics"): "Repot as the club does", feeds[0]: "Repot as Ada does"} {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(strings.ReplaceAll(string(text), "\r\n ", ""), want) {
			t.Errorf("%s lacks %q", path, want)
		}
	}
}
