package store

import (
	"context"
	"database/sql"
	"io/fs"
	"net/url"
	"path/filepath"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"

	"github.com/pressly/goose/v3"
)

// A database of the first schema is brought up to date with all that is in it,
// and takes what is new.
func TestUpgradeFromTheFirstSchema(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "old.db")
	db, err := sql.Open("sqlite", (&url.URL{Scheme: "file", Path: path}).String())
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	sources, err := fs.Sub(migrations, "migrations/sqlite")
	if err != nil {
		t.Fatal(err)
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, sources, goose.WithLogger(goose.NopLogger()))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.UpTo(ctx, 1); err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{
		"insert into growers (id, name, email) values ('a', 'A', '')",
		"insert into sites (id, name, lat, lon, elevation, zone, seed, record_source, record_first) values (1, 's', 47, 8, 500, 'Europe/Zurich', 7, 'station', '2026-01-01')",
		"insert into weather (site, kind, year, days) values (1, 'record', 2026, x'01" + "000000000000F03F0000000000000040000000000000084004" + "0404')",
		"insert into places (grower, id, site) values ('a', '1', 1)",
		"insert into trees (grower, id, ordinal, place, name, species, origin, container, litres, note) values ('a', 'x', 1, '1', 'X', 'Acer campestre', 'collected', '', 0, '')",
		"insert into log (grower, tree, ordinal, digest, day, did, saw, not_yet, note) values ('a', 'x', 1, 'd', '2025-03-20', 'collect', '', '', 'from the ridge')",
	} {
		if _, err := db.ExecContext(ctx, statement); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
	s := fresh(t, "sqlite:"+path)
	place, err := s.Place(ctx, "a", "1")
	if err != nil {
		t.Fatal(err)
	}
	measured := climate.Day{Tmin: 1, Tmax: 2, Prcp: 3, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured, PrcpOrigin: climate.Measured}
	if r := place.Weather.Record; len(r.Days) != 1 || r.Days[0] != measured || r.Notes != nil || place.Benches != nil {
		t.Errorf("place %+v, record %+v", place, r)
	}
	place.Benches = []calendar.Bench{{ID: "frame", Name: "frame", Exposure: climate.ColdFrame}}
	if err := s.PutPlace(ctx, place); err != nil {
		t.Fatal(err)
	}
	if err := s.AddEntry(ctx, "a", "x", calendar.Entry{On: climate.NewDate(2026, time.January, 2), Moved: "frame"}); err != nil {
		t.Fatal(err)
	}
	trees, err := s.Trees(ctx, "a")
	if err != nil || len(trees) != 1 || len(trees[0].Log) != 2 || trees[0].Log[0].Note != "from the ridge" || trees[0].Log[1].Moved != "frame" {
		t.Errorf("trees %+v, %v", trees, err)
	}
	if _, err := s.writer.ExecContext(ctx, "update log set moved = 'wall'"); err == nil {
		t.Error("the log may be changed now")
	}
}
