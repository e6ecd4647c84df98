package climate

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func reading(on Date, tmin, tmax float64, got int) Reading {
	return Reading{On: on, Tmin: tmin, Tmax: tmax, Prcp: nan, Got: time.Unix(int64(got), 0)}
}

var benchSite = Site{Name: "north bench", Lat: 47, Lon: 8, Elevation: 500, Zone: "Europe/Zurich"}

func TestCombineTakesTheBestOfEachDay(t *testing.T) {
	d := NewDate(2026, 3, 1)
	service := Series{Source: "service", Kind: Foretold, Readings: []Reading{reading(d, 0, 5, 9), reading(d+4, 1, 6, 9), reading(d+5, 2, 7, 9)}}
	analysis := Series{Source: "model", Kind: Analysis, Readings: []Reading{reading(d, 1, 6, 9), reading(d+1, 1, 6, 9), reading(d+2, 1, 6, 9)}}
	old := Series{Source: "station", Kind: FromStation, Readings: []Reading{reading(d+1, 2, 7, 1)}}
	newer := Series{Source: "station 2", Kind: FromStation, Readings: []Reading{reading(d+1, 3, 8, 2), reading(d+2, 4, nan, 2)}}
	own := Series{Source: "bench", Kind: OwnReading, Readings: []Reading{reading(d+2, nan, 9, 1)}}
	record, forecast := Combine(benchSite, []Series{service, analysis, old, newer, own})
	want := []Day{
		{Tmin: 1, Tmax: 6, TminOrigin: Measured, TmaxOrigin: Measured},
		{Tmin: 3, Tmax: 8, TminOrigin: Measured, TmaxOrigin: Measured},
		{Tmin: 4, Tmax: 9, TminOrigin: Measured, TmaxOrigin: Measured},
	}
	if diff := cmp.Diff(want, record.Days); diff != "" || record.First != d {
		t.Errorf("record (-want +got):\n%s", diff)
	}
	spans := []Span{{d, d, "model", Analysis}, {d + 1, d + 2, "station 2", FromStation}}
	if diff := cmp.Diff(spans, record.Spans); diff != "" {
		t.Errorf("spans (-want +got):\n%s", diff)
	}
	if record.Source != "station 2" || record.Notes != nil {
		t.Errorf("source %q, notes %q", record.Source, record.Notes)
	}
	ahead := []Day{{}, {Tmin: 1, Tmax: 6, TminOrigin: Predicted, TmaxOrigin: Predicted}, {Tmin: 2, Tmax: 7, TminOrigin: Predicted, TmaxOrigin: Predicted}}
	if diff := cmp.Diff(ahead, forecast.Days); diff != "" || forecast.First != d+3 {
		t.Errorf("forecast from %v (-want +got):\n%s", forecast.First, diff)
	}

	w := Weather{Record: record, Forecast: forecast}
	got := w.Supply(d + 5)
	wantSupply := Supply{Until: d + 2, From: []Share{{"station 2", FromStation, 2, d + 2}, {"service", Foretold, 2, d + 5}, {"model", Analysis, 1, d}}}
	if diff := cmp.Diff(wantSupply, got); diff != "" {
		t.Errorf("supply (-want +got):\n%s", diff)
	}
	if got := w.Supply(d - 1); got.Until.Valid() || got.From != nil {
		t.Errorf("before all weather: %+v", got)
	}
}

func TestWith(t *testing.T) {
	d := NewDate(2026, 3, 1)
	old := &Record{Source: "file", First: d, Notes: []string{"one value refused"}, Days: []Day{
		{Tmin: 1, Tmax: 2, TminOrigin: Measured, TmaxOrigin: Measured}, {Tmin: 3, Tmax: 4, TminOrigin: Measured, TmaxOrigin: Predicted},
	}}
	ahead := &Record{Source: "old", First: d + 9, Days: make([]Day, 1)}
	w := Weather{Record: old, Forecast: ahead, Normals: &Normals{}, Seed: 7}
	if got := w.With(benchSite, nil); !cmp.Equal(got, w) {
		t.Errorf("with nothing: %+v", got)
	}
	height := 1500.0
	got := w.With(benchSite, []Series{
		{Source: "model", Kind: Analysis, Elevation: &height, Readings: []Reading{reading(d, 7, 8, 1), reading(d+1, 7, 8, 1)}},
	})
	want := []Day{{Tmin: 1, Tmax: 2, TminOrigin: Measured, TmaxOrigin: Measured}, {Tmin: 3, Tmax: 14.5, TminOrigin: Measured, TmaxOrigin: Measured}}
	if diff := cmp.Diff(want, got.Record.Days); diff != "" || got.Forecast != ahead || got.Seed != 7 || got.Normals != w.Normals {
		t.Errorf("%+v (-want +got):\n%s", got, diff)
	}
	if n := got.Record.Notes; len(n) != 2 || n[0] != "one value refused" || len(old.Notes) != 1 {
		t.Errorf("notes %q", n)
	}
	got = Weather{Forecast: ahead}.With(benchSite, []Series{{Source: "service", Kind: Foretold, Readings: []Reading{reading(d, 7, 8, 1)}}})
	if got.Record != nil || got.Forecast.Source != "service" {
		t.Errorf("foretold only: %+v", got)
	}
}

