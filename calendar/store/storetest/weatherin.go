package storetest

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/climate"
)

func number(v float64) *float64 { return &v }

func weatherSources(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	for _, g := range []string{"b", "a"} {
		must(t, s.PutGrower(ctx, Grower(g)))
		must(t, s.PutPlace(ctx, Place(g, "1", 10)))
	}
	folder := calendar.WeatherSource{Grower: "b", Place: "1", Kind: calendar.SourceFolder, At: "/var/weather"}
	station := calendar.WeatherSource{Grower: "a", Place: "1", Kind: calendar.SourceStation, At: "https://weather.example/x.dly", Elevation: number(512.5)}
	service := calendar.WeatherSource{Grower: "a", Place: "1", Kind: calendar.SourceOpenMeteo}
	must(t, s.PutWeatherSources(ctx, "b", "1", []calendar.WeatherSource{folder}))
	must(t, s.PutWeatherSources(ctx, "a", "1", []calendar.WeatherSource{station, service}))
	of, err := s.WeatherSourcesOf(ctx, "a")
	must(t, err)
	equal(t, len(of), 2)
	none, err := s.WeatherSourcesOf(ctx, "nobody")
	must(t, err)
	equal(t, len(none), 0)
	got, err := s.WeatherSources(ctx)
	must(t, err)
	equal(t, of, got[:2])
	must(t, err)
	equal(t, got, []calendar.WeatherSource{service, station, folder})

	before, err := s.Changes(ctx, "a")
	must(t, err)
	station.State = calendar.SourceState{
		Tried: noon, Got: noon.Add(-time.Hour), NotYet: noon.Add(time.Hour), Failed: 3, Why: "it is down", Modified: "yesterday", Digest: "d",
	}
	must(t, s.Asked(ctx, station))
	after, err := s.Changes(ctx, "a")
	must(t, err)
	equal(t, after, before) // no plan is made of it
	elsewhere := station
	elsewhere.At = "https://weather.example/y.dly"
	want(t, s.Asked(ctx, elsewhere), calendar.ErrNotFound)

	// What is remembered stays with the address, and goes with it.
	again := station
	again.State = calendar.SourceState{}
	must(t, s.PutWeatherSources(ctx, "a", "1", []calendar.WeatherSource{again}))
	got, err = s.WeatherSources(ctx)
	must(t, err)
	equal(t, got, []calendar.WeatherSource{station, folder})
	again.Elevation = nil // its days are to be had anew
	must(t, s.PutWeatherSources(ctx, "a", "1", []calendar.WeatherSource{again}))
	again.State = station.State
	again.State.NotYet, again.State.Modified = time.Time{}, ""
	got, err = s.WeatherSources(ctx)
	must(t, err)
	equal(t, got, []calendar.WeatherSource{again, folder})
	elsewhere.State = calendar.SourceState{}
	must(t, s.PutWeatherSources(ctx, "a", "1", []calendar.WeatherSource{elsewhere}))
	got, err = s.WeatherSources(ctx)
	must(t, err)
	equal(t, got, []calendar.WeatherSource{elsewhere, folder})

	want(t, s.PutWeatherSources(ctx, "a", "2", []calendar.WeatherSource{station}), calendar.ErrNotFound)
	want(t, s.PutWeatherSources(ctx, "a", "1", []calendar.WeatherSource{station, station}), calendar.ErrInvalid)
	want(t, s.PutWeatherSources(ctx, "a", "1", []calendar.WeatherSource{{}}), calendar.ErrInvalid)
	must(t, s.PutWeatherSources(ctx, "a", "1", nil))
	got, err = s.WeatherSources(ctx)
	must(t, err)
	equal(t, got, []calendar.WeatherSource{folder})
}

// said is a series of days that begin on a day of late December, so that it
// reaches into the next year.
func said(source string, kind climate.Kind, got time.Time, tmin ...float64) climate.Series {
	s := climate.Series{Source: source, Kind: kind}
	for i, v := range tmin {
		s.Readings = append(s.Readings, climate.Reading{
			On: climate.NewDate(2023, 12, 30) + climate.Date(i), Tmin: v, Tmax: v + 10.1, Prcp: math.NaN(), Got: got,
		})
	}
	return s
}

var second = noon.Truncate(time.Second)

