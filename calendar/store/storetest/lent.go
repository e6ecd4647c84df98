package storetest

import (
	"context"
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

// lendings lets editors lend the weather of places to bands, and goes through all by which
// that ends: the band then knows that it had one, and nobody's.
func lendings(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	for _, id := range []string{"ada", "bea", "cy"} {
		must(t, s.PutGrower(ctx, Grower(id)))
		must(t, s.PutPlace(ctx, Place(id, "bench", 20)))
	}
	must(t, s.PutClub(ctx, Club("ridge")))
	must(t, s.PutClub(ctx, Club("vale")))
	for _, m := range []calendar.Member{
		Member("ridge", "cy", calendar.Keeper), Member("ridge", "bea", calendar.Editor), Member("ridge", "ada", calendar.Plain), Member("vale", "bea", calendar.Keeper), Member("vale", "cy", calendar.Keeper),
	} {
		must(t, s.PutMember(ctx, m))
	}
	lent := func(grower, place string) *calendar.Lent { return &calendar.Lent{Grower: grower, Place: place} }
	gone := &calendar.Lent{}
	put := func(region, club string, places ...*calendar.Lent) {
		t.Helper()
		r := calendar.Region{ID: region, Name: "R", Club: club}
		for i, l := range places {
			b := Band([]string{"floor", "slope", "ridge"}[i], 0)
			b.Lent = l
			r.Bands = append(r.Bands, b)
		}
		must(t, s.PutRegion(ctx, r))
	}
	is := func(what, region string, places ...*calendar.Lent) {
		t.Helper()
		r, err := s.Region(ctx, region)
		must(t, err)
		got := make([]*calendar.Lent, len(r.Bands))
		for i := range r.Bands {
			got[i] = r.Bands[i].Lent
		}
		t.Log(what)
		equal(t, got, places)
	}
	changes := func(region string, more bool, what string, do func()) {
		t.Helper()
		before := changesOf(t, s, region)
		do()
		if after := changesOf(t, s, region); more != (after[0] > before[0]) {
			t.Errorf("%s: changes %v and then %v", what, before, after)
		}
	}

	put("r", "ridge", nil, lent("bea", "bench"), lent("cy", "bench"))
	put("v", "vale", lent("bea", "bench"), lent("cy", "bench"))
	put("old", "ridge", lent("bea", "bench"))
	is("as it was put", "r", nil, lent("bea", "bench"), lent("cy", "bench"))
	changes("r", true, "a place that was put", func() { must(t, s.PutPlace(ctx, Place("bea", "bench", 30))) })
	changes("r", true, "sources", func() {
		must(t, s.PutWeatherSources(ctx, "bea", "bench", []calendar.WeatherSource{{Kind: calendar.SourceOpenMeteo}}))
	})
	changes("r", false, "a place of one who lends none", func() { must(t, s.PutPlace(ctx, Place("ada", "bench", 30))) })
	changes("r", false, "readings", func() {
		_, err := s.PutReadings(ctx, "bea", "bench", said("model", climate.Analysis, second, 1, 2, 3), false)
		must(t, err)
	})

	put("w", "ridge", lent("ada", "bench"), lent("bea", "nosuch"), lent("nobody", "bench"))
	is("not an editor's, no such place, no such grower", "w", gone, gone, gone)
	put("w", "vale", lent("bea", "bench"))
	put("w", "", lent("bea", "bench"))
	is("of no club", "w", gone)
	put("w", "ridge", nil)
	is("none any more", "w", (*calendar.Lent)(nil))

	changes("r", true, "who edits no more", func() { must(t, s.PutRole(ctx, "ridge", "bea", calendar.Plain)) })
	is("edits no more", "r", nil, gone, lent("cy", "bench"))
	is("edits another club's", "v", lent("bea", "bench"), lent("cy", "bench"))
	must(t, s.PutRole(ctx, "ridge", "bea", calendar.Editor))
	is("edits again", "r", nil, gone, lent("cy", "bench"))
	put("r", "ridge", gone, lent("bea", "bench"), lent("cy", "bench"))
	is("once more", "r", gone, lent("bea", "bench"), lent("cy", "bench"))
	must(t, s.PutRole(ctx, "ridge", "bea", calendar.Keeper))
	is("may more", "r", gone, lent("bea", "bench"), lent("cy", "bench"))
	changes("r", true, "who left the club", func() { must(t, s.EndMember(ctx, "ridge", "bea")) })
	is("left the club", "r", gone, gone, lent("cy", "bench"))
	changes("v", true, "who left the service", func() { must(t, s.DeleteGrower(ctx, "bea", noon)) })
	is("left the service", "v", gone, lent("cy", "bench"))
	must(t, s.PutGrower(ctx, Grower("bea")))
	must(t, s.PutPlace(ctx, Place("bea", "bench", 20)))
	is("another of the name", "v", gone, lent("cy", "bench"))
	must(t, s.EndRegion(ctx, "r"))
	put("r", "ridge", nil, nil)
	is("ended, and another of the name", "r", nil, nil)
	must(t, s.DeleteGrower(ctx, "cy", noon))
	is("all left", "v", gone, gone)
}
