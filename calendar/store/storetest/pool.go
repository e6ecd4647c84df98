package storetest

import (
	"context"
	"math"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// Telling returns what a sighting of bud break tells others.
func Telling(grower, tree string, on climate.Date) calendar.Telling {
	return calendar.Telling{Tree: tree, Pooled: phenology.Pooled{
		Grower: grower, Species: "Acer campestre", Phase: phenology.BudBreak, On: on, Year: 2026, Late: -3.123456789012345, Variance: 0.5,
		Lat: 50.1, Lon: -8.7, Elevation: 150,
	}}
}

func invitations(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("ada")))
	must(t, s.PutGrower(ctx, Grower("bea")))
	must(t, s.PutClub(ctx, Club("ridge")))
	for _, id := range []string{"ada", "bea"} {
		must(t, s.PutMember(ctx, Member("ridge", id, calendar.Keeper)))
	}
	invite := func(hash, by string, life time.Duration) calendar.Ticket {
		k := calendar.Ticket{Hash: hash, Expires: noon.Add(life), Club: "ridge", Role: calendar.Keeper, By: by}
		must(t, s.PutTicket(ctx, k))
		return k
	}
	is := func(want ...calendar.Ticket) {
		t.Helper()
		got, err := s.Invitations(ctx, "ridge", noon)
		must(t, err)
		equal(t, got, want)
	}
	invite("old", "ada", 0)
	late, soon, own := invite("late", "ada", 2*time.Hour), invite("soon", "ada", time.Hour), invite("own", "bea", 3*time.Hour)
	must(t, s.PutTicket(ctx, calendar.Ticket{Hash: "service", Expires: noon.Add(time.Hour)}))
	is(soon, late, own)
	must(t, s.EndInvitation(ctx, "other", "late"))
	must(t, s.EndInvitation(ctx, "ridge", "service"))
	is(soon, late, own)
	must(t, s.EndInvitation(ctx, "ridge", "soon"))
	is(late, own)
	_, err := s.Ticket(ctx, "service", noon)
	must(t, err)

	// What a keeper gave away is worth nothing once they are none.
	must(t, s.PutMember(ctx, Member("ridge", "ada", calendar.Editor)))
	is(own)
	must(t, s.PutMember(ctx, Member("ridge", "ada", calendar.Keeper)))
	invite("again", "ada", time.Hour)
	must(t, s.EndMember(ctx, "ridge", "ada"))
	is(own)
	must(t, s.DeleteGrower(ctx, "bea", noon))
	got, err := s.Invitations(ctx, "ridge", noon)
	must(t, err)
	equal(t, len(got), 0)
}

// sharers are three members, of whom ada and bea share, and cy, who shares in another
// club alone.
func sharers(t *testing.T, s calendar.Store) {
	t.Helper()
	ctx := context.Background()
	must(t, s.PutClub(ctx, Club("ridge")))
	must(t, s.PutClub(ctx, Club("vale")))
	must(t, s.PutRegion(ctx, calendar.Region{ID: "r", Name: "R", Bands: Bands(0), Club: "ridge"}))
	for _, id := range []string{"ada", "bea", "cy", "di"} {
		Settle(t, s, id)
		m := Member("ridge", id, calendar.Keeper)
		m.Shares = id == "ada" || id == "bea"
		must(t, s.PutMember(ctx, m))
	}
	m := Member("vale", "cy", calendar.Keeper)
	m.Shares = true
	must(t, s.PutMember(ctx, m))
}