func readings(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "1", 10)))
	must(t, s.PutPlace(ctx, Place("a", "2", 10)))
	before, err := s.Changes(ctx, "a")
	must(t, err)
	model := said("model", climate.Analysis, second, 1, 2, 3, math.SmallestNonzeroFloat64)
	model.Elevation = number(1234.5)
	for _, v := range []climate.Series{model, said("own", climate.OwnReading, second, 0), said("model", climate.Foretold, second, 5, 6)} {
		n, err := s.PutReadings(ctx, "a", "1", v, false)
		must(t, err)
		equal(t, n, len(v.Readings))
	}
	got, err := s.Readings(ctx, "a", "1")
	must(t, err)
	equalReadings(t, got, []climate.Series{model, said("model", climate.Foretold, second, 5, 6), said("own", climate.OwnReading, second, 0)})
	after, err := s.Changes(ctx, "a")
	must(t, err)
	equal(t, after, before+3)
	none, err := s.Readings(ctx, "a", "2")
	must(t, err)
	equal(t, len(none), 0)

	// The elevation moves all days.
	model.Elevation = nil
	n, err := s.PutReadings(ctx, "a", "1", climate.Series{Source: "model", Kind: climate.Analysis}, false)
	must(t, err)
	equal(t, n, 4)
	got, err = s.Readings(ctx, "a", "1")
	must(t, err)
	equalReadings(t, got[:1], []climate.Series{model})
}

func readingsAgain(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "1", 10)))
	put := func(v climate.Series, whole bool, changes int, want ...climate.Reading) {
		t.Helper()
		before, err := s.Changes(ctx, "a")
		must(t, err)
		n, err := s.PutReadings(ctx, "a", "1", v, whole)
		must(t, err)
		equal(t, n, changes)
		after, err := s.Changes(ctx, "a")
		must(t, err)
		equal(t, after-before, min(1, n))
		got, err := s.Readings(ctx, "a", "1")
		must(t, err)
		equalReadings(t, got, []climate.Series{{Source: "x", Kind: v.Kind, Readings: want}})
	}
	later := second.Add(time.Hour)
	first := said("x", climate.OwnReading, second, 1, 2, 3).Readings
	put(said("x", climate.OwnReading, second, 1, 2, 3), false, 3, first...)
	put(said("x", climate.OwnReading, later, 1, 2, 3), false, 0, first...) // nothing new: had when it was had
	second2 := said("x", climate.OwnReading, later, 1, 2.5).Readings[1]
	put(said("x", climate.OwnReading, later, 1, 2.5), false, 1, first[0], second2, first[2])

	// A value that is not given leaves the one before, unless they contradict each other.
	rain := climate.Series{Source: "x", Kind: climate.OwnReading, Readings: []climate.Reading{
		{On: first[0].On, Tmin: math.NaN(), Tmax: math.NaN(), Prcp: 7, Got: later},
		{On: first[1].On, Tmin: 20, Tmax: math.NaN(), Prcp: math.NaN(), Got: later},
	}}
	wet, warm := first[0], rain.Readings[1]
	wet.Prcp, wet.Got = 7, later
	put(rain, false, 2, wet, warm, first[2])

	// The whole of what a source says takes back the rest.
	last := said("x", climate.OwnReading, later, 1).Readings[0]
	put(said("x", climate.OwnReading, later, 1), true, 3, last)
	put(climate.Series{Source: "x", Kind: climate.OwnReading}, true, 1)

	// Days foretold are let go a year after they passed.
	must(t, s.PutPlace(ctx, Place("a", "2", 10)))
	_, err := s.PutReadings(ctx, "a", "2", said("y", climate.Foretold, second, 1, 2), false)
	must(t, err)
	now := said("y", climate.Foretold, second, 3)
	now.Readings[0].On += 367
	_, err = s.PutReadings(ctx, "a", "2", now, false)
	must(t, err)
	got, err := s.Readings(ctx, "a", "2")
	must(t, err)
	equalReadings(t, got, []climate.Series{{Source: "y", Kind: climate.Foretold, Readings: []climate.Reading{
		said("y", climate.Foretold, second, 1, 2).Readings[1], now.Readings[0],
	}}})
}

func badReadings(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	must(t, s.PutPlace(ctx, Place("a", "1", 10)))
	good := said("x", climate.OwnReading, second, 1, 2)
	bad := func(change func(*climate.Series)) {
		t.Helper()
		v := said("x", climate.OwnReading, second, 1, 2)
		change(&v)
		_, err := s.PutReadings(ctx, "a", "1", v, false)
		want(t, err, calendar.ErrInvalid)
	}
	bad(func(v *climate.Series) { v.Source = "" })
	bad(func(v *climate.Series) { v.Source = "zero\x00" })
	bad(func(v *climate.Series) { v.Kind = 0 })
	bad(func(v *climate.Series) { v.Elevation = number(math.NaN()) })
	bad(func(v *climate.Series) { v.Readings[1].Tmin = 99 })
	bad(func(v *climate.Series) { v.Readings[1].Tmax = v.Readings[1].Tmin - 1 })
	bad(func(v *climate.Series) { v.Readings[1].On = v.Readings[0].On })
	bad(func(v *climate.Series) { v.Readings[0].On = climate.NoDate })
	got, err := s.Readings(ctx, "a", "1")
	must(t, err)
	equal(t, len(got), 0)
	_, err = s.PutReadings(ctx, "a", "2", good, false)
	want(t, err, calendar.ErrNotFound)
	_, err = s.PutReadings(ctx, "b", "1", good, false)
	want(t, err, calendar.ErrNotFound)
}

