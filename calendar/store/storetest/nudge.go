package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
)

// Nudge returns a nudge that tells one subject, decided so many minutes after noon.
func Nudge(grower, id string, minutes int) calendar.Nudge {
	return calendar.Nudge{
		ID: id, Grower: grower, Kind: "bud-swell", To: grower + "@example.org", Title: "Buds " + id,
		Body: "line one\nline two ’ß木", Subjects: []string{"subject " + id},
		Decided: noon.Add(time.Duration(minutes) * time.Minute),
	}
}

func decide(t *testing.T, s calendar.Store, added int, nudges ...calendar.Nudge) {
	t.Helper()
	n, err := s.Decide(context.Background(), nudges)
	must(t, err)
	equal(t, n, added)
}

func nudges(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	first, second := Nudge("a", "1", 0), Nudge("a", "2", 1)
	first.Subjects = []string{"z", "y", "x"}
	second.Expires = noon.Add(72 * time.Hour)
	decide(t, s, 2, first, second)
	decide(t, s, 1, second, Nudge("b", "3", 0), first)
	got, err := s.Nudges(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Nudge{second, first})

	// A known id stays as it is, whatever comes under it.
	other := Nudge("a", "1", 5)
	other.Subjects, other.Title = []string{"new"}, "changed"
	decide(t, s, 0, other)
	got, err = s.Nudges(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Nudge{second, first})

	// All or nothing.
	bad := Nudge("nobody", "5", 0)
	_, err = s.Decide(ctx, []calendar.Nudge{Nudge("a", "4", 0), bad})
	want(t, err, calendar.ErrNotFound)
	bad = Nudge("a", "5", 0)
	bad.Subjects = nil
	_, err = s.Decide(ctx, []calendar.Nudge{Nudge("a", "4", 0), bad})
	want(t, err, calendar.ErrInvalid)
	got, err = s.Nudges(ctx, "a")
	must(t, err)
	equal(t, len(got), 2)

	for _, err := range []error{s.Sent(ctx, "unknown", noon), s.Failed(ctx, "unknown", 1, "why", noon)} {
		want(t, err, calendar.ErrNotFound)
	}
}

func subjects(t *testing.T, s calendar.Store) {
	must(t, s.PutGrower(context.Background(), Grower("a")))
	must(t, s.PutGrower(context.Background(), Grower("b")))
	about := func(grower, id string, subjects ...string) calendar.Nudge {
		n := Nudge(grower, id, 0)
		n.Subjects = subjects
		return n
	}
	decide(t, s, 1, about("a", "1", "maple", "larch"))
	decide(t, s, 0, about("a", "2", "oak", "maple"))
	decide(t, s, 1, about("a", "3", "oak")) // what was left untold can be told
	decide(t, s, 1, about("b", "4", "maple"))
	decide(t, s, 1, about("a", "5", "ash"), about("a", "6", "ash"))
}

func claims(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	older, newer, nowhere, late := Nudge("a", "2", 0), Nudge("a", "1", 1), Nudge("a", "3", -9), Nudge("a", "4", -8)
	nowhere.To = ""
	late.Expires = noon.Add(time.Hour)
	decide(t, s, 4, newer, older, nowhere, late)

	now, lease := noon.Add(time.Hour), 5*time.Minute
	claim := func(now time.Time, want calendar.Nudge, attempts int) {
		t.Helper()
		got, err := s.Claim(ctx, now, lease)
		must(t, err)
		want.Attempts, want.Retry = attempts, now.Add(lease)
		equal(t, got, want)
	}
	nothing := func(now time.Time) {
		t.Helper()
		_, err := s.Claim(ctx, now, lease)
		want(t, err, calendar.ErrNotFound)
	}
	claim(now, older, 1)
	claim(now, newer, 1)
	nothing(now)
	nothing(now.Add(lease - 1))
	now = now.Add(lease)
	claim(now, older, 2) // whoever had it is gone

	// The first holder comes back too late to say that it failed.
	must(t, s.Failed(ctx, older.ID, 1, "slow", now))
	claim(now, newer, 2)
	nothing(now)

	must(t, s.Failed(ctx, older.ID, 2, "busy", now.Add(time.Hour)))
	must(t, s.Failed(ctx, newer.ID, 2, "no such user", time.Time{}))
	nothing(now.Add(time.Hour - 1))
	now = now.Add(time.Hour)
	older.Error = "busy"
	claim(now, older, 3)
	must(t, s.Sent(ctx, older.ID, now))
	must(t, s.Sent(ctx, older.ID, now.Add(time.Hour)))
	must(t, s.Failed(ctx, older.ID, 3, "late", now))
	nothing(now.Add(1000 * time.Hour))

	older.Attempts, older.Sent = 3, now
	newer.Attempts, newer.GivenUp, newer.Error = 2, true, "no such user"
	got, err := s.Nudges(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Nudge{newer, older, late, nowhere})
}

// claimsByMany lets eight senders claim at once: each nudge goes to one of them.
func claimsByMany(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	const n = 40
	for i := range n {
		decide(t, s, 1, Nudge("a", fmt.Sprint(i), 0))
	}
	var (
		wait sync.WaitGroup
		lock sync.Mutex
		held = map[string]int{}
	)
	for range 8 {
		wait.Go(func() {
			for {
				got, err := s.Claim(ctx, noon.Add(time.Hour), time.Hour)
				if errors.Is(err, calendar.ErrNotFound) {
					return
				}
				if err != nil {
					t.Error(err)
					return
				}
				lock.Lock()
				held[got.ID]++
				lock.Unlock()
				if err := s.Sent(ctx, got.ID, noon); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
	equal(t, len(held), n)
	for id, times := range held {
		if times != 1 {
			t.Errorf("nudge %s was claimed %d times", id, times)
		}
	}
}
