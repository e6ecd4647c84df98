package main

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"budswell/calendar/store/storetest"
)

// TestMigrateOverPostgres takes a grower's file there and back by the commands: what
// is exported before and afterwards is the same, byte by byte.
func TestMigrateOverPostgres(t *testing.T) {
	dsn := storetest.Postgres(t)
	t.Chdir(t.TempDir())
	writeFile(t, "trees.yaml", `version: 1
grower: {name: Ada}
site: {name: cool bench, lat: 55.5, lon: -3.2, elevation: 60}
weather: {frost: {last: 04-25, first: 10-15, mean: 9.8, range: 14}}
trees:
  - {name: Föhre 🌲, species: Pinus sylvestris, origin: collected, log: [{on: 2024-04-10, did: collected}]}
`)
	command := func(args ...string) string {
		t.Helper()
		p, stdout, stderr := testProgram(time.Date(2027, 3, 1, 8, 0, 0, 0, time.UTC))
		if status := p.run(t.Context(), args); status != done {
			t.Fatalf("budswell %s: status %d: %s", strings.Join(args, " "), status, stderr)
		}
		return stdout.String()
	}
	command("import", "trees.yaml", "--db", "sqlite:a.db")
	there := command("migrate", "--from", "sqlite:a.db", "--to", dsn)
	back := command("migrate", "--from", dsn, "--to", "sqlite:b.db")
	if there != back || !strings.Contains(there, "sha256 ") {
		t.Errorf("there %q, back %q", there, back)
	}
	var texts []string
	for i, db := range []string{"sqlite:a.db", dsn, "sqlite:b.db"} {
		name := fmt.Sprintf("%d.json", i)
		command("export", name, "--db", db)
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(text))
	}
	if texts[0] != texts[1] || texts[0] != texts[2] || !strings.Contains(texts[0], "Föhre") {
		t.Errorf("the exports differ: %q", texts)
	}
	p, _, stderr := testProgram(time.Date(2027, 3, 1, 8, 0, 0, 0, time.UTC))
	if status := p.run(t.Context(), []string{"migrate", "--from", "sqlite:a.db", "--to", dsn}); status != failed || !strings.Contains(stderr.String(), "not empty") {
		t.Errorf("onto what is there: status %d, %s", status, stderr)
	}
	t.Logf("measured: migrate: %s", strings.TrimSpace(there))
}
