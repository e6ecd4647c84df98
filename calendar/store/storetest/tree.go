package storetest

import (
	"context"
	"math"
	"slices"
	"testing"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

func share(v float64) *float64 { return &v }

// Log returns a log by day that has every kind of entry.
func Log() []calendar.Entry {
	day := climate.NewDate(2025, 3, 20)
	return []calendar.Entry{
		{On: day, Did: "collect", Note: "north bank,\nthin soil"},
		{On: day + 10, NotYet: phenology.BudSwell},
		{On: day + 23, Saw: phenology.BudSwell},
		{On: day + 200, Judged: &calendar.Judgement{}},
		{On: day + 201, Judged: &calendar.Judgement{Stage: calendar.StageBaseWork, Strength: calendar.Strong}},
		{On: day + 370, Did: "repot", FieldSoilLeft: share(0.3)},
		{On: day + 370, Did: "root-flare", FieldSoilLeft: share(0)},
	}
}

func trees(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	for _, g := range []string{"a", "b"} {
		must(t, s.PutGrower(ctx, Grower(g)))
		must(t, s.PutPlace(ctx, Place(g, "1", 5)))
	}
	z, b, other := Tree("a", "1", "z"), Tree("a", "1", "b"), Tree("b", "1", "z")
	z.Log, z.FieldSoil, b.FieldSoil = Log(), share(1), share(0)
	for _, k := range []calendar.Kept{z, b, other} {
		must(t, s.PutTree(ctx, k))
	}
	got, err := s.Trees(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Kept{z, b})

	must(t, s.PutPlace(ctx, Place("a", "2", 5)))
	z.Place, z.Name, z.FieldSoil, z.Container = "2", "renamed", nil, calendar.Container{}
	must(t, s.PutTree(ctx, z))
	got, err = s.Trees(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Kept{z, b})
	got, err = s.Trees(ctx, "b")
	must(t, err)
	equal(t, got, []calendar.Kept{other})

	want(t, s.PutTree(ctx, Tree("a", "nowhere", "y")), calendar.ErrNotFound)
	want(t, s.PutTree(ctx, Tree("nobody", "1", "y")), calendar.ErrNotFound)
	want(t, s.AddEntry(ctx, "a", "unknown", Log()[0]), calendar.ErrNotFound)
	want(t, s.AddEntry(ctx, "b", "b", Log()[0]), calendar.ErrNotFound)
}

func log(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "1", 5)))
	whole := Log()
	k := Tree("a", "1", "x")
	kept := func() []calendar.Entry {
		t.Helper()
		got, err := s.Trees(ctx, "a")
		must(t, err)
		return got[0].Log
	}
	must(t, s.PutTree(ctx, k))
	equal(t, len(kept()), 0)

	// Entries that come late and out of order take their days' places.
	k.Log = whole[3:6]
	must(t, s.PutTree(ctx, k))
	must(t, s.AddEntry(ctx, "a", "x", whole[6]))
	must(t, s.AddEntry(ctx, "a", "x", whole[0]))
	must(t, s.AddEntry(ctx, "a", "x", whole[0]))
	k.Log = whole[1:3]
	slices.Reverse(k.Log)
	must(t, s.PutTree(ctx, k))
	equal(t, kept(), Log())

	// A second import adds nothing, and leaving entries out takes none away.
	k.Log = Log()
	must(t, s.PutTree(ctx, k))
	k.Log = nil
	must(t, s.PutTree(ctx, k))
	equal(t, kept(), Log())

	// All or nothing: an entry that cannot be kept keeps the others and the tree as they were.
	k.Name = "not this"
	k.Log = []calendar.Entry{{On: whole[0].On + 1, Did: "feed"}, {On: climate.NoDate, Did: "feed"}}
	want(t, s.PutTree(ctx, k), calendar.ErrInvalid)
	equal(t, kept(), Log())
	got, err := s.Trees(ctx, "a")
	must(t, err)
	equal(t, got[0].Name, "Tree x")
}

func invalid(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "1", 5)))
	must(t, s.PutTree(ctx, Tree("a", "1", "x")))
	place := func(change func(*calendar.Place)) error {
		p := Place("a", "1", 5)
		change(&p)
		return s.PutPlace(ctx, p)
	}
	tree := func(change func(*calendar.Kept)) error {
		k := Tree("a", "1", "x")
		change(&k)
		return s.PutTree(ctx, k)
	}
	entry := func(e calendar.Entry) error { return s.AddEntry(ctx, "a", "x", e) }
	today := climate.NewDate(2026, 4, 12)
	for name, err := range map[string]error{
		"grower without an id": s.PutGrower(ctx, calendar.Grower{Name: "x"}),
		"name not UTF-8":       s.PutGrower(ctx, calendar.Grower{ID: "x", Name: "\xff"}),
		"name with a zero":     s.PutGrower(ctx, calendar.Grower{ID: "x", Name: "a\x00b"}),
		"latitude":             place(func(p *calendar.Place) { p.Site.Lat = math.NaN() }),
		"zone":                 place(func(p *calendar.Place) { p.Site.Zone = "Nowhere/Here" }),
		"normals":              place(func(p *calendar.Place) { p.Weather.Normals = &climate.Normals{Tmin: [12]float64{math.NaN()}} }),
		"frost dates":          place(func(p *calendar.Place) { p.Weather.Frost = &climate.FrostNormal{} }),
		"record before 1700":   place(func(p *calendar.Place) { p.Weather.Record.First = climate.NewDate(1699, 12, 31) }),
		"days of no date":      place(func(p *calendar.Place) { p.Weather.Record.First = climate.NoDate }),
		"origin":               place(func(p *calendar.Place) { p.Weather.Record.Days[2].PrcpOrigin = 9 }),
		"litres":               tree(func(k *calendar.Kept) { k.Container.Litres = math.Inf(1) }),
		"field soil":           tree(func(k *calendar.Kept) { k.FieldSoil = share(math.NaN()) }),
		"tree without an id":   tree(func(k *calendar.Kept) { k.ID = "" }),
		"entry of no day":      entry(calendar.Entry{On: climate.NoDate, Did: "feed"}),
		"entry not UTF-8":      entry(calendar.Entry{On: today, Did: "feed", Note: "\xff"}),
		"entry's field soil":   entry(calendar.Entry{On: today, Did: "repot", FieldSoilLeft: share(math.NaN())}),
		"region's groups":      s.PutRegion(ctx, calendar.Region{ID: "r", Bands: Bands(0), Groups: []string{"\xff"}}),
		"feed's filter": s.PutFeed(ctx, calendar.Feed{
			ID: "f", Grower: "a", TokenHash: "h", Created: noon, Filter: calendar.Filter{Works: []string{"\xff"}},
		}),
		"feed without a secret": s.PutFeed(ctx, calendar.Feed{ID: "f", Grower: "a", Created: noon}),
		"job without a name":    s.Ran(ctx, "", noon),
	} {
		t.Run(name, func(t *testing.T) { want(t, err, calendar.ErrInvalid) })
	}
	got, err := s.Places(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Place{Place("a", "1", 5)})
	kept, err := s.Trees(ctx, "a")
	must(t, err)
	equal(t, kept, []calendar.Kept{Tree("a", "1", "x")})
}
