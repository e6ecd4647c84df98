package store

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
	"budswell/climate"
)

// What a grower's feeds showed goes with their edition, so that who deletes all
// rows of a grower leaves nothing of it.
func TestEditionGoesAsAWhole(t *testing.T) {
	ctx := context.Background()
	s := fresh(t, "sqlite::memory:")
	at := time.Date(2026, 4, 12, 12, 0, 0, 0, time.UTC)
	for _, g := range []string{"a", "b"} {
		if err := s.PutGrower(ctx, storetest.Grower(g)); err != nil {
			t.Fatal(err)
		}
		if err := s.PutEdition(ctx, growerOwner(g), calendar.Edition{
			Number: 1, Day: climate.NewDate(2026, 4, 12), Starts: at, Ends: at, Bodies: []calendar.Body{{Name: "f", Plain: []byte{1}, Packed: []byte{1}}},
			Shown: []calendar.Shown{{Revision: calendar.Revision{UID: "1", Modified: at}, Changed: 1}},
		}, 0); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.writer.ExecContext(ctx, "delete from editions where grower = 'a'"); err != nil {
		t.Fatal(err)
	}
	for _, table := range []string{"editions", "shown", "bodies"} {
		var n int
		if err := s.reader.QueryRow("select count(*) from " + table).Scan(&n); err != nil || n != 1 {
			t.Errorf("%s: %d rows, %v; want the other grower's one", table, n, err)
		}
	}
}
