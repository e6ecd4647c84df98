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
		ID: id, Grower: grower, Kind: "bud-swell", Title: "Buds " + id, HTML: "<p>line ’ß木</p>",
		Body: "line one\nline two ’ß木", Subjects: []string{"subject " + id},
		Deliveries: []calendar.Delivery{{ID: id + " mail", Channel: calendar.ByMail, To: grower + "@example.org"}},
		Decided:    noon.Add(time.Duration(minutes) * time.Minute),
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
	got, err := s.Nudges(ctx, "a", 0)
	must(t, err)
	equal(t, got, []calendar.Nudge{second, first})
	newest, err := s.Nudges(ctx, "a", 1)
	must(t, err)
	equal(t, newest, []calendar.Nudge{second})
	told, err := s.Subjects(ctx, "a")
	must(t, err)
	equal(t, told, []string{"subject 2", "x", "y", "z"})

	// A known id stays as it is, whatever comes under it.
	other := Nudge("a", "1", 5)
	other.Subjects, other.Title = []string{"new"}, "changed"
	decide(t, s, 0, other)
	got, err = s.Nudges(ctx, "a", 0)
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
	got, err = s.Nudges(ctx, "a", 0)
	must(t, err)
	equal(t, len(got), 2)

	for _, err := range []error{s.Sent(ctx, "unknown", noon), s.Failed(ctx, "unknown", 1, "why", noon), s.Postpone(ctx, "unknown", 1, noon)} {
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
	nowhere.Deliveries = nil
	older.Urgent = true
	late.Expires = noon.Add(time.Hour)
	decide(t, s, 4, newer, older, nowhere, late)

	now, lease := noon.Add(time.Hour), 5*time.Minute
	claim := func(now time.Time, want calendar.Nudge, attempts int, why string) string {
		t.Helper()
		got, err := s.Claim(ctx, calendar.ByMail, now, lease)
		must(t, err)
		d := want.Deliveries[0]
		d.Attempts, d.Retry, d.Error = attempts, now.Add(lease), why
		want.Deliveries = nil
		equal(t, got, calendar.Claimed{Nudge: want, Delivery: d})
		return d.ID
	}
	nothing := func(now time.Time) {
		t.Helper()
		_, err := s.Claim(ctx, calendar.ByMail, now, lease)
		want(t, err, calendar.ErrNotFound)
	}
	_, err := s.Claim(ctx, calendar.ByWebhook, now, lease)
	want(t, err, calendar.ErrNotFound)
	claim(now, older, 1, "")
	claim(now, newer, 1, "")
	nothing(now)
	nothing(now.Add(lease - 1))
	now = now.Add(lease)
	first := claim(now, older, 2, "") // whoever had it is gone

	// The first holder comes back too late to say that it failed, or must wait.
	must(t, s.Failed(ctx, first, 1, "slow", now))
	must(t, s.Postpone(ctx, first, 1, now))
	second := claim(now, newer, 2, "")
	nothing(now)

	must(t, s.Failed(ctx, first, 2, "busy", now.Add(time.Hour)))
	must(t, s.Failed(ctx, second, 2, "no such user", time.Time{}))
	nothing(now.Add(time.Hour - 1))
	now = now.Add(time.Hour)
	claim(now, older, 3, "busy")
	must(t, s.Postpone(ctx, first, 3, now.Add(2*time.Hour)))
	nothing(now.Add(2*time.Hour - 1))
	now = now.Add(2 * time.Hour)
	claim(now, older, 3, "busy") // the postponed attempt does not count
	must(t, s.Sent(ctx, first, now))
	must(t, s.Sent(ctx, first, now.Add(time.Hour)))
	must(t, s.Failed(ctx, first, 3, "late", now))
	must(t, s.Postpone(ctx, first, 3, now))
	nothing(now.Add(1000 * time.Hour))

	o, n := &older.Deliveries[0], &newer.Deliveries[0]
	o.Attempts, o.Sent, o.Error = 3, now, "busy"
	n.Attempts, n.GivenUp, n.Error = 2, true, "no such user"
	got, err := s.Nudges(ctx, "a", 0)
	must(t, err)
	equal(t, got, []calendar.Nudge{newer, older, late, nowhere})
}

// channels delivers one nudge by two channels, each by itself.
func channels(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	n := Nudge("a", "1", 0)
	n.Deliveries = append(n.Deliveries, calendar.Delivery{ID: "1 hook", Channel: calendar.ByWebhook, To: "h"})
	decide(t, s, 1, n)
	for _, channel := range []string{calendar.ByMail, calendar.ByWebhook} {
		c, err := s.Claim(ctx, channel, noon.Add(time.Hour), time.Hour)
		must(t, err)
		equal(t, c.Delivery.Channel, channel)
		must(t, s.Sent(ctx, c.Delivery.ID, noon.Add(time.Hour)))
		_, err = s.Claim(ctx, channel, noon.Add(100*time.Hour), time.Hour)
		want(t, err, calendar.ErrNotFound)
	}
	// The same delivery again, under another nudge, is refused as a whole.
	other := Nudge("a", "2", 0)
	other.Deliveries[0].ID = "1 mail"
	_, err := s.Decide(ctx, []calendar.Nudge{other})
	want(t, err, calendar.ErrConflict)
	got, err := s.Nudges(ctx, "a", 0)
	must(t, err)
	equal(t, len(got), 1)
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
				got, err := s.Claim(ctx, calendar.ByMail, noon.Add(time.Hour), time.Hour)
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
				if err := s.Sent(ctx, got.Delivery.ID, noon); err != nil {
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
