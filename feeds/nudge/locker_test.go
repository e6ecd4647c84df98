package nudge

import (
	"context"
	"errors"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"

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
		if _, err := l.Lock(ctx, morningsJob); !errors.Is(err, calendar.ErrConflict) {
			t.Fatalf("%s: %v", when, err)
		}
	}
	first, err := one.Lock(ctx, morningsJob)
	if err != nil {
		t.Fatal(err)
	}
	refused(other, "while it is held")
	clock.Advance(holdTime - time.Second)
	if err := one.keep(ctx, morningsJob); err != nil {
		t.Fatal(err)
	}
	clock.Advance(holdTime - time.Second)
	refused(other, "while it is held on")

	// The first gives no sign, and is not dead: it finds its job taken.
	clock.Advance(time.Second)
	second, err := other.Lock(ctx, morningsJob)
	if err != nil {
		t.Fatal(err)
	}
	if err := one.keep(ctx, morningsJob); !errors.Is(err, errTaken) {
		t.Fatalf("kept what another has: %v", err)
	}
	one.finished(morningsJob)
	if err := first.Unlock(ctx); !errors.Is(err, calendar.ErrGone) {
		t.Fatalf("gave back what another has: %v", err)
	}
	refused(one, "after it was taken")

	// Stopped before it was done: anybody's at once, though gocron has ended the context.
	ended, end := context.WithCancel(ctx)
	end()
	if err := second.Unlock(ended); err != nil {
		t.Fatal(err)
	}
	third, err := one.Lock(ctx, morningsJob)
	if err != nil {
		t.Fatal(err)
	}
	one.finished(morningsJob)
	if err := third.Unlock(ctx); err != nil {
		t.Fatal(err)
	}
	refused(one, "after it was done")
	refused(other, "after it was done by another")
	clock.Advance(time.Hour)
	if _, err := other.Lock(ctx, morningsJob); err != nil {
		t.Fatalf("the next hour: %v", err)
	}
}

// TestMorningOfATakenJobIsNotRecorded: whoever lost the job meanwhile does not
// write that the morning was done, and does no further one.
func TestMorningOfATakenJobIsNotRecorded(t *testing.T) {
	s := places(t, "Europe/Zurich", "Europe/Berlin")
	clock := clockwork.NewFakeClockAt(time.Date(2026, 4, 12, 3, 0, 0, 0, time.UTC))
	other := newLocker(s, clock, time.Hour, silent)
	m := &mornings{}
	var taken int
	m.fail = func(string) error { // as planning goes on, the other takes over
		taken++
		clock.Advance(holdTime)
		_, err := other.Lock(t.Context(), morningsJob)
		return err
	}
	sched, err := NewScheduler(s, clock, m.forecast, nil, silent)
	if err != nil {
		t.Fatal(err)
	}
	looked := make(chan struct{}, 10)
	sched.looked = func() { looked <- struct{}{} }
	sched.Start()
	defer stop(t, sched)
	select {
	case <-looked:
	case <-time.After(20 * time.Second):
		t.Fatal("no look")
	}
	if taken != 1 {
		t.Errorf("%d mornings were begun, want 1", taken)
	}
	for _, job := range []string{"morning a/Europe/Zurich", "morning b/Europe/Berlin"} {
		if at, err := s.LastRun(t.Context(), job); err != nil || !at.IsZero() {
			t.Errorf("%s is recorded at %v, %v", job, at, err)
		}
	}
}
