// Package storetest says in tests what every [calendar.Store] does, whatever
// database is behind it. A store's own test calls [Run].
package storetest

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/sums"
	"budswell/climate"

	"github.com/google/go-cmp/cmp"
)

// Run tests the stores that open makes: empty, each by itself, and closed by
// open through t.Cleanup.
func Run(t *testing.T, open func(t *testing.T) calendar.Store) {
	for _, c := range []struct {
		name string
		test func(*testing.T, calendar.Store)
	}{
		{"growers", growers},
		{"places", places},
		{"weather", weather},
		{"weather that changed", weatherChanged},
		{"weather sources", weatherSources},
		{"readings", readings},
		{"readings that came again", readingsAgain},
		{"readings that cannot be kept", badReadings},
		{"a place that moved", movedPlace},
		{"benches", benches},
		{"notes of a record", recordNotes},
		{"changes", changes},
		{"regions", regions},
		{"bands of a region", regionBands},
		{"a region that ends", regionEnds},
		{"weather lent to bands", lendings},
		{"clubs", clubs},
		{"members", members},
		{"a keeper who leaves", keeperLeaves},
		{"keepers who go at once", keepersAtOnce},
		{"invitations into clubs", clubTickets},
		{"invitations of a keeper", invitations},
		{"pools", pools},
		{"what was set aside", asides},
		{"trees", trees},
		{"log", log},
		{"feeds", feeds},
		{"revisions", revisions},
		{"editions", editions},
		{"passwords", passwords},
		{"nudges", nudges},
		{"subjects", subjects},
		{"decided at once", decidedAfter},
		{"claims", claims},
		{"claims by many", claimsByMany},
		{"channels", channels},
		{"links", links},
		{"withdrawing", withdrawing},
		{"told days", toldDays},
		{"preferences", preferences},
		{"preferences move what was postponed", postponed},
		{"locale", locale},
		{"webhooks", webhooks},
		{"wishes", wishes},
		{"rules", rules},
		{"rules of clubs", rulesOfClubs},
		{"too many rules", tooManyRules},
		{"jobs", jobs},
		{"leases", leases},
		{"leases taken by many", leasesByMany},
		{"many who write at once", manyWriters},
		{"one of many", oneOfMany},
		{"leaving while others write", leavingAmongWriters},
		{"order of bytes", byteOrder},
		{"names that nothing can have", unnameable},
		{"accounts", accounts},
		{"tickets", tickets},
		{"sessions", sessions},
		{"leaving", leaving},
		{"sweeping", sweeping},
		{"state", state},
		{"what cannot be kept", invalid},
		{"a context that ended", cancelled},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open(t)) })
	}
}

// noon is the time at which the tests take place, to the nanosecond.
var noon = time.Date(2026, 4, 12, 12, 0, 0, 123456789, time.UTC)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func want(t *testing.T, err, kind error) {
	t.Helper()
	if !errors.Is(err, kind) {
		t.Fatalf("error is %v, want %v", err, kind)
	}
}

func equal(t *testing.T, got, want any) {
	t.Helper()
	bits := cmp.Comparer(func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) })
	if d := cmp.Diff(want, got, bits); d != "" {
		t.Fatalf("not as expected (-want +got):\n%s", d)
	}
}

// Grower returns a grower.
func Grower(id string) calendar.Grower {
	return calendar.Grower{ID: id, Name: "Grower " + id, Email: id + "@example.org", KeyHash: "key of " + id}
}

// Place returns a place with years of invented weather: it tests whether values
// are kept, not what they say.
func Place(grower, id string, days int) calendar.Place {
	r := rand.New(rand.NewPCG(1, 2))
	record := &climate.Record{Source: "made for tests", First: climate.NewDate(1988, 3, 14), Days: make([]climate.Day, days)}
	for i := range record.Days {
		low := 20*r.Float64() - 10
		record.Days[i] = climate.Day{
			Tmin: low, Tmax: low + 12*r.Float64(), Prcp: math.Round(50*r.Float64()) / 10,
			TminOrigin: climate.Measured, TmaxOrigin: climate.Measured, PrcpOrigin: climate.Origin(i % 5),
		}
	}
	return calendar.Place{
		ID: id, Grower: grower,
		Site:    climate.Site{Name: "bench " + id, Lat: 50.123456789012345, Lon: -8.7, Elevation: 120.5, Zone: "Europe/Zurich"},
		Weather: climate.Weather{Record: record, Seed: math.MaxUint64 - 1},
	}
}

// Tree returns a tree without a log.
func Tree(grower, place, id string) calendar.Kept {
	return calendar.Kept{Grower: grower, Place: place, Tree: calendar.Tree{
		ID: id, Name: "Tree " + id, Species: "Acer campestre", Origin: calendar.Collected,
		Container: calendar.Container{Kind: "box", Litres: 12.5, Shape: sums.Oval, Length: 40, Width: 30.5, Depth: 7, Mix: "2 pumice, 1 lava"}, Note: "line one\nline two, \"quoted\" ’ß木",
	}}
}

func growers(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	a, b := Grower("a"), Grower("b")
	must(t, s.PutGrower(ctx, b))
	must(t, s.PutGrower(ctx, a))
	got, err := s.Growers(ctx)
	must(t, err)
	equal(t, got, []calendar.Grower{a, b})

	a.Name, a.KeyHash = "renamed", ""
	b.KeyHash = ""
	must(t, s.PutGrower(ctx, a))
	must(t, s.PutGrower(ctx, b)) // two without a key are no conflict
	one, err := s.Grower(ctx, "a")
	must(t, err)
	equal(t, one, a)
	_, err = s.Grower(ctx, "c")
	want(t, err, calendar.ErrNotFound)
	_, err = s.GrowerByKey(ctx, "")
	want(t, err, calendar.ErrNotFound)

	b.KeyHash = "new key"
	must(t, s.PutGrower(ctx, b))
	one, err = s.GrowerByKey(ctx, "new key")
	must(t, err)
	equal(t, one, b)
	a.KeyHash = "new key"
	want(t, s.PutGrower(ctx, a), calendar.ErrConflict)
	one, err = s.Grower(ctx, "a")
	must(t, err)
	equal(t, one.KeyHash, "")
}

