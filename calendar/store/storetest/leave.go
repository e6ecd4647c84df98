package storetest

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// Settle puts something of every kind into a store for a grower.
func Settle(t *testing.T, s calendar.Store, grower string) {
	t.Helper()
	ctx := context.Background()
	until := noon.Add(time.Hour)
	must(t, s.PutGrower(ctx, Grower(grower)))
	must(t, s.PutPlace(ctx, Place(grower, "bench", 800)))
	k := Tree(grower, "bench", "maple")
	k.Log = []calendar.Entry{{On: climate.NewDate(2026, 4, 1), Did: "repot"}, {On: climate.NewDate(2026, 4, 2), Saw: "bud-swell"}}
	must(t, s.PutTree(ctx, k))
	must(t, s.PutFeed(ctx, calendar.Feed{ID: "f", Grower: grower, Name: "all", TokenHash: "token of " + grower, Created: noon}))
	_, err := s.Revise(ctx, grower, []calendar.Revision{{UID: "of " + grower, Digest: "x"}}, noon)
	must(t, err)
	decide(t, s, 1, Nudge(grower, "nudge of "+grower, 0))
	_, err = s.Amend(ctx, Amendment(grower, "rule of "+grower), 0)
	must(t, err)
	must(t, s.Ran(ctx, "morning "+grower+"/bench", noon))
	must(t, s.PutAccount(ctx, Account(grower), ""))
	must(t, s.PutTicket(ctx, calendar.Ticket{Hash: "ticket of " + grower, Grower: grower, Expires: until}))
	must(t, s.PutSession(ctx, calendar.Session{Hash: "session of " + grower, Grower: grower, Data: []byte("x"), Seen: noon, Expires: until}))
}

func leaving(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	Settle(t, s, "ada")
	Settle(t, s, "bea")
	before, err := s.Trees(ctx, "bea")
	must(t, err)
	want(t, s.DeleteGrower(ctx, "nobody", noon), calendar.ErrNotFound)
	want(t, s.DeleteGrower(ctx, "", noon), calendar.ErrInvalid)
	must(t, s.DeleteGrower(ctx, "ada", noon.Add(time.Minute)))

	_, err = s.Grower(ctx, "ada")
	want(t, err, calendar.ErrNotFound)
	_, err = s.Session(ctx, "session of ada", noon)
	want(t, err, calendar.ErrNotFound)
	f, err := s.FeedByToken(ctx, "token of ada")
	want(t, err, calendar.ErrGone)
	equal(t, f, calendar.Feed{TokenHash: "token of ada", Revoked: noon.Add(time.Minute)})
	n, err := s.Changes(ctx, "ada")
	must(t, err)
	equal(t, n, 0)

	// Others keep all that they have, and logs are as safe as before.
	after, err := s.Trees(ctx, "bea")
	must(t, err)
	equal(t, after, before)
	_, err = s.Session(ctx, "session of bea", noon)
	must(t, err)
	_, err = s.FeedByToken(ctx, "token of bea")
	must(t, err)
	at, err := s.LastRun(ctx, "morning bea/bench")
	must(t, err)
	equal(t, at, noon)
	revised, err := s.Revise(ctx, "bea", []calendar.Revision{{UID: "of bea", Digest: "y"}}, noon)
	must(t, err)
	equal(t, revised[0].Sequence, 1)

	// The name is free, and begins anew.
	Settle(t, s, "ada")
}

func sweeping(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	Settle(t, s, "ada")
	Settle(t, s, "bea")
	must(t, s.PutRegion(ctx, calendar.Region{ID: "valley", Name: "Valley", Bands: Bands(400)}))
	_, err := s.Revise(ctx, "valley", []calendar.Revision{{UID: "v", Digest: "x"}}, noon)
	must(t, err)
	must(t, s.DeleteGrower(ctx, "ada", noon))
	// A job that was at work when the grower left.
	_, err = s.Revise(ctx, "ada", []calendar.Revision{{UID: "u", Digest: "x"}}, noon)
	must(t, err)
	must(t, s.Ran(ctx, "morning ada/bench", noon))
	must(t, s.Ran(ctx, "sender", noon))

	must(t, s.Sweep(ctx, noon.Add(time.Minute), noon.Add(-time.Hour)))
	_, err = s.FeedByToken(ctx, "token of ada")
	want(t, err, calendar.ErrGone)
	for job, kept := range map[string]bool{"morning ada/bench": false, "morning bea/bench": true, "sender": true} {
		at, err := s.LastRun(ctx, job)
		must(t, err)
		equal(t, !at.IsZero(), kept)
	}
	for owner, sequence := range map[string]int{"ada": 0, "bea": 1, "valley": 1} {
		uid := map[string]string{"ada": "u", "bea": "of bea", "valley": "v"}[owner]
		revised, err := s.Revise(ctx, owner, []calendar.Revision{{UID: uid, Digest: "new"}}, noon)
		must(t, err)
		equal(t, revised[0].Sequence, sequence)
	}
	_, err = s.Session(ctx, "session of bea", noon)
	must(t, err)

	must(t, s.Sweep(ctx, noon.Add(time.Hour), noon))
	_, err = s.FeedByToken(ctx, "token of ada")
	want(t, err, calendar.ErrNotFound)
	for _, err := range []error{
		func() error { _, err := s.Session(ctx, "session of bea", noon); return err }(),
		func() error { _, err := s.Ticket(ctx, "ticket of bea", noon); return err }(),
	} {
		want(t, err, calendar.ErrNotFound)
	}
}

func state(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.Ready(ctx))
	until, err := s.WeatherUntil(ctx)
	must(t, err)
	equal(t, len(until), 0)
	must(t, s.PutGrower(ctx, Grower("a")))
	for id, days := range map[string]int{"1": 0, "2": 1, "3": 293, "4": 294, "5": 1000} { // 1988-12-31 is day 293
		must(t, s.PutPlace(ctx, Place("a", id, days)))
	}
	until, err = s.WeatherUntil(ctx)
	must(t, err)
	first := climate.NewDate(1988, 3, 14)
	equal(t, until, []climate.Date{first, first + 292, first + 293, first + 999})

	n, err := s.Waiting(ctx, noon)
	must(t, err)
	equal(t, n, 0)
	nowhere := Nudge("a", "3", 0)
	nowhere.Deliveries = nil
	decide(t, s, 3, Nudge("a", "1", 0), Nudge("a", "2", 0), nowhere)
	must(t, s.Sent(ctx, "1 mail", noon))
	n, err = s.Waiting(ctx, noon)
	must(t, err)
	equal(t, n, 1)
}
