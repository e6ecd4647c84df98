package storetest

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

var repotted = calendar.Entry{On: climate.NewDate(2026, 4, 11), Did: "repot"}

// garden is a grower with two trees and a nudge with a link for both.
func garden(t *testing.T, s calendar.Store) calendar.Nudge {
	t.Helper()
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "p", 3)))
	for _, id := range []string{"maple", "larch"} {
		must(t, s.PutTree(ctx, calendar.Kept{Tree: calendar.Tree{ID: id, Name: id, Species: "x"}, Grower: "a", Place: "p"}))
	}
	n := Nudge("a", "1", 0)
	n.Links = []calendar.Link{
		{Hash: "hash 1", Secret: "secret 1", Does: "did:repot", Label: "Repot", Trees: []string{"maple", "larch"}, Expires: noon.Add(21 * 24 * time.Hour)},
		{Hash: "hash 2", Secret: "secret 2", Does: calendar.StopMail, Label: "No more mail", Expires: noon.Add(400 * 24 * time.Hour)},
	}
	n.Deliveries = append(n.Deliveries, calendar.Delivery{ID: "1 hook", Channel: calendar.ByWebhook, To: "h"})
	decide(t, s, 1, n)
	return n
}

// logs returns the log of each tree of grower a.
func logs(t *testing.T, s calendar.Store) map[string][]calendar.Entry {
	t.Helper()
	trees, err := s.Trees(context.Background(), "a")
	must(t, err)
	out := map[string][]calendar.Entry{}
	for i := range trees {
		out[trees[i].ID] = trees[i].Log
	}
	return out
}

func links(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	n := garden(t, s)
	for i := range n.Links {
		n.Links[i].Grower, n.Links[i].Nudge = "a", "1"
	}

	// The secrets are there as long as a delivery needs them, and no longer.
	for _, channel := range []string{calendar.ByMail, calendar.ByWebhook} {
		c, err := s.Claim(ctx, channel, noon.Add(time.Hour), time.Hour)
		must(t, err)
		equal(t, c.Links, n.Links)
		must(t, s.Sent(ctx, c.Delivery.ID, noon.Add(time.Hour)))
	}
	for i := range n.Links {
		n.Links[i].Secret = ""
		got, err := s.LinkByHash(ctx, n.Links[i].Hash, noon)
		must(t, err)
		equal(t, got, n.Links[i])
	}
	_, err := s.LinkByHash(ctx, "secret 1", noon)
	want(t, err, calendar.ErrNotFound)
	_, err = s.LinkByHash(ctx, "hash 1", n.Links[0].Expires)
	want(t, err, calendar.ErrGone)

	at := noon.Add(2 * time.Hour)
	use := func(tree string) calendar.LinkUse { return calendar.LinkUse{Tree: tree, Entry: repotted} }
	before, err := s.Changes(ctx, "a")
	must(t, err)
	// All or none.
	want(t, s.UseLink(ctx, "hash 1", []calendar.LinkUse{use("maple"), use("oak")}, at), calendar.ErrConflict)
	want(t, s.UseLink(ctx, "hash 1", []calendar.LinkUse{use("maple")}, n.Links[0].Expires), calendar.ErrGone)
	equal(t, logs(t, s), map[string][]calendar.Entry{"maple": nil, "larch": nil})
	must(t, s.UseLink(ctx, "hash 1", []calendar.LinkUse{use("maple")}, at))
	want(t, s.UseLink(ctx, "hash 1", []calendar.LinkUse{use("larch"), use("maple")}, at), calendar.ErrConflict)
	must(t, s.UseLink(ctx, "hash 1", []calendar.LinkUse{use("larch")}, at.Add(time.Minute)))
	equal(t, logs(t, s), map[string][]calendar.Entry{"maple": {repotted}, "larch": {repotted}})
	after, err := s.Changes(ctx, "a")
	must(t, err)
	equal(t, after > before, true)

	back, err := s.TakeBack(ctx, "hash 1", at.Add(time.Hour))
	must(t, err)
	uses := []calendar.LinkUse{
		{Tree: "larch", Entry: repotted, At: at.Add(time.Minute), Back: at.Add(time.Hour)},
		{Tree: "maple", Entry: repotted, At: at, Back: at.Add(time.Hour)},
	}
	equal(t, back, uses)
	got, err := s.LinkByHash(ctx, "hash 1", noon)
	must(t, err)
	equal(t, got.Uses, uses)
	equal(t, logs(t, s), map[string][]calendar.Entry{"maple": nil, "larch": nil})
	back, err = s.TakeBack(ctx, "hash 1", at.Add(2*time.Hour)) // nothing left
	must(t, err)
	equal(t, len(back), 0)
	want(t, s.UseLink(ctx, "hash 1", []calendar.LinkUse{use("maple")}, at), calendar.ErrConflict) // it was used, once

	// Of eight who press at once, one is heard.
	second := Nudge("a", "2", 1)
	second.Links = []calendar.Link{{Hash: "hash 3", Does: "did:repot", Trees: []string{"maple"}, Expires: noon.Add(24 * time.Hour)}}
	decide(t, s, 1, second)
	var (
		wait sync.WaitGroup
		lock sync.Mutex
		done int
	)
	for range 8 {
		wait.Go(func() {
			err := s.UseLink(ctx, "hash 3", []calendar.LinkUse{use("maple")}, at)
			lock.Lock()
			defer lock.Unlock()
			if err == nil {
				done++
			} else if !errors.Is(err, calendar.ErrConflict) {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	equal(t, done, 1)
	equal(t, logs(t, s)["maple"], []calendar.Entry{repotted}) // withdrawn, and entered again
}

func withdrawing(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	garden(t, s)
	saw := calendar.Entry{On: climate.NewDate(2026, 4, 2), Saw: "bud-swell"}
	want(t, s.Withdraw(ctx, "a", "maple", saw, noon), calendar.ErrNotFound)
	must(t, s.AddEntry(ctx, "a", "maple", saw))
	must(t, s.AddEntry(ctx, "a", "maple", repotted))
	want(t, s.Withdraw(ctx, "b", "maple", saw, noon), calendar.ErrNotFound)
	want(t, s.Withdraw(ctx, "a", "larch", saw, noon), calendar.ErrNotFound)
	before, err := s.Changes(ctx, "a")
	must(t, err)
	must(t, s.Withdraw(ctx, "a", "maple", saw, noon))
	after, err := s.Changes(ctx, "a")
	must(t, err)
	equal(t, after, before+1)
	equal(t, logs(t, s)["maple"], []calendar.Entry{repotted})
	want(t, s.Withdraw(ctx, "a", "maple", saw, noon), calendar.ErrNotFound)

	// To import the tree with its old log again brings nothing back; to enter it does.
	kept := calendar.Kept{Tree: calendar.Tree{ID: "maple", Name: "maple", Species: "x", Log: []calendar.Entry{saw}}, Grower: "a", Place: "p"}
	must(t, s.PutTree(ctx, kept))
	equal(t, logs(t, s)["maple"], []calendar.Entry{repotted})
	for range 2 {
		must(t, s.AddEntry(ctx, "a", "maple", saw))
		equal(t, logs(t, s)["maple"], []calendar.Entry{saw, repotted})
		must(t, s.Withdraw(ctx, "a", "maple", saw, noon))
		equal(t, logs(t, s)["maple"], []calendar.Entry{repotted})
	}
}