func feeds(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	f := calendar.Feed{
		ID: "f", Grower: "a", Name: "all", TokenHash: "h", Created: noon,
		Filter: calendar.Filter{Trees: []string{"x", "y"}, Works: []string{"repot"}},
	}
	must(t, s.PutFeed(ctx, f))
	second := calendar.Feed{ID: "f", Grower: "b", TokenHash: "h2", Created: noon.In(time.FixedZone("east", 3600))}
	must(t, s.PutFeed(ctx, second)) // the same id is another grower's own
	got, err := s.FeedByToken(ctx, "h")
	must(t, err)
	equal(t, got, f)

	f.Name, f.TokenHash = "renamed", "h3"
	later := f
	later.Created = noon.Add(time.Hour)
	must(t, s.PutFeed(ctx, later))
	list, err := s.Feeds(ctx, "a")
	must(t, err)
	equal(t, list, []calendar.Feed{f})
	_, err = s.FeedByToken(ctx, "h")
	want(t, err, calendar.ErrNotFound)

	want(t, s.RevokeFeed(ctx, "a", "other", noon), calendar.ErrNotFound)
	must(t, s.RevokeFeed(ctx, "a", "f", noon.Add(time.Hour)))
	must(t, s.RevokeFeed(ctx, "a", "f", noon.Add(2*time.Hour)))
	f.Revoked = noon.Add(time.Hour)
	got, err = s.FeedByToken(ctx, "h3")
	want(t, err, calendar.ErrGone)
	equal(t, got, f)
	f.Revoked = time.Time{}
	must(t, s.PutFeed(ctx, f))
	_, err = s.FeedByToken(ctx, "h3")
	want(t, err, calendar.ErrGone)

	_, err = s.FeedByToken(ctx, "h2")
	must(t, err)
	second.ID, second.TokenHash = "g", "h3"
	want(t, s.PutFeed(ctx, second), calendar.ErrConflict)
	second.Grower, second.TokenHash = "nobody", "h4"
	want(t, s.PutFeed(ctx, second), calendar.ErrNotFound)
}

func revisions(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	got, err := s.Revise(ctx, "a", []calendar.Revision{{UID: "2", Digest: "x"}, {UID: "1", Digest: "y"}}, noon)
	must(t, err)
	first := []calendar.Revision{{UID: "2", Digest: "x", Modified: noon}, {UID: "1", Digest: "y", Modified: noon}}
	equal(t, got, first)

	later := noon.Add(24 * time.Hour)
	got, err = s.Revise(ctx, "a", []calendar.Revision{{UID: "2", Digest: "x", Sequence: 9}, {UID: "1", Digest: "y"}}, later)
	must(t, err)
	equal(t, got, first)

	got, err = s.Revise(ctx, "a", []calendar.Revision{{UID: "1", Digest: "z"}, {UID: "3", Digest: "x"}}, later)
	must(t, err)
	equal(t, got, []calendar.Revision{{UID: "1", Digest: "z", Sequence: 1, Modified: later}, {UID: "3", Digest: "x", Modified: later}})

	// What was absent for a while goes on from where it was, and another owner has its own.
	got, err = s.Revise(ctx, "a", []calendar.Revision{{UID: "2", Digest: "back"}, {UID: "1", Digest: "clock set back"}}, noon.Add(time.Hour))
	must(t, err)
	equal(t, got, []calendar.Revision{
		{UID: "2", Digest: "back", Sequence: 1, Modified: noon.Add(time.Hour)},
		{UID: "1", Digest: "clock set back", Sequence: 2, Modified: later},
	})
	got, err = s.Revise(ctx, "b", []calendar.Revision{{UID: "1", Digest: "y"}}, later)
	must(t, err)
	equal(t, got, []calendar.Revision{{UID: "1", Digest: "y", Modified: later}})

	_, err = s.Revise(ctx, "a", []calendar.Revision{{UID: "7", Digest: "x"}, {UID: "7", Digest: "y"}}, later)
	want(t, err, calendar.ErrInvalid)
	got, err = s.Revise(ctx, "a", nil, later)
	must(t, err)
	equal(t, len(got), 0)
}

func jobs(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	at, err := s.LastRun(ctx, "morning")
	must(t, err)
	equal(t, at, time.Time{})
	for _, at := range []time.Time{noon, noon.Add(time.Hour), noon.Add(-time.Hour)} {
		must(t, s.Ran(ctx, "morning", at.In(time.FixedZone("west", -7200))))
		got, err := s.LastRun(ctx, "morning")
		must(t, err)
		equal(t, got, at)
	}
	must(t, s.Ran(ctx, "evening", noon))
	all, err := s.LastRuns(ctx)
	must(t, err)
	equal(t, all, map[string]time.Time{"morning": noon.Add(-time.Hour), "evening": noon})
}

func cancelled(t *testing.T, s calendar.Store) {
	ctx, cancel := context.WithCancel(context.Background())
	must(t, s.PutGrower(ctx, Grower("a")))
	cancel()
	want(t, s.PutGrower(ctx, Grower("b")), context.Canceled)
	got, err := s.Growers(context.Background())
	must(t, err)
	equal(t, got, []calendar.Grower{Grower("a")})
}