func pools(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	sharers(t, s)
	day := climate.NewDate(2026, 4, 2)
	of := func(grower string) []calendar.Telling {
		return []calendar.Telling{Telling(grower, "maple", day), Telling(grower, "other", day+1)}
	}
	tell := func(grower string, k []calendar.Telling, want bool) {
		t.Helper()
		changed, err := s.PutTellings(ctx, grower, k)
		must(t, err)
		equal(t, changed, want)
	}
	learned := func(grower string, want ...phenology.Pooled) {
		t.Helper()
		got, err := s.Learned(ctx, grower)
		must(t, err)
		equal(t, got, want)
	}
	moved := func(do func(), want ...int) { // of ada, bea, cy, di and the region
		t.Helper()
		before := changesOf(t, s, "r", "ada", "bea", "cy", "di")
		do()
		after := changesOf(t, s, "r", "ada", "bea", "cy", "di")
		for i := range after {
			after[i] -= before[i]
		}
		equal(t, after, want)
	}
	ada, bea := of("ada"), of("bea")
	moved(func() { tell("ada", ada, true) }, 0, 1, 1, 1, 1)
	moved(func() { tell("ada", ada, false) }, 0, 0, 0, 0, 0)
	tell("bea", bea, true)
	moved(func() { tell("di", of("di"), false) }, 0, 0, 0, 0, 0) // shares nothing, so nothing is kept
	tell("cy", of("cy"), true)                                   // in another club
	learned("ada", bea[0].Pooled, bea[1].Pooled)
	learned("di", ada[0].Pooled, ada[1].Pooled, bea[0].Pooled, bea[1].Pooled)
	pool, err := s.Pool(ctx, "ridge")
	must(t, err)
	equal(t, len(pool), 4)
	equal(t, pool[0], calendar.PooledEntry{Pooled: ada[0].Pooled})
	pool, err = s.Pool(ctx, "nowhere")
	must(t, err)
	equal(t, len(pool), 0)

	// What moved by less than half a day is no news.
	same := of("ada")
	same[0].Late += 0.4
	same[1].Variance += 0.2
	moved(func() { tell("ada", same, false) }, 0, 0, 0, 0, 0)
	learned("bea", ada[0].Pooled, ada[1].Pooled)
	// Less is told, or otherwise.
	ada[0].Late = 4
	moved(func() { tell("ada", ada[:1], true) }, 0, 1, 1, 1, 1)
	learned("bea", ada[0].Pooled)
	for _, bad := range []func(*calendar.Telling){
		func(k *calendar.Telling) { k.Tree = "" },
		func(k *calendar.Telling) { k.Late = math.NaN() },
		func(k *calendar.Telling) { k.On = climate.NoDate },
		func(k *calendar.Telling) { k.Phase = phenology.LeafFall },
	} {
		k := of("ada")
		bad(&k[1])
		_, err := s.PutTellings(ctx, "ada", k)
		want(t, err, calendar.ErrInvalid)
	}
	learned("bea", ada[0].Pooled)

	// What is taken back is forgotten at once, as is all of one who shares no more, goes or leaves.
	seen := calendar.Entry{On: day, Saw: phenology.BudBreak}
	must(t, s.AddEntry(ctx, "ada", "maple", seen))
	moved(func() { must(t, s.Withdraw(ctx, "ada", "maple", seen, noon)) }, 1, 1, 1, 1, 1)
	learned("bea")
	m := Member("ridge", "bea", calendar.Keeper)
	moved(func() { must(t, s.PutMember(ctx, m)) }, 1, 1, 1, 1, 1)
	learned("ada")
	m.Shares = true
	must(t, s.PutMember(ctx, m))
	learned("ada") // nothing of before comes back by itself
	tell("bea", bea, true)
	must(t, s.EndMember(ctx, "ridge", "bea"))
	learned("ada")
	must(t, s.PutMember(ctx, m))
	tell("bea", bea, true)
	learned("ada", bea[0].Pooled, bea[1].Pooled)
	must(t, s.DeleteGrower(ctx, "bea", noon))
	learned("ada")
	// One who shares in one club shares nothing in another.
	learned("di")
}

func asides(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	sharers(t, s)
	day := climate.NewDate(2026, 4, 2)
	odd, good := Telling("bea", "maple", day), Telling("bea", "maple", day+1)
	_, err := s.PutTellings(ctx, "bea", []calendar.Telling{odd, good, Telling("bea", "other", day)})
	must(t, err)
	a := calendar.Aside{Club: "ridge", Grower: "bea", Species: odd.Species, Phase: odd.Phase, On: day, Keeper: "di", At: noon}
	before := changesOf(t, s, "r", "ada", "bea", "cy")
	must(t, s.SetAside(ctx, a))
	after := changesOf(t, s, "r", "ada", "bea", "cy")
	equal(t, after, []int{before[0] + 1, before[1], before[2] + 1, before[3] + 1})
	learned := func(want ...phenology.Pooled) {
		t.Helper()
		got, err := s.Learned(ctx, "ada")
		must(t, err)
		equal(t, got, want)
	}
	learned(good.Pooled)
	pool, err := s.Pool(ctx, "ridge")
	must(t, err)
	equal(t, []bool{pool[0].Aside, pool[1].Aside, pool[2].Aside}, []bool{true, true, false})

	// It is undone, and done again; all of it stays on record.
	back := a
	back.Back, back.At = true, noon.Add(time.Minute)
	must(t, s.SetAside(ctx, back))
	learned(odd.Pooled, odd.Pooled, good.Pooled)
	again := a
	again.At = noon.Add(time.Hour)
	must(t, s.SetAside(ctx, again))
	learned(good.Pooled)
	got, err := s.Asides(ctx, "ridge")
	must(t, err)
	equal(t, got, []calendar.Aside{again, back, a})

	other := a
	other.On = day + 9
	want(t, s.SetAside(ctx, other), calendar.ErrNotFound)
	other = a
	other.Club = "vale"
	want(t, s.SetAside(ctx, other), calendar.ErrNotFound)
	other.At = time.Time{}
	want(t, s.SetAside(ctx, other), calendar.ErrInvalid)

	// The keeper leaves, and their name with them.
	must(t, s.DeleteGrower(ctx, "di", noon))
	got, err = s.Asides(ctx, "ridge")
	must(t, err)
	equal(t, []string{got[0].Keeper, got[1].Keeper, got[2].Keeper}, []string{"", "", ""})
	learned(good.Pooled)
	must(t, s.DeleteGrower(ctx, "bea", noon))
	got, err = s.Asides(ctx, "ridge")
	must(t, err)
	equal(t, len(got), 0)
}
