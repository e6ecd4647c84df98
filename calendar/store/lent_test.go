package store

import (
	"path/filepath"
	"testing"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
)

// TestLentBesideAnOlderInstance: one that knows nothing of what is lent writes bands anew, and lets
// a place go, over a database in which there is some; nothing dangles.
func TestLentBesideAnOlderInstance(t *testing.T) {
	for name, dsn := range map[string]func(t *testing.T) string{
		"sqlite":   func(t *testing.T) string { return "sqlite:" + filepath.Join(t.TempDir(), "a.db") },
		"postgres": func(t *testing.T) string { return storetest.Postgres(t) },
	} {
		t.Run(name, func(t *testing.T) {
			s := fresh(t, dsn(t))
			ctx := t.Context()
			must := func(err error) {
				t.Helper()
				if err != nil {
					t.Fatal(err)
				}
			}
			must(s.PutGrower(ctx, storetest.Grower("ada")))
			must(s.PutPlace(ctx, storetest.Place("ada", "bench", 0)))
			must(s.PutClub(ctx, storetest.Club("ridge")))
			must(s.PutMember(ctx, storetest.Member("ridge", "ada", calendar.Editor)))
			r := calendar.Region{ID: "r", Name: "R", Club: "ridge", Bands: storetest.Bands(0)}
			r.Bands[0].Lent = &calendar.Lent{Grower: "ada", Place: "bench"}
			must(s.PutRegion(ctx, r))
			count := func() (rows, lent int) {
				must(s.read(ctx, "count", func(x tx) error {
					return x.QueryRowContext(ctx, "select count(*), count(place) from lendings").Scan(&rows, &lent)
				}))
				return rows, lent
			}
			if rows, lent := count(); rows != 1 || lent != 1 {
				t.Errorf("%d rows, %d places", rows, lent)
			}
			must(s.write(ctx, "let a place go", func(x tx) error {
				_, err := x.exec("delete from places where grower = 'ada' and id = 'bench'")
				return err
			}))
			if rows, lent := count(); rows != 1 || lent != 0 {
				t.Errorf("without the place: %d rows, %d places", rows, lent)
			}
			got, err := s.Region(ctx, "r")
			if must(err); got.Bands[0].Lent == nil || !got.Bands[0].Lent.Gone() {
				t.Errorf("lent: %+v", got.Bands[0].Lent)
			}
			must(s.write(ctx, "write bands as before", func(x tx) error {
				_, err := x.exec("delete from bands where region = 'r'")
				return err
			}))
			if rows, _ := count(); rows != 0 {
				t.Errorf("without the band: %d rows", rows)
			}
		})
	}
}
