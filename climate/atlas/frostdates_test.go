package atlas

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"budswell/climate"
)

// harvard returns the daily minima and maxima of Harvard Forest 1964-2002.
func harvard(t *testing.T) (climate.Site, *climate.Record) {
	t.Helper()
	f, err := os.Open(openData(t, "harvard-forest/daily.csv",
		"Boose E., Gould E., Shaler Meteorological Station at Harvard Forest 1964-2002, Harvard Forest Data Archive HF000"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	r := &climate.Record{Source: "Harvard Forest"}
	if r.First, err = climate.ParseDate(rows[1][0]); err != nil {
		t.Fatal(err)
	}
	for _, row := range rows[1:] {
		var day climate.Day
		if v, err := strconv.ParseFloat(row[1], 64); err == nil {
			day.Tmin, day.TminOrigin = v, climate.Measured
		}
		if v, err := strconv.ParseFloat(row[2], 64); err == nil {
			day.Tmax, day.TmaxOrigin = v, climate.Measured
		}
		r.Days = append(r.Days, day)
	}
	return climate.Site{Name: "Harvard Forest", Lat: 42.54, Lon: -72.18, Elevation: 340, Zone: "America/New_York"}, r
}

// TestFrostDatesAtHarvardForest takes the dates of the atlas apart. They are ten days early in
// spring because nights in that clearing are 1.2 to 2.1 C colder all the year than
// the atlas, and the airports about, have them. With its own normals the same generator is
// right within five days. The record reads whole degrees, so that a frost read is one of half a
// degree more.
func TestFrostDatesAtHarvardForest(t *testing.T) {
	site, r := harvard(t)
	read := r.Frost(site, 0)
	own, err := r.Normals()
	if err != nil {
		t.Fatal(err)
	}
	own.TminSD, own.TmaxSD = nil, nil // as little is known as of any place
	at, err := At(site.Lat, site.Lon, &site.Elevation)
	if err != nil {
		t.Fatal(err)
	}
	nights := 0.0
	for m := range 12 {
		off := at.Normals.Tmin[m] - own.Tmin[m]
		nights += off / 12
		if off < 1 || off > 2.5 {
			t.Errorf("month %d: nights of the atlas %.1f C warmer: want all the year 1 to 2.5", m+1, off)
		}
	}
	// A year of own readings moves the normals toward the place, in most years.
	moved, years := 0.0, 0.0
	for y := 1964; y < 2002; y++ {
		first := climate.NewDate(y, 1, 1)
		if first < r.First || first+365 > r.Last() {
			continue
		}
		year := &climate.Record{Source: r.Source, First: first, Days: r.Days[first-r.First:][:365]}
		w := climate.Weather{Normals: &at.Normals, Record: year}
		o, err := w.Outlook(site, year.Last())
		if err != nil {
			t.Fatal(err)
		}
		if o.Basis.Correction.Days > 0 {
			moved += o.Basis.Correction.Tmin
			years++
		}
	}
	moved /= years
	t.Logf("nights of the atlas %.1f C warmer, its error %.2f C; single years of readings move them by %+.2f C in the mean of %.0f", nights, at.Normals.Error, moved, years)
	if moved > -0.5 || moved < -1.5 {
		t.Errorf("single years of readings move nights by %+.2f C: want a good part of %.1f", moved, -nights)
	}
	moreover := at.Normals
	for m := range 12 {
		moreover.Tmin[m] -= nights
	}
	for _, tt := range []struct {
		name    string
		normals *climate.Normals
		most    float64 // days off
	}{{"own normals", own, 6}, {"atlas with nights as cold as there", &moreover, 8}, {"atlas", &at.Normals, 16}} {
		y, err := tt.normals.Typical(site, 0.5, 5)
		if err != nil {
			t.Fatal(err)
		}
		half := func(name string, read, made climate.FrostHalf, most float64) {
			for _, d := range [][2]*climate.MonthDay{{read.P10, made.P10}, {read.P50, made.P50}, {read.P90, made.P90}} {
				off := float64(d[1].In(2001) - d[0].In(2001))
				t.Logf("%s, %s: read %v, made %v, %+.0f days", tt.name, name, d[0], d[1], off)
				if math.Abs(off) > most {
					t.Errorf("%s, %s: read %v, made %v: want within %.0f days", tt.name, name, d[0], d[1], most)
				}
			}
		}
		half("last", read.Spring, y.Frost.Spring, tt.most)
		half("first", read.Autumn, y.Frost.Autumn, tt.most)
	}
}

// TestFrostDatesWithout compares the median days of frost of years made from stations' own
// normals with those from normals of a surface made without them, and with the error stated:
// with what years made stray themselves taken out of it, which TestGeneratorOfTheWorld of
// package climate measures.
func TestFrostDatesWithout(t *testing.T) {
	if !*fit {
		t.Skip("takes two minutes: run with -fit")
	}
	f := newFitting(t, stations(t))
	var off, stated []float64
	in := 0
	for i, s := range f.process.stations {
		if i%12 != 5 {
			continue
		}
		site := climate.Site{Lat: s.lat, Lon: s.lon, Elevation: s.h * 1000}
		own, without := climate.Normals{}, climate.Normals{}
		left := f.left[s]
		for m := range 12 {
			own.Tmin[m], own.Tmax[m] = s.y[m], max(s.y[m], s.y[12+m])
			without.Tmin[m], without.Tmax[m] = tidy(s.y[m]-left[m], s.y[12+m]-left[12+m])
		}
		l := f.judge(s, true)
		without.Error = l.band / band80
		a, err := own.Typical(site, 0, 5)
		if err != nil {
			t.Fatal(err)
		}
		b, err := without.Typical(site, 0, 5)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range []struct {
			a, b         *climate.MonthDay
			stated, made float64
		}{
			{a.Frost.Spring.P50, b.Frost.Spring.P50, b.LastError, a.LastError},
			{a.Frost.Autumn.P50, b.Frost.Autumn.P50, b.FirstError, a.FirstError},
		} {
			if d.a == nil || d.b == nil || d.a.Month == 7 || d.b.Month == 7 {
				continue
			}
			days := math.Abs(float64(int(d.a.In(2001)-d.b.In(2001)+182+365)%365 - 182))
			band := math.Sqrt(max(0, d.stated*d.stated-d.made*d.made))
			if days <= max(band, 0.5) {
				in++
			}
			off, stated = append(off, days), append(stated, band)
		}
	}
	share := float64(in) / float64(len(off))
	t.Logf("%d last and first frosts: root mean square %.1f days off, half the band stated %.1f, %.0f %% within it", len(off), rms(off), mean(stated), 100*share)
	if share < 0.7 || share > 0.92 {
		t.Errorf("%.0f %% within the band: want about 80", 100*share)
	}
}
