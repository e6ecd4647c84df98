package store

import (
	"path/filepath"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store/storetest"
	"budswell/climate"
)

// TestNothingOfAMemberIsLeft: nor of what a grower did and shared in clubs, and what they
// did as a keeper stands without their name.
func TestNothingOfAMemberIsLeft(t *testing.T) {
	ctx := t.Context()
	s := fresh(t, "sqlite:"+filepath.Join(t.TempDir(), "b.db"))
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	at := time.Date(2026, 4, 12, 12, 0, 0, 0, time.UTC)
	day := climate.NewDate(2026, 4, 2)
	must(s.PutClub(ctx, storetest.Club("ridge")))
	for _, id := range []string{"bea", "leavemark"} {
		storetest.Settle(t, s, id)
		m := storetest.Member("ridge", id, calendar.Keeper)
		m.Shares = true
		must(s.PutMember(ctx, m))
		_, err := s.PutTellings(ctx, id, []calendar.Telling{storetest.Telling(id, "maple", day)})
		must(err)
		must(s.PutTicket(ctx, calendar.Ticket{Hash: "by " + id, Expires: at.AddDate(1, 0, 0), Club: "ridge", Role: calendar.Plain, By: id}))
	}
	k := storetest.Telling("bea", "maple", day)
	for _, c := range [][2]string{{"bea", "leavemark"}, {"leavemark", "bea"}} {
		must(s.SetAside(ctx, calendar.Aside{Club: "ridge", Grower: c[0], Species: k.Species, Phase: k.Phase, On: day, Keeper: c[1], At: at}))
	}
	if found, _ := mentions(t, s, "leavemark"); len(found) < 15 {
		t.Fatalf("the search finds too little: %q", found)
	}
	must(s.DeleteGrower(ctx, "leavemark", at))
	if found, _ := mentions(t, s, "leavemark"); len(found) != 1 { // the hash of the feed's link, here readable
		t.Errorf("left behind: %q", found)
	}
	pool, err := s.Pool(ctx, "ridge")
	must(err)
	if len(pool) != 1 || pool[0].Grower != "bea" || !pool[0].Aside {
		t.Errorf("the pool: %+v", pool)
	}
}