func benches(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	p := Place("a", "1", 10)
	p.Benches = []calendar.Bench{
		{ID: "frame", Name: "the frame", Exposure: climate.ColdFrame},
		{ID: "warm", Name: "warm", Exposure: climate.Heated, ShiftTmin: -1.5, ShiftTmax: 0.5, Floor: number(4)},
	}
	must(t, s.PutPlace(ctx, p))
	got, err := s.Place(ctx, "a", "1")
	must(t, err)
	equal(t, got, p)
	k := Tree("a", "1", "x")
	k.Bench = "frame"
	k.Log = []calendar.Entry{{On: climate.NewDate(2026, 3, 1), Moved: "warm"}, {On: climate.NewDate(2026, 3, 2), Saw: "bud-swell"}}
	must(t, s.PutTree(ctx, k))
	must(t, s.AddEntry(ctx, "a", "x", k.Log[0])) // it is there
	trees, err := s.Trees(ctx, "a")
	must(t, err)
	equal(t, trees, []calendar.Kept{k})

	p.Benches[1].Exposure = "balcony"
	want(t, s.PutPlace(ctx, p), calendar.ErrInvalid)
	p.Benches = nil
	must(t, s.PutPlace(ctx, p))
	got, err = s.Place(ctx, "a", "1")
	must(t, err)
	equal(t, got, p)
}

func recordNotes(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	p := Place("a", "1", 10)
	p.Weather.Record.Notes = []string{"3 values refused", strings.Repeat("ß", 100)}
	p.Weather.Forecast = &climate.Record{Source: "f", First: climate.NewDate(2026, 1, 1), Days: make([]climate.Day, 2), Notes: []string{"x"}}
	must(t, s.PutPlace(ctx, p))
	got, err := s.Place(ctx, "a", "1")
	must(t, err)
	equal(t, got, p)
}

// movedPlace puts a place elsewhere: what services said of it was for another.
func movedPlace(t *testing.T, s calendar.Store) {
	ctx := context.Background()
	must(t, s.PutGrower(ctx, Grower("a")))
	p := Place("a", "1", 10)
	must(t, s.PutPlace(ctx, p))
	w := calendar.WeatherSource{Grower: "a", Place: "1", Kind: calendar.SourceMETNorway}
	must(t, s.PutWeatherSources(ctx, "a", "1", []calendar.WeatherSource{w}))
	w.State = calendar.SourceState{Tried: noon, NotYet: noon, Modified: "m", Digest: "d"}
	must(t, s.Asked(ctx, w))
	all := []climate.Series{
		said("own", climate.OwnReading, second, 0), said("station", climate.FromStation, second, 5), said("x", climate.Analysis, second, 1), said("x", climate.Foretold, second, 1),
	}
	for _, v := range all {
		_, err := s.PutReadings(ctx, "a", "1", v, false)
		must(t, err)
	}
	p.Site.Lat += 0.009
	must(t, s.PutPlace(ctx, p))
	got, err := s.Readings(ctx, "a", "1")
	must(t, err)
	equalReadings(t, got, all)
	p.Site.Lon += 0.02
	must(t, s.PutPlace(ctx, p))
	got, err = s.Readings(ctx, "a", "1")
	must(t, err)
	equalReadings(t, got, all[:2])
	sources, err := s.WeatherSources(ctx)
	must(t, err)
	w.State = calendar.SourceState{Tried: noon}
	equal(t, sources, []calendar.WeatherSource{w})
}

// equalReadings compares series, NaN equal to itself.
func equalReadings(t *testing.T, got, want []climate.Series) {
	t.Helper()
	clean := func(all []climate.Series) []climate.Series {
		out := make([]climate.Series, len(all))
		for i, s := range all {
			out[i] = s
			out[i].Readings = nil
			for _, r := range s.Readings {
				for _, v := range []*float64{&r.Tmin, &r.Tmax, &r.Prcp} {
					if math.IsNaN(*v) {
						*v = -999
					}
				}
				out[i].Readings = append(out[i].Readings, r)
			}
		}
		return out
	}
	equal(t, clean(got), clean(want))
}
