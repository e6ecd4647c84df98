package nudge

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"
	"budswell/climate"

	"github.com/jonboulle/clockwork"
)

// TestInstancesDoAMorningOnce lets two instances over one database take a job in
// turn: while one holds it, after one died, and after it was done.
func TestInstancesDoAMorningOnce(t *testing.T) {
	ctx := t.Context()
	s, err := store.Open(ctx, storetest.Anywhere(t))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	clock := clockwork.NewFakeClockAt(time.Date(2026, 4, 12, 3, 10, 0, 0, time.UTC))
	one, other := newLocker(s, clock, time.Hour, silent), newLocker(s, clock, time.Hour, silent)
	refused := func(l *locker, when string) {
		t.Helper()
		if _, err := l.take(ctx, aSlice); !errors.Is(err, calendar.ErrConflict) {
			t.Fatalf("%s: %v", when, err)
		}
	}
	first, err := one.take(ctx, aSlice)
	if err != nil {
		t.Fatal(err)
	}
	refused(other, "while it is held")
	clock.Advance(holdTime - time.Second)
	if err := first.keep(ctx); err != nil {
		t.Fatal(err)
	}
	clock.Advance(holdTime - time.Second)
	refused(other, "while it is held on")

	// The first gives no sign, and is not dead: it finds its job taken.
	clock.Advance(time.Second)
	second, err := other.take(ctx, aSlice)
	if err != nil {
		t.Fatal(err)
	}
	if err := first.keep(ctx); !errors.Is(err, errTaken) {
		t.Fatalf("kept what another has: %v", err)
	}
	if err := first.end(ctx, true); !errors.Is(err, calendar.ErrGone) {
		t.Fatalf("gave back what another has: %v", err)
	}
	refused(one, "after it was taken")

	// Stopped before it was done: anybody's at once, though gocron has ended the context.
	ended, end := context.WithCancel(ctx)
	end()
	if err := second.end(ended, false); err != nil {
		t.Fatal(err)
	}
	third, err := one.take(ctx, aSlice)
	if err != nil {
		t.Fatal(err)
	}
	if err := third.end(ctx, true); err != nil {
		t.Fatal(err)
	}
	refused(one, "after it was done")
	refused(other, "after it was done by another")
	clock.Advance(time.Hour)
	if _, err := other.take(ctx, aSlice); err != nil {
		t.Fatalf("the next hour: %v", err)
	}
}

const aSlice = "mornings 007 2"

