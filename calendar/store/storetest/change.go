package storetest

import (
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

// changes: whatever a grower's plans and feeds are made from counts, and nothing
// of another grower or a region of the same id does.
func changes(t *testing.T, s calendar.Store) {
	ctx := t.Context()
	count := func(of func() (int, error)) int {
		t.Helper()
		n, err := of()
		must(t, err)
		return n
	}
	own := func() (int, error) { return s.Changes(ctx, "a") }
	region := func() (int, error) { return s.RegionChanges(ctx, "a") }
	if n := count(own); n != 0 {
		t.Fatalf("%d changes of a grower who is not there", n)
	}
	on := climate.NewDate(2026, 4, 1)
	site := climate.Site{Name: "somewhere", Lat: 50, Lon: 8, Zone: "UTC"}
	feed := calendar.Feed{ID: "f", Grower: "a", Name: "all", TokenHash: "hash", Created: noon}
	for _, c := range []struct {
		name string
		make func() error
	}{
		{"grower", func() error { return s.PutGrower(ctx, calendar.Grower{ID: "a"}) }},
		{"place", func() error { return s.PutPlace(ctx, calendar.Place{ID: "p", Grower: "a", Site: site}) }},
		{"place again", func() error { return s.PutPlace(ctx, calendar.Place{ID: "p", Grower: "a", Site: site}) }},
		{"tree", func() error {
			return s.PutTree(ctx, calendar.Kept{Grower: "a", Place: "p", Tree: calendar.Tree{ID: "t"}})
		}},
		{"entry", func() error { return s.AddEntry(ctx, "a", "t", calendar.Entry{On: on, Did: "repot"}) }},
		{"feed", func() error { return s.PutFeed(ctx, feed) }},
		{"revoked", func() error { return s.RevokeFeed(ctx, "a", "f", noon) }},
	} {
		before := count(own)
		must(t, c.make())
		if n := count(own); n <= before {
			t.Errorf("%s: %d changes after %d", c.name, n, before)
		}
	}
	before := count(own)
	must(t, s.PutGrower(ctx, calendar.Grower{ID: "b"}))
	must(t, s.PutRegion(ctx, calendar.Region{ID: "a", Bands: Bands(0)}))
	if n := count(own); n != before {
		t.Errorf("others' changes count: %d after %d", n, before)
	}
	if n := count(region); n != 1 {
		t.Errorf("%d changes of a region that was put once", n)
	}
	if err := s.AddEntry(ctx, "a", "nowhere", calendar.Entry{On: on, Did: "repot"}); err == nil {
		t.Fatal("an entry of no tree was taken")
	}
	if n := count(own); n != before {
		t.Errorf("what failed counts: %d after %d", n, before)
	}
}