func TestCombineNothing(t *testing.T) {
	for _, s := range [][]Series{nil, {{Source: "x", Kind: Analysis}}, {{Kind: Foretold, Readings: []Reading{reading(3, nan, nan, 1)}}}} {
		if r, f := Combine(benchSite, s); r != nil || f != nil {
			t.Errorf("%+v: %v, %v", s, r, f)
		}
	}
}

// A minimum and a maximum of two sources may contradict each other; no day may.
func TestCombineLeavesOutTheLesserOfAContradiction(t *testing.T) {
	d := NewDate(2026, 3, 1)
	record, _ := Combine(benchSite, []Series{
		{Source: "model", Kind: Analysis, Readings: []Reading{reading(d, 1, 5, 1)}},
		{Source: "bench", Kind: OwnReading, Readings: []Reading{reading(d, 8, nan, 1)}},
	})
	if want := (Day{Tmin: 8, TminOrigin: Measured}); record.Days[0] != want {
		t.Errorf("got %+v, want %+v", record.Days[0], want)
	}
}

func TestCombineAdjustsForElevation(t *testing.T) {
	d := NewDate(2026, 3, 1)
	high, near := 1500.0, 505.0
	record, _ := Combine(benchSite, []Series{{Source: "summit", Kind: FromStation, Elevation: &high, Readings: []Reading{reading(d, -5, 2, 1)}}})
	// A thousand metres lower down: 6.5 C more.
	if day := record.Days[0]; math.Abs(day.Tmin-1.5) > 1e-9 || math.Abs(day.Tmax-8.5) > 1e-9 {
		t.Errorf("got %+v", day)
	}
	if len(record.Notes) != 1 || !strings.Contains(record.Notes[0], "summit are for 1500 m and were taken +6.5 C for the 500 m") {
		t.Errorf("notes %q", record.Notes)
	}
	record, _ = Combine(benchSite, []Series{{Source: "near", Kind: FromStation, Elevation: &near, Readings: []Reading{reading(d, -5, 2, 1)}}})
	if record.Days[0].Tmin != -5 || record.Notes != nil {
		t.Errorf("five metres made a difference: %+v %q", record.Days[0], record.Notes)
	}
}

func TestCombineLearnsTheBench(t *testing.T) {
	d := NewDate(2026, 3, 1)
	for _, n := range []int{13, 14, 56, 400} {
		station := Series{Source: "station", Kind: FromStation}
		own := Series{Source: "bench", Kind: OwnReading}
		for k := range n + 10 {
			station.Readings = append(station.Readings, reading(d+Date(k), float64(k%7), float64(k%7)+10, 1))
			if k >= 10 {
				own.Readings = append(own.Readings, reading(d+Date(k), float64(k%7)-2, float64(k%7)+11, 1))
			}
		}
		own.Readings[3].Tmax = 55 // in the sun
		record, _ := Combine(benchSite, []Series{station, own})
		share := 0.0
		if n >= 14 {
			used := float64(min(n, 90))
			share = used / (used + 14)
		}
		day := record.Days[0]
		if math.Abs(day.Tmin-(0-2*share)) > 1e-9 || math.Abs(day.Tmax-(10+share)) > 1e-9 {
			t.Errorf("after %d days: %+v, want shifts of %v and %v", n, day, -2*share, share)
		}
		if (len(record.Notes) == 1) != (n >= 14) {
			t.Errorf("after %d days: notes %q", n, record.Notes)
		}
		if got := record.Days[10].Tmin; got != float64(10%7)-2 {
			t.Errorf("an own reading was shifted to %v", got)
		}
	}
}