// club returns a store with so many growers at one site.
func club(t *testing.T, growers int) *store.Store {
	t.Helper()
	s, _ := outbox(t, 0)
	for i := range growers {
		id := fmt.Sprintf("grower-%02d", i)
		if err := s.PutGrower(t.Context(), storetest.Grower(id)); err != nil {
			t.Fatal(err)
		}
		p := storetest.Place(id, "yard", 3)
		p.Site.Zone = "Europe/Zurich"
		if err := s.PutPlace(t.Context(), p); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// TestMorningOfATakenSliceIsNotRecorded: whoever lost a slice meanwhile does not
// write that the morning was done, and does no further one of it.
func TestMorningOfATakenSliceIsNotRecorded(t *testing.T) {
	const growers = 24
	s := club(t, growers)
	clock := clockwork.NewFakeClockAt(time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC))
	other := newLocker(s, clock, time.Hour, silent)
	sched, err := NewScheduler(s, clock, nil, nil, silent)
	if err != nil {
		t.Fatal(err)
	}
	defer stop(t, sched)
	var begun []string
	sched.forecast = func(_ context.Context, grower string, come []calendar.Place, _ time.Time) error {
		begun = append(begun, grower) // as planning goes on, the other takes over
		clock.Advance(holdTime)
		_, err := other.take(t.Context(), sliceOf(&come[0]))
		return err
	}
	sched.mornings(t.Context())
	if len(begun) != growersApart {
		t.Errorf("%d mornings were begun, want one of each slice, %d", len(begun), growersApart)
	}
	if ran, err := s.LastRuns(t.Context()); err != nil || len(ran) != 0 {
		t.Errorf("recorded are %v, %v", ran, err)
	}
}

// TestInstancesShareAMorning: while one instance is at a grower, another does all growers
// that are not in that slice; then the first goes on. Each is done once.
func TestInstancesShareAMorning(t *testing.T) {
	const growers = 24
	s := club(t, growers)
	clock := clockwork.NewFakeClockAt(time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC))
	sched := func() *Scheduler {
		one, err := NewScheduler(s, clock, nil, nil, silent)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { stop(t, one) })
		return one
	}
	done := map[string]string{}
	do := func(who string) Forecast {
		return func(_ context.Context, grower string, come []calendar.Place, _ time.Time) error {
			if was := done[grower]; was != "" || len(come) != 1 {
				t.Errorf("%s does the %d places of %s, which %s did", who, len(come), grower, was)
			}
			done[grower] = who
			return nil
		}
	}
	first, second := sched(), sched()
	second.forecast = do("the second")
	met, busy := false, ""
	first.forecast = func(ctx context.Context, grower string, come []calendar.Place, now time.Time) error {
		if !met {
			met, busy = true, sliceOf(&come[0])
			second.mornings(ctx)
			if len(done) == 0 || len(done) >= growers {
				t.Errorf("meanwhile the second did %d of %d", len(done), growers)
			}
		}
		return do("the first")(ctx, grower, come, now)
	}
	first.mornings(t.Context())
	if len(done) != growers {
		t.Errorf("%d of %d were done", len(done), growers)
	}
	sites, err := s.Sites(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for i := range sites {
		want := "the second"
		if sliceOf(&sites[i]) == busy {
			want = "the first"
		}
		if got := done[sites[i].Grower]; got != want {
			t.Errorf("%s was done by %s, want %s", sites[i].Grower, got, want)
		}
	}
	// Nothing is left to do, by either.
	clock.Advance(time.Hour)
	first.mornings(t.Context())
	second.mornings(t.Context())
}

// Growers part into slices of about the same size, whether they stand at one site or at many.
func TestSlicesAreEven(t *testing.T) {
	for sites, want := range map[int]int{1: growersApart, 5000: sitesApart * growersApart} {
		count := map[string]int{}
		for i := range 10_000 {
			p := calendar.Place{Grower: fmt.Sprintf("grower-%05d", i)}
			p.Site.Lat, p.Site.Lon = 40+float64(i%sites)/500, 8
			count[sliceOf(&p)]++
		}
		if len(count) != want {
			t.Errorf("%d sites: %d slices, want %d", sites, len(count), want)
		}
		for job, n := range count {
			if n > 4*10_000/want {
				t.Errorf("%d sites: %d growers in %s", sites, n, job)
			}
		}
	}
}

// BenchmarkLook looks for mornings among ten thousand growers when all were done, as each
// instance does every fifteen seconds.
func BenchmarkLook(b *testing.B) {
	s, err := store.Open(b.Context(), storetest.Anywhere(b))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	clock := clockwork.NewFakeClockAt(time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC))
	for i := range 10_000 {
		g := calendar.Grower{ID: fmt.Sprintf("grower-%05d", i), Name: "a", KeyHash: fmt.Sprint(i)}
		p := calendar.Place{ID: "yard", Grower: g.ID, Site: storetest.Place("a", "yard", 1).Site}
		p.Weather.Normals = &climate.Normals{}
		if err := errors.Join(s.PutGrower(b.Context(), g), s.PutPlace(b.Context(), p), s.Ran(b.Context(), morningOf(&p), clock.Now())); err != nil {
			b.Fatal(err)
		}
	}
	sched, err := NewScheduler(s, clock, nil, nil, silent)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		sched.mornings(b.Context())
	}
}
