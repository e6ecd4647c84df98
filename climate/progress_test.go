package climate

import (
	"math"
	"reflect"
	"testing"
)

func mustProgress(t *testing.T, w *Weather, site Site, issue Date) *Progress {
	t.Helper()
	p, err := w.Progress(site, issue)
	if err != nil {
		t.Fatal(err)
	}
	n := int(p.Last-p.First) + 1
	if len(p.Tmin.P10) != n || len(p.Tmax.P90) != n || len(p.Days) != n || p.First > issue || p.Last < issue {
		t.Fatalf("a season from %v to %v with %d and %d days", p.First, p.Last, len(p.Tmin.P10), len(p.Days))
	}
	for k := range n {
		if p.Tmin.P10[k] > p.Tmin.P50[k] || p.Tmin.P50[k] > p.Tmin.P90[k] || p.Tmin.P50[k] > p.Tmax.P50[k] {
			t.Fatalf("%v: the band of nights %v %v %v, of days %v", p.First+Date(k), p.Tmin.P10[k], p.Tmin.P50[k], p.Tmin.P90[k], p.Tmax.P50[k])
		}
	}
	for _, v := range p.Nights {
		if v.On <= issue || v.Chance[1] > v.Chance[0] || v.Chance[1] < 0 || v.Chance[0] > 1 {
			t.Fatalf("night %+v", v)
		}
	}
	return p
}

// A record of years that are all alike: each is its own middle year.
func TestProgressOfEvenYears(t *testing.T) {
	for _, site := range []Site{north(45), north(-35)} {
		r := everyYear(site, NewDate(2000, 1, 1), NewDate(2016, 5, 20))
		issue := r.Last()
		p := mustProgress(t, &Weather{Record: r}, site, issue)
		if p.Until != issue || p.Warmth.At != issue || p.Chill.At != issue || p.Warmth.Filled != 0 {
			t.Errorf("%v: known to %v, warmth to %v, chill to %v", site.Lat, p.Until, p.Warmth.At, p.Chill.At)
		}
		for name, v := range map[string]Tally{"warmth": p.Warmth, "chill": p.Chill} {
			// A leap day moves the years against each other by one. In May the north gathers
			// no chill any more, and the south no warmth.
			still := site.Southern() == (name == "warmth")
			if l := v.Lead; l.Known == still || l.Days < -1 || l.Days > 1 || l.Rough || l.Sum <= 0 || l.Others != p.Basis.Years {
				t.Errorf("%v: %s %+v", site.Lat, name, l)
			}
		}
		if got := site.SeasonStart(p.Season); p.First != got || p.Warmth.First != got {
			t.Errorf("%v: begins on %v, want %v", site.Lat, p.First, got)
		}
	}
}

// everyYear is a record whose days depend on the time of year alone.
func everyYear(site Site, first, last Date) *Record {
	r := &Record{Source: "even", First: first}
	for d := first; d <= last; d++ {
		mean := 10 - 12*math.Cos(2*math.Pi*float64(d-site.SeasonStart(site.Season(d)))/365.25)
		r.Days = append(r.Days, Day{Tmin: mean - 5, Tmax: mean + 5, TminOrigin: Measured, TmaxOrigin: Measured})
	}
	return r
}

// Where every day since the season's start was two degrees warmer than in other years, this
// year is ahead, by the days that the sums themselves tell.
func TestProgressOfAWarmSpring(t *testing.T) {
	site := north(45)
	r := everyYear(site, NewDate(2000, 1, 1), NewDate(2016, 4, 30))
	for d := NewDate(2016, 1, 1); d <= r.Last(); d++ {
		r.Days[d-r.First].Tmin += 2
		r.Days[d-r.First].Tmax += 2
	}
	p := mustProgress(t, &Weather{Record: r}, site, r.Last())
	warmth := DegreeDays{Lower: 5, Upper: math.Inf(1)}
	sum, _ := warmth.Sum(r, NewDate(2016, 1, 1), r.Last())
	if l := p.Warmth.Lead; math.Abs(l.Sum-sum) > 1e-9 || l.Less != l.Others {
		t.Errorf("sum %v, by DegreeDays.Sum %v; more than %d of %d", l.Sum, sum, l.Less, l.Others)
	}
	until := NewDate(2015, 4, 30)
	for s := 0.0; s < sum; until++ {
		s, _ = warmth.Sum(r, NewDate(2015, 1, 1), until+1)
	}
	if got, want := p.Warmth.Lead.Days, int(until-NewDate(2015, 4, 30)); got < want-1 || got > want+1 || got < 5 {
		t.Errorf("%d days ahead, want %d", got, want)
	}
	if p.Chill.Lead.Sum <= 0 || p.Chill.At != r.Last() || p.Chill.First != NewDate(2015, 9, 1) || p.Chill.Last.Month() != 6 {
		t.Errorf("chill from %v to %v, %+v", p.Chill.First, p.Chill.Last, p.Chill.Lead)
	}
}

