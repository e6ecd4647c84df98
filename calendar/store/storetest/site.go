package storetest

import (
	"context"
	"fmt"
	"math"
	"testing"

	"budswell/calendar"
	"budswell/climate"
)

func places(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutGrower(ctx, Grower("b")))
	a2, a1, b1 := Place("a", "2", 400), Place("a", "1", 30), Place("b", "1", 10)
	for _, p := range []calendar.Place{a2, a1, b1} {
		must(t, s.PutPlace(ctx, p))
	}
	got, err := s.Places(ctx, "a")
	must(t, err)
	equal(t, got, []calendar.Place{a1, a2})

	bare := []calendar.Place{a1, a2, b1}
	for i := range bare {
		bare[i].Weather = climate.Weather{}
	}
	got, err = s.Sites(ctx)
	must(t, err)
	equal(t, got, bare)

	a1.Site.Zone, a1.Weather.Seed = "Australia/Lord_Howe", 0
	must(t, s.PutPlace(ctx, a1))
	one, err := s.Place(ctx, "a", "1")
	must(t, err)
	equal(t, one, a1)
	one, err = s.Place(ctx, "b", "1")
	must(t, err)
	equal(t, one, b1)
	_, err = s.Place(ctx, "b", "2")
	want(t, err, calendar.ErrNotFound)
	want(t, s.PutPlace(ctx, Place("nobody", "1", 10)), calendar.ErrNotFound)
	got, err = s.Places(ctx, "nobody")
	must(t, err)
	equal(t, len(got), 0)
}

// weather puts every kind of weather through the store and wants it back to the bit.
func weather(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	sd := [12]float64{0.1, 1.0 / 3, 2, 3, 4, 5, 6, 7, 8, 9, 10, 20}
	normals := &climate.Normals{TminSD: &sd}
	for m := range 12 {
		normals.Tmin[m], normals.Tmax[m] = float64(m)/3-5, float64(m)/7+5
	}
	odd := &climate.Record{Source: "odd <values>", First: climate.NewDate(2023, 12, 30), Days: []climate.Day{
		{Tmin: math.NaN(), Tmax: math.Inf(1), Prcp: math.Copysign(0, -1)},
		{Tmin: math.SmallestNonzeroFloat64, Tmax: 0.1 + 0.2, TmaxOrigin: climate.Typical},
		{Tmin: -12.3, TminOrigin: climate.Interpolated, TmaxOrigin: climate.Predicted, PrcpOrigin: climate.Measured},
	}}
	frost := &climate.FrostNormal{
		Last: climate.MonthDay{Month: 2, Day: 29}, First: climate.MonthDay{Month: 10, Day: 3}, Mean: 9.1, Range: 18.3,
	}
	for i, w := range []climate.Weather{
		{},
		{Normals: normals},
		{Normals: &climate.Normals{}, Seed: math.MaxInt64 + 1},
		{Frost: frost},
		{Record: odd},
		{Record: odd, Forecast: Place("a", "f", 16).Weather.Record, Normals: normals, Frost: frost, Seed: 7},
		{Record: &climate.Record{}},
		{Record: &climate.Record{Source: "nothing yet", First: climate.NoDate}},
		Place("a", "long", 14000).Weather,
		{Record: &climate.Record{First: climate.NewDate(1969, 12, 31), Days: make([]climate.Day, 3)}},
		{Record: &climate.Record{First: climate.NewDate(2024, 1, 1), Days: make([]climate.Day, 366)}},
	} {
		p := Place("a", fmt.Sprintf("%02d", i), 0)
		p.Weather = w
		must(t, s.PutPlace(ctx, p))
		got, err := s.Place(ctx, "a", p.ID)
		must(t, err)
		equal(t, got, p)
	}
}

// weatherChanged lets a record grow, change, shrink and go.
func weatherChanged(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	whole := Place("a", "1", 1000).Weather.Record
	changed := &climate.Record{Source: "better", First: whole.First, Days: append([]climate.Day(nil), whole.Days...)}
	changed.Days[500].Tmin -= 0.1
	for _, r := range []*climate.Record{
		whole.Until(whole.First + 900), whole, changed, whole.Until(whole.First + 100),
		{Source: "earlier", First: whole.First - 400, Days: whole.Days},
		nil, whole,
	} {
		p := Place("a", "1", 0)
		p.Weather.Record = r
		must(t, s.PutPlace(ctx, p))
		got, err := s.Place(ctx, "a", "1")
		must(t, err)
		equal(t, got, p)
	}
}
