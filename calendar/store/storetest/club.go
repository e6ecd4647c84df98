package storetest

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"budswell/calendar"
)

// Club returns a club, Member who is in it.
func Club(id string) calendar.Club {
	return calendar.Club{ID: id, Name: "Club " + id, Founded: noon}
}

func Member(club, grower string, role calendar.Role) calendar.Member {
	return calendar.Member{Club: club, Grower: grower, Role: role, Since: noon}
}

func clubs(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	a, b := Club("a"), Club("b-1")
	must(t, s.PutClub(ctx, b))
	must(t, s.PutClub(ctx, a))
	renamed := b
	renamed.Name, renamed.Founded = "Ridge ß木", noon.Add(time.Hour)
	must(t, s.PutClub(ctx, renamed))
	b.Name = renamed.Name
	got, err := s.Clubs(ctx)
	must(t, err)
	equal(t, got, []calendar.Club{a, b})
	one, err := s.Club(ctx, "b-1")
	must(t, err)
	equal(t, one, b)
	_, err = s.Club(ctx, "c")
	want(t, err, calendar.ErrNotFound)
	for _, bad := range []calendar.Club{
		{ID: "", Name: "n", Founded: noon},
		{ID: "A", Name: "n", Founded: noon},
		{ID: "a/b", Name: "n", Founded: noon},
		{ID: "c", Name: " ", Founded: noon},
		{ID: "c", Name: "a\nb", Founded: noon},
		{ID: "c", Name: "n"},
	} {
		want(t, s.PutClub(ctx, bad), calendar.ErrInvalid)
	}

	r := calendar.Region{ID: "r", Name: "R", Bands: Bands(0), Club: "a"}
	must(t, s.PutRegion(ctx, r))
	kept, err := s.Region(ctx, "r")
	must(t, err)
	equal(t, kept, r)
	r.Club = ""
	must(t, s.PutRegion(ctx, r))
	kept, err = s.Region(ctx, "r")
	must(t, err)
	equal(t, kept, r)
	r.Club = "nobody"
	want(t, s.PutRegion(ctx, r), calendar.ErrNotFound)
}