// The winter at hand is that of the coming spring from the first of autumn on.
func TestProgressOfWinters(t *testing.T) {
	for _, tt := range []struct {
		site        Site
		issue, from Date
	}{
		{north(45), NewDate(2015, 8, 31), NewDate(2014, 9, 1)},
		{north(45), NewDate(2015, 9, 1), NewDate(2015, 9, 1)},
		{north(45), NewDate(2016, 2, 29), NewDate(2015, 9, 1)},
		{north(-35), NewDate(2016, 2, 28), NewDate(2015, 3, 1)},
		{north(-35), NewDate(2016, 3, 1), NewDate(2016, 3, 1)},
		{north(-35), NewDate(2015, 7, 1), NewDate(2015, 3, 1)},
	} {
		p := mustProgress(t, &Weather{Normals: &maritime}, tt.site, tt.issue)
		if p.Chill.First != tt.from {
			t.Errorf("%v on %v: %v, want %v", tt.site.Lat, tt.issue, p.Chill.First, tt.from)
		}
	}
}

// With normals alone there is a band and no line of this year.
func TestProgressFromNormals(t *testing.T) {
	w := &Weather{Normals: &continental, Seed: 3}
	p := mustProgress(t, w, north(45), NewDate(2026, 4, 12))
	for _, v := range []Tally{p.Warmth, p.Chill} {
		if v.This != nil || v.At.Valid() || v.Lead != (Lead{}) {
			t.Errorf("this year: %v on %v, %+v", v.This, v.At, v.Lead)
		}
	}
	for _, d := range p.Days {
		if d.TminOrigin != Missing || d.TmaxOrigin != Missing {
			t.Fatalf("a day that nobody read: %+v", d)
		}
	}
	if p.Until.Valid() || p.Basis.Generated != typedMembers {
		t.Errorf("known to %v, %+v", p.Until, p.Basis)
	}
	// January's mean of the nights, and how far half of them lie from it at the most.
	if got := p.Tmin.P50[15]; math.Abs(got-continental.Tmin[0]) > 2 {
		t.Errorf("middle of January nights %v, normals %v", got, continental.Tmin[0])
	}
	again := mustProgress(t, w, north(45), NewDate(2026, 4, 12))
	if !reflect.DeepEqual(p, again) {
		t.Error("not the same again")
	}
}

func TestProgressFarNorthAndInTheTropics(t *testing.T) {
	warm := Normals{}
	cold := Normals{}
	for m := range 12 {
		warm.Tmin[m], warm.Tmax[m] = 23, 31
		season := -math.Cos(2 * math.Pi * float64(m) / 12)
		cold.Tmin[m], cold.Tmax[m] = -8+9*season, -2+9*season
	}
	p := mustProgress(t, &Weather{Normals: &warm}, north(2), NewDate(2026, 4, 12))
	for i, f := range append(p.LastFrost, p.FirstFrost...) {
		if f.Chance != 0 || f.P50.Valid() {
			t.Errorf("frost %d in the tropics: %+v", i, f)
		}
	}
	for _, v := range p.Nights {
		if v.Chance != [2]float64{} {
			t.Fatalf("a night of frost in the tropics: %+v", v)
		}
	}
	if got := p.Chill.Others.P90[len(p.Chill.Others.P90)-1]; got > 0.01 {
		t.Errorf("%v chill portions", got)
	}
	p = mustProgress(t, &Weather{Normals: &cold}, north(78), NewDate(2026, 6, 21)) // the sun does not set
	if p.Nights[0].Chance[0] < 0.1 || p.Nights[len(p.Nights)-1].Chance[0] < 0.95 {
		t.Errorf("frost at 78 N: %+v, %+v", p.Nights[0], p.Nights[len(p.Nights)-1])
	}
}

// Days that nobody read are gaps, and the sums say how many were filled; with more than a
// third of the days unread there are no sums of this year.
func TestProgressWithGaps(t *testing.T) {
	site := north(45)
	whole := everyYear(site, NewDate(2000, 1, 1), NewDate(2016, 4, 9)) // 100 days of a leap year
	for _, tt := range []struct {
		name      string
		out, days int // first day left out, counted from 1 January, and how many
		filled    int // -1: no sums
	}{{"none", 0, 0, 0}, {"ten days", 30, 10, 10}, {"a third", 40, 33, 33}, {"more", 40, 34, -1}} {
		from := NewDate(2016, 1, 1) + Date(tt.out)
		p := mustProgress(t, &Weather{Record: whole.Without(from, from+Date(tt.days)-1)}, site, whole.Last())
		filled := -1
		if p.Warmth.At.Valid() {
			filled = p.Warmth.Filled
		}
		missing := 0
		for _, d := range p.Days[:100] {
			if d.TminOrigin == Missing {
				missing++
			}
		}
		if filled != tt.filled || missing != tt.days {
			t.Errorf("%s: %d filled, %d missing; want %d", tt.name, filled, missing, tt.filled)
		}
	}
	// Readings that begin in spring sum up nothing, and other years come from the normals beside.
	late := &Record{Source: "own", First: NewDate(2016, 3, 1), Days: whole.Days[NewDate(2016, 3, 1)-whole.First:]}
	p := mustProgress(t, &Weather{Record: late, Normals: &continental}, site, whole.Last())
	if p.Warmth.At.Valid() || p.Days[70].TminOrigin != Measured || p.Basis.Generated == 0 {
		t.Errorf("sums to %v, %+v, %+v", p.Warmth.At, p.Days[70], p.Basis)
	}
}