// Whatever is combined is a record: in range, ordered, its spans as its days.
func TestCombineProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temperature := rapid.OneOf(rapid.Just(nan), rapid.Float64Range(-90, 60))
		var series []Series
		for i := range rapid.IntRange(0, 4).Draw(t, "series") {
			s := Series{Source: string(rune('a' + i)), Kind: Kind(rapid.IntRange(1, 4).Draw(t, "kind"))}
			if rapid.Bool().Draw(t, "at a height") {
				e := rapid.Float64Range(-400, 6000).Draw(t, "elevation")
				s.Elevation = &e
			}
			d := Date(rapid.IntRange(19000, 19050).Draw(t, "first"))
			for range rapid.IntRange(0, 40).Draw(t, "days") {
				r := Reading{On: d, Tmin: temperature.Draw(t, "tmin"), Tmax: temperature.Draw(t, "tmax"), Prcp: nan, Got: time.Unix(int64(rapid.IntRange(0, 3).Draw(t, "got")), 0)}
				if r.Tmin > r.Tmax {
					r.Tmin, r.Tmax = r.Tmax, r.Tmin
				}
				s.Readings = append(s.Readings, r)
				d += Date(rapid.IntRange(1, 3).Draw(t, "step"))
			}
			series = append(series, s)
		}
		record, forecast := Combine(benchSite, series)
		for _, r := range []*Record{record, forecast} {
			if r == nil {
				continue
			}
			spans := 0
			for i, day := range r.Days {
				if day.TminOrigin != Missing && !(day.Tmin >= -90 && day.Tmin <= 60) || day.TmaxOrigin != Missing && !(day.Tmax >= -90 && day.Tmax <= 60) {
					t.Fatalf("day %d: %+v", i, day)
				}
				if !day.holed() {
					if spans++; day.Tmin > day.Tmax {
						t.Fatalf("day %d: %+v", i, day)
					}
				}
			}
			for i, s := range r.Spans {
				spans -= int(s.Last-s.First) + 1
				if i > 0 && s.First <= r.Spans[i-1].Last {
					t.Fatalf("spans %+v", r.Spans)
				}
			}
			if spans != 0 {
				t.Fatalf("%d days more than the spans have", spans)
			}
		}
		if record != nil && forecast != nil && forecast.First != record.Last()+1 {
			t.Fatalf("record to %v, forecast from %v", record.Last(), forecast.First)
		}
		if len(series) > 0 {
			again, ahead := Combine(benchSite, slices.Clone(series))
			if !cmp.Equal(record, again) || !cmp.Equal(forecast, ahead) {
				t.Fatal("not the same twice")
			}
		}
	})
}

func TestKinds(t *testing.T) {
	for k := Foretold; k <= OwnReading; k++ {
		text, err := k.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		var back Kind
		if err := back.UnmarshalText(text); err != nil || back != k {
			t.Errorf("%v came back as %v, %v", k, back, err)
		}
	}
	var k Kind
	if err := k.UnmarshalText([]byte("hearsay")); err == nil {
		t.Error("took hearsay")
	}
	for _, k := range []Kind{0, OwnReading + 1} {
		if _, err := k.MarshalText(); err == nil || k.String() != "unknown" {
			t.Errorf("%d was written", k)
		}
	}
}

func TestReadingsOutOfRange(t *testing.T) {
	d := NewDate(2026, 3, 1)
	for _, r := range []Reading{
		{On: NoDate},
		{On: d, Tmin: -91},
		{On: d, Tmax: 61},
		{On: d, Prcp: -1},
		{On: d, Prcp: 2001},
		{On: d, Tmin: 5, Tmax: 4},
		{On: d, Tmin: math.Inf(-1)},
		{On: NewDate(1600, 1, 1)},
	} {
		if r.Validate() == nil {
			t.Errorf("%+v was taken", r)
		}
	}
	for _, r := range []Reading{reading(d, nan, nan, 0), reading(d, nan, 3, 0), reading(d, 3, 3, 0)} {
		if err := r.Validate(); err != nil {
			t.Errorf("%+v: %v", r, err)
		}
	}
}

// By the rates of the site, a month's minima and maxima are adjusted apart.
func TestCombineByTheLapseOfTheSite(t *testing.T) {
	high := benchSite.Elevation + 1000
	lapse := &Lapse{}
	for m := range 12 {
		lapse.Tmin[m], lapse.Tmax[m] = -0.001, 0.008
	}
	lapse.Tmin[6] = 0.005
	january, july := NewDate(2026, 1, 15), NewDate(2026, 7, 15)
	w := Weather{Lapse: lapse}.With(benchSite, []Series{{Source: "summit", Kind: FromStation, Elevation: &high, Readings: []Reading{reading(january, -5, 2, 1), reading(july, 9, 15, 0)}}})
	for d, want := range map[Date][2]float64{january: {-6, 10}, july: {14, 23}} {
		if got := w.Record.At(d); math.Abs(got.Tmin-want[0]) > 1e-9 || math.Abs(got.Tmax-want[1]) > 1e-9 {
			t.Errorf("%v: %v to %v, want %v", d, got.Tmin, got.Tmax, want)
		}
	}
	if note := w.Record.Notes[0]; !strings.Contains(note, "-1.0 to +5.0 C by night and +8.0 to +8.0 C by day") {
		t.Errorf("told as %q", note)
	}
}