func members(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	for _, id := range []string{"ada", "bea", "cy"} {
		must(t, s.PutGrower(ctx, Grower(id)))
	}
	must(t, s.PutClub(ctx, Club("ridge")))
	must(t, s.PutClub(ctx, Club("vale")))
	must(t, s.PutRegion(ctx, calendar.Region{ID: "r", Name: "R", Bands: Bands(0), Club: "ridge"}))
	keeper, editor, plain := Member("ridge", "cy", calendar.Keeper), Member("ridge", "bea", calendar.Editor), Member("ridge", "ada", calendar.Plain)
	other := Member("vale", "ada", calendar.Keeper)
	for _, m := range []calendar.Member{keeper, editor, plain, other} {
		must(t, s.PutMember(ctx, m))
	}
	is := func(want ...calendar.Member) {
		t.Helper()
		got, err := s.Members(ctx, "ridge")
		must(t, err)
		equal(t, got, want)
	}
	is(plain, editor, keeper)
	mine, err := s.Memberships(ctx, "ada")
	must(t, err)
	equal(t, mine, []calendar.Member{plain, other})
	for _, bad := range []calendar.Member{
		{Club: "ridge", Role: calendar.Plain, Since: noon},
		{Club: "ridge", Grower: "ada", Role: "owner", Since: noon},
		{Club: "ridge", Grower: "ada", Role: calendar.Plain},
	} {
		want(t, s.PutMember(ctx, bad), calendar.ErrInvalid)
	}
	want(t, s.PutMember(ctx, Member("ridge", "nobody", calendar.Plain)), calendar.ErrNotFound)
	want(t, s.PutMember(ctx, Member("nowhere", "ada", calendar.Plain)), calendar.ErrNotFound)

	// Sharing and a role are changed, since when is not; all others' plans are made anew.
	before := changesOf(t, s, "r", "ada", "bea", "cy")
	plain.Shares, plain.Role = true, calendar.Editor
	later := plain
	later.Since = noon.Add(time.Hour)
	must(t, s.PutMember(ctx, later))
	is(plain, editor, keeper)
	for i, n := range changesOf(t, s, "r", "ada", "bea", "cy") {
		if n <= before[i] {
			t.Errorf("changes %d: still %d", i, n)
		}
	}

	// One thing at a time.
	must(t, s.PutShares(ctx, "ridge", "ada", false))
	must(t, s.PutRole(ctx, "ridge", "ada", calendar.Plain))
	plain.Shares, plain.Role = false, calendar.Plain
	is(plain, editor, keeper)
	must(t, s.PutRole(ctx, "ridge", "ada", calendar.Editor))
	must(t, s.PutShares(ctx, "ridge", "ada", true))
	plain.Shares, plain.Role = true, calendar.Editor
	is(plain, editor, keeper)
	want(t, s.PutRole(ctx, "ridge", "ada", "owner"), calendar.ErrInvalid)
	want(t, s.PutShares(ctx, "vale", "cy", true), calendar.ErrNotFound)
	want(t, s.PutRole(ctx, "ridge", "cy", calendar.Plain), calendar.ErrConflict)

	// The last keeper stays one.
	less := keeper
	less.Role = calendar.Editor
	want(t, s.PutMember(ctx, less), calendar.ErrConflict)
	want(t, s.EndMember(ctx, "ridge", "cy"), calendar.ErrConflict)
	is(plain, editor, keeper)
	editor.Role = calendar.Keeper
	must(t, s.PutMember(ctx, editor))
	must(t, s.PutMember(ctx, less))
	must(t, s.PutMember(ctx, keeper))
	must(t, s.EndMember(ctx, "ridge", "bea"))
	want(t, s.EndMember(ctx, "ridge", "bea"), calendar.ErrNotFound)
	want(t, s.EndMember(ctx, "ridge", "cy"), calendar.ErrConflict)
	is(plain, keeper)
	mine, err = s.Memberships(ctx, "ada")
	must(t, err)
	equal(t, len(mine), 2)
}

// keepersAtOnce: of keepers who all go at the same time, one stays.
func keepersAtOnce(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutClub(ctx, Club("ridge")))
	ids := []string{"ada", "bea", "cy", "di"}
	for _, id := range ids {
		must(t, s.PutGrower(ctx, Grower(id)))
		must(t, s.PutMember(ctx, Member("ridge", id, calendar.Keeper)))
	}
	errs := make([]error, len(ids))
	var wait sync.WaitGroup
	for i, id := range ids {
		wait.Go(func() {
			if errs[i] = s.PutRole(ctx, "ridge", id, calendar.Plain); i%2 == 0 {
				errs[i] = s.EndMember(ctx, "ridge", id)
			}
		})
	}
	wait.Wait()
	members, err := s.Members(ctx, "ridge")
	must(t, err)
	keepers := 0
	for _, m := range members {
		if m.Role == calendar.Keeper {
			keepers++
		}
	}
	if keepers != 1 {
		t.Errorf("%d keepers are left: %v, %v", keepers, members, errs)
	}
	conflicts := 0
	for _, err := range errs {
		if errors.Is(err, calendar.ErrConflict) {
			conflicts++
		} else {
			must(t, err)
		}
	}
	equal(t, conflicts, 1)
}