// The weather forecast is drawn, and its nights stand for themselves, with their error: a minimum one error
// above the level is as cold in 15.9 of 100 cases (the normal distribution).
func TestProgressWithAForecast(t *testing.T) {
	site := north(45)
	r := everyYear(site, NewDate(2000, 1, 1), NewDate(2016, 4, 9))
	f := &Record{Source: "service", First: r.Last() + 1}
	for range 9 {
		f.Days = append(f.Days, Day{Tmin: 1.5, Tmax: 9, TminOrigin: Predicted, TmaxOrigin: Predicted})
	}
	p := mustProgress(t, &Weather{Record: r, Forecast: f}, site, r.Last())
	if got := p.Nights[0]; !got.Foretold || got.Tmin != 1.5 || math.Abs(got.Chance[0]-0.1587) > 1e-3 || math.Abs(got.Chance[1]-0.0098) > 1e-3 {
		t.Errorf("tonight: %+v", got)
	}
	if p.Nights[8].Chance[0] <= p.Nights[0].Chance[0] || p.Nights[9].Foretold {
		t.Errorf("later nights: %+v, %+v", p.Nights[8], p.Nights[9])
	}
	if d := p.Days[f.First-p.First]; d.TminOrigin != Predicted || d.Tmin != 1.5 || p.Until != r.Last() || p.Warmth.At != r.Last() {
		t.Errorf("foretold: %+v; known to %v, sums to %v", d, p.Until, p.Warmth.At)
	}
	// A hindcast knows nothing of what was read later.
	p = mustProgress(t, &Weather{Record: r}, site, NewDate(2010, 4, 9))
	if p.Until != NewDate(2010, 4, 9) || p.Days[120].TminOrigin != Missing || p.Nights[0].Foretold {
		t.Errorf("a hindcast: known to %v, %+v", p.Until, p.Days[120])
	}
}

// From midsummer on the spring ahead is the next one.
func TestProgressFrostsAhead(t *testing.T) {
	for _, tt := range []struct {
		site              Site
		issue, last, next Date // next: the middle of the spring frosts told
	}{
		{north(45), NewDate(2026, 4, 12), NewDate(2026, 12, 31), NewDate(2026, 4, 15)},
		{north(45), NewDate(2026, 10, 12), NewDate(2027, 6, 30), NewDate(2027, 4, 15)},
		{north(-45), NewDate(2026, 8, 12), NewDate(2027, 6, 30), NewDate(2026, 10, 15)},
		{north(-45), NewDate(2027, 2, 12), NewDate(2027, 12, 31), NewDate(2027, 10, 15)},
	} {
		n := continental
		if tt.site.Southern() {
			for m := range 12 {
				n.Tmin[m], n.Tmax[m] = continental.Tmin[(m+6)%12], continental.Tmax[(m+6)%12]
			}
			n.TminSD, n.TmaxSD = nil, nil
		}
		p := mustProgress(t, &Weather{Normals: &n}, tt.site, tt.issue)
		if got := p.Nights[len(p.Nights)-1].On; got != tt.last || p.Nights[0].On != tt.issue+1 {
			t.Errorf("%v, %v: nights to %v", tt.site.Lat, tt.issue, got)
		}
		f := p.LastFrost[0]
		if f.Chance < 0.9 || f.P50 < tt.next-60 || f.P50 > tt.next+60 || p.LastFrost[1].P50 > f.P50 || p.FirstFrost[1].P50 < p.FirstFrost[0].P50 {
			t.Errorf("%v, %v: last frosts %+v, first %+v", tt.site.Lat, tt.issue, p.LastFrost, p.FirstFrost)
		}
	}
	if _, err := (&Weather{}).Progress(north(45), NewDate(2026, 4, 12)); err == nil {
		t.Error("without any weather")
	}
	if _, err := (&Weather{Normals: &maritime}).Progress(north(45), NoDate); err == nil {
		t.Error("without a day")
	}
}

func BenchmarkProgress(b *testing.B) {
	site := north(45)
	w := &Weather{Record: invented(b, site, continental, NewDate(1990, 1, 1), NewDate(2020, 4, 12))}
	for b.Loop() {
		if _, err := w.Progress(site, NewDate(2020, 4, 12)); err != nil {
			b.Fatal(err)
		}
	}
}
