package storetest

import (
	"context"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

// Bands returns the one band of a region, whose record has so many days.
func Bands(days int) []calendar.Band { return []calendar.Band{Band("floor", days)} }

// Band returns a band; one of no days has no record.
func Band(id string, days int) calendar.Band {
	p := Place("", id, days)
	if days == 0 {
		p.Weather.Record = nil
	}
	return calendar.Band{ID: id, Name: "Band " + id, Site: p.Site, Weather: p.Weather}
}

func regions(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "1", 20)))
	region := func(id string, groups ...string) calendar.Region {
		return calendar.Region{ID: id, Name: "Region " + id, Bands: Bands(300), Groups: groups}
	}
	b, a := region("b", "deciduous", "spruce-fir"), region("a")
	b.Species = []string{"Acer campestre", "Larix decidua"}
	must(t, s.PutRegion(ctx, b))
	must(t, s.PutRegion(ctx, a))
	b.Name, b.Bands[0].Weather.Record = "renamed", nil
	must(t, s.PutRegion(ctx, b))
	got, err := s.Regions(ctx)
	must(t, err)
	bare := func(r calendar.Region) calendar.Region { r.Bands = nil; return r }
	equal(t, got, []calendar.Region{bare(a), bare(b)})
	for _, r := range []calendar.Region{a, b} {
		one, err := s.Region(ctx, r.ID)
		must(t, err)
		equal(t, one, r)
	}
	_, err = s.Region(ctx, "c")
	want(t, err, calendar.ErrNotFound)

	list, err := s.Sites(ctx)
	must(t, err)
	equal(t, len(list), 1) // a region is no one's place
	p, err := s.Place(ctx, "a", "1")
	must(t, err)
	equal(t, p, Place("a", "1", 20))
}

// regionBands lets bands of a region come, change places, change their weather and go.
func regionBands(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	floor, slope, ridge := Band("floor", 400), Band("slope", 0), Band("ridge", 800)
	slope.Site.Elevation, ridge.Site.Elevation = 900, 1400
	for _, bands := range [][]calendar.Band{
		{floor}, {floor, slope}, {ridge, floor, slope}, {slope, ridge}, {ridge}, {floor, slope, ridge},
	} {
		r := calendar.Region{ID: "r", Name: "R", Bands: bands}
		must(t, s.PutRegion(ctx, r))
		got, err := s.Region(ctx, "r")
		must(t, err)
		equal(t, got, r)
	}
	was, err := s.Region(ctx, "r")
	must(t, err)
	for name, bands := range map[string][]calendar.Band{
		"none": nil, "two of an id": {floor, floor}, "an id that is a path": {{ID: "print", Name: "P", Site: floor.Site}},
		"no name": {{ID: "x", Site: floor.Site}}, "over the equator": {floor, {ID: "x", Name: "X", Site: southOf(floor)}},
	} {
		if err := s.PutRegion(ctx, calendar.Region{ID: "r", Name: "other", Bands: bands}); err == nil {
			t.Errorf("%s: kept", name)
		} else {
			want(t, err, calendar.ErrInvalid)
		}
	}
	got, err := s.Region(ctx, "r")
	must(t, err)
	equal(t, got, was)
}

// regionEnds lets a region go with what was published of it; another of the same id is
// another.
func regionEnds(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	r := calendar.Region{ID: "r", Name: "R", Bands: []calendar.Band{Band("floor", 400), Band("slope", 0)}}
	must(t, s.PutRegion(ctx, r))
	before, err := s.RegionChanges(ctx, "r")
	must(t, err)
	at := time.Date(2026, 4, 1, 8, 0, 0, 0, time.UTC)
	must(t, s.PutEdition(ctx, "region r", calendar.Edition{Number: 7, Day: 20000, Starts: at, Ends: at, Bodies: []calendar.Body{{Name: "page", Plain: []byte("x"), Packed: []byte("y")}}}, 0))
	must(t, s.EndRegion(ctx, "r"))
	_, err = s.Region(ctx, "r")
	want(t, err, calendar.ErrNotFound)
	_, err = s.Edition(ctx, "region r")
	want(t, err, calendar.ErrNotFound)
	want(t, s.EndRegion(ctx, "r"), calendar.ErrNotFound)
	must(t, s.PutRegion(ctx, r))
	after, err := s.RegionChanges(ctx, "r")
	must(t, err)
	if after <= before+1 {
		t.Errorf("changes %d and then %d: what was on a shelf passes for the new region", before, after)
	}
}

func southOf(b calendar.Band) climate.Site {
	site := b.Site
	site.Lat = -10
	return site
}