// keeperLeaves: nobody is kept in the service by a club.
func keeperLeaves(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	for _, id := range []string{"ada", "bea", "cy", "di"} {
		must(t, s.PutGrower(ctx, Grower(id)))
	}
	must(t, s.PutClub(ctx, Club("ridge")))
	first, second := Member("ridge", "cy", calendar.Editor), Member("ridge", "di", calendar.Editor)
	second.Since = noon.Add(-time.Hour)
	early := Member("ridge", "bea", calendar.Plain)
	early.Since = noon.Add(-2 * time.Hour)
	for _, m := range []calendar.Member{Member("ridge", "ada", calendar.Keeper), early, first, second} {
		must(t, s.PutMember(ctx, m))
	}
	before := changesOf(t, s, "", "bea", "cy", "di")
	must(t, s.DeleteGrower(ctx, "ada", noon))
	second.Role = calendar.Keeper // an editor, and the one who came first
	got, err := s.Members(ctx, "ridge")
	must(t, err)
	equal(t, got, []calendar.Member{early, first, second})
	for i, n := range changesOf(t, s, "", "bea", "cy", "di") {
		equal(t, n, before[i]+1)
	}
	for _, id := range []string{"di", "cy", "bea"} {
		must(t, s.DeleteGrower(ctx, id, noon))
	}
	_, err = s.Club(ctx, "ridge") // what it publishes stays
	must(t, err)
}

func changesOf(t *testing.T, s calendar.Store, region string, growers ...string) (out []int) {
	t.Helper()
	for _, g := range growers {
		n, err := s.Changes(context.Background(), g)
		must(t, err)
		out = append(out, n)
	}
	if region == "" {
		return out
	}
	n, err := s.RegionChanges(context.Background(), region)
	must(t, err)
	return append(out, n)
}

func clubTickets(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutClub(ctx, Club("ridge")))
	must(t, s.PutGrower(ctx, Grower("ada")))
	must(t, s.PutMember(ctx, Member("ridge", "ada", calendar.Keeper)))
	until := noon.Add(time.Hour)
	invite := func(hash string, role calendar.Role) calendar.Ticket {
		k := calendar.Ticket{Hash: hash, Mail: "x@example.org", Expires: until, Club: "ridge", Role: role}
		must(t, s.PutTicket(ctx, k))
		return k
	}
	k := invite("1", calendar.Editor)
	got, err := s.Ticket(ctx, "1", noon)
	must(t, err)
	equal(t, got, k)
	for _, bad := range []calendar.Ticket{
		{Hash: "b", Expires: until, Club: "ridge"},
		{Hash: "b", Expires: until, Club: "ridge", Role: "owner"},
		{Hash: "b", Expires: until, Club: "ridge", Role: calendar.Plain, Grower: "ada"},
	} {
		want(t, s.PutTicket(ctx, bad), calendar.ErrInvalid)
	}
	want(t, s.PutTicket(ctx, calendar.Ticket{Hash: "b", Expires: until, Club: "nowhere", Role: calendar.Plain}), calendar.ErrNotFound)

	// One who is in the service joins the club, once.
	must(t, s.PutGrower(ctx, Grower("bea")))
	want(t, s.JoinClub(ctx, "1", "nobody", noon), calendar.ErrNotFound)
	want(t, s.JoinClub(ctx, "1", "bea", until), calendar.ErrGone)
	must(t, s.JoinClub(ctx, "1", "bea", noon))
	want(t, s.JoinClub(ctx, "1", "bea", noon), calendar.ErrGone)
	// Nobody becomes less by an invitation, and may become more.
	invite("2", calendar.Plain)
	must(t, s.JoinClub(ctx, "2", "ada", noon.Add(time.Minute)))
	invite("3", calendar.Keeper)
	must(t, s.JoinClub(ctx, "3", "bea", noon.Add(time.Minute)))
	// An invitation into the service is none into a club.
	must(t, s.PutTicket(ctx, calendar.Ticket{Hash: "4", Expires: until}))
	want(t, s.JoinClub(ctx, "4", "bea", noon), calendar.ErrGone)
	// One who is not joins both, or neither.
	invite("5", calendar.Plain)
	must(t, s.Join(ctx, "5", Grower("cy"), Account("cy"), noon))
	want(t, s.Join(ctx, "5", Grower("di"), Account("di"), noon), calendar.ErrGone)
	members, err := s.Members(ctx, "ridge")
	must(t, err)
	equal(t, members, []calendar.Member{
		Member("ridge", "ada", calendar.Keeper), Member("ridge", "bea", calendar.Keeper), Member("ridge", "cy", calendar.Plain),
	})
}
