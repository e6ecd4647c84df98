package calendar_test

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"budswell/calendar"
	"budswell/climate"
)

// zzPlace is a place all of whose words begin with zz, with a station's file of days up to a year
// before the rest, own readings, a model's analysis, and a forecast.
func zzPlace(elevation float64, from climate.Date) *calendar.Place {
	p := &calendar.Place{ID: "zzid", Grower: "zzgrower", Site: climate.Site{Name: "zzname", Lat: 47.051234, Lon: 8.905678, Elevation: elevation, Zone: "UTC"}}
	p.Weather.Record = &climate.Record{Source: "zzfile.csv", First: from, Notes: []string{"zznote"}, Days: []climate.Day{measuredDay(1)}}
	series := func(source string, kind climate.Kind, first climate.Date, days int, tmin float64) climate.Series {
		s := climate.Series{Source: source, Kind: kind, Elevation: &elevation}
		for i := range days {
			s.Readings = append(s.Readings, climate.Reading{On: first + climate.Date(i), Tmin: tmin, Tmax: tmin + 8, Prcp: 1, Got: time.Unix(7, 0)})
		}
		return s
	}
	p.Read([]climate.Series{series("zzmodel", climate.Analysis, from+1, 2, 2), series("zzmodel", climate.Foretold, from+3, 4, 3), series("zzhand", climate.OwnReading, from+4, 1, 4)})
	return p
}

func measuredDay(tmin float64) climate.Day {
	return climate.Day{Tmin: tmin, Tmax: tmin + 8, Prcp: 1, TminOrigin: climate.Measured, TmaxOrigin: climate.Measured, PrcpOrigin: climate.Measured}
}

// TestBorrow: the band has the place's days behind its own, of the same kinds, adjusted to its
// elevation, and nothing that tells whose they are.
func TestBorrow(t *testing.T) {
	from := climate.NewDate(2026, 4, 1)
	b := atlasBand(t, "floor", 47.05, 8.9, 460)
	b.Weather.Record = &climate.Record{Source: "band.csv", First: from - 3, Notes: []string{"band's note"}, Days: []climate.Day{measuredDay(10), measuredDay(10), measuredDay(10), measuredDay(10)}}
	normals := b.Weather.Normals
	if !b.Borrow(zzPlace(561, from)) {
		t.Fatal("nothing was taken")
	}
	r, f := b.Weather.Record, b.Weather.Forecast
	var days []string
	for _, part := range []*climate.Record{r, f} {
		for i, d := range part.Days {
			days = append(days, fmt.Sprintf("%s %d", (part.First + climate.Date(i)).String()[5:], d.TminOrigin))
			if on := part.First + climate.Date(i); on > from && (d.Tmax < d.Tmin || math.Round(d.Tmin) < 2 || d.Tmin > 5.5) {
				t.Errorf("%s: %+v", on, d)
			}
		}
	}
	m, p := climate.Measured, climate.Predicted
	want := fmt.Sprintf("03-29 %[1]d; 03-30 %[1]d; 03-31 %[1]d; 04-01 %[1]d; 04-02 %[1]d; 04-03 %[1]d; 04-04 %[2]d; 04-05 %[1]d; 04-06 %[2]d; 04-07 %[2]d", m, p)
	if got := strings.Join(days, "; "); got != want {
		t.Errorf("days %s\nwant %s", got, want)
	}
	if own := r.At(from); own.Tmin != 10 {
		t.Errorf("a day of the band's own became %+v", own)
	}
	if lower := r.At(from + 4); !(lower.Tmin > 4.2 && lower.Tmin < 5) {
		t.Errorf("read at 561 m and taken to 460 m: 4 became %v", lower.Tmin)
	}
	kinds := map[climate.Kind]int{}
	for _, share := range b.Weather.Supply(from + 6).From {
		if share.Source != "band.csv" && share.Source != calendar.LentWeather {
			t.Errorf("a source is %q", share.Source)
		}
		kinds[share.Kind] += share.Days
	}
	if kinds[climate.FromStation] != 5 || kinds[climate.Analysis] != 2 || kinds[climate.Foretold] != 3 || kinds[climate.OwnReading] != 0 {
		t.Errorf("kinds %v", kinds)
	}
	if b.Weather.Normals != normals || r.Notes[0] != "band's note" || len(r.Notes) != 2 {
		t.Errorf("notes %q", r.Notes)
	}
	public, err := json.Marshal([]any{r.Source, r.Notes, r.Spans, f.Source, f.Notes, f.Spans, b.Weather.Supply(from + 6), b.Site, b.Name})
	if err != nil {
		t.Fatal(err)
	}
	for _, private := range []string{"zz", "561", "47.051", "8.9056"} {
		if strings.Contains(string(public), private) {
			t.Errorf("%q is told: %s", private, public)
		}
	}
}

// TestBorrowNothing: a place of which no temperature is known lends nothing.
func TestBorrowNothing(t *testing.T) {
	rain := climate.Series{Source: "s", Kind: climate.OwnReading, Readings: []climate.Reading{{On: climate.NewDate(2026, 4, 1), Tmin: math.NaN(), Tmax: math.NaN(), Prcp: 4}}}
	for name, series := range map[string][]climate.Series{"none": nil, "rain": {rain}} {
		p := &calendar.Place{Site: climate.Site{Lat: 47, Lon: 8, Elevation: 500, Zone: "UTC"}}
		p.Weather.Normals = &climate.Normals{}
		p.Read(series)
		b := atlasBand(t, "floor", 47.05, 8.9, 460)
		was := b
		if b.Borrow(p) || b.Weather != was.Weather {
			t.Errorf("%s: the band's weather is %+v", name, b.Weather)
		}
	}
}

// TestBorrowedIsAsAtThePlace: at one elevation a band with nothing measured of its own has, to the
// bit, the days that its grower's plans have, each known or foretold as there.
func TestBorrowedIsAsAtThePlace(t *testing.T) {
	site := climate.Site{Name: "s", Lat: 47.05, Lon: 8.9, Elevation: 500, Zone: "UTC"}
	rapid.Check(t, func(t *rapid.T) {
		first := climate.NewDate(2026, 3, 1)
		p := &calendar.Place{Site: site}
		var series []climate.Series
		for k := climate.Foretold; k <= climate.OwnReading; k++ {
			s := climate.Series{Source: k.String(), Kind: k}
			for on := first; on < first+40; on++ {
				if rapid.IntRange(0, 2).Draw(t, "there") > 0 {
					v := rapid.Float64Range(-20, 20).Draw(t, "tmin")
					r := climate.Reading{On: on, Tmin: v, Tmax: v + rapid.Float64Range(0, 15).Draw(t, "range"), Prcp: math.NaN(), Got: time.Unix(int64(k), 0)}
					if rapid.IntRange(0, 9).Draw(t, "half") == 0 {
						r.Tmax = math.NaN()
					}
					s.Readings = append(s.Readings, r)
				}
			}
			if len(s.Readings) > 0 {
				series = append(series, s)
			}
		}
		p.Read(series)
		b := calendar.Band{ID: "b", Name: "B", Site: site}
		if b.Borrow(p) != (len(series) > 0) {
			t.Fatal("taken, or not")
		}
		for name, pair := range map[string][2]*climate.Record{"record": {p.Weather.Record, b.Weather.Record}, "forecast": {p.Weather.Forecast, b.Weather.Forecast}} {
			here, there := pair[1], pair[0]
			if (here == nil) != (there == nil) {
				t.Fatalf("%s: %v, at the place %v", name, here, there)
			}
			if here == nil {
				continue
			}
			if here.First != there.First || len(here.Days) != len(there.Days) {
				t.Fatalf("%s: %v, %d days; at the place %v, %d", name, here.First, len(here.Days), there.First, len(there.Days))
			}
			for i := range here.Days {
				if fmt.Sprint(here.Days[i]) != fmt.Sprint(there.Days[i]) {
					t.Fatalf("%s, day %d: %v, at the place %v", name, i, here.Days[i], there.Days[i])
				}
			}
		}
	})
}
