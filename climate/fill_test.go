package climate

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// flat is a cycle without seasons: minima of 0 C and maxima of 10 C, each with a
// standard deviation of 4 C.
func flat(cross float64) *Cycle {
	c := &Cycle{lag1: 0.6, cross: cross}
	for i := range c.tmin {
		c.tmax[i], c.tminSD[i], c.tmaxSD[i] = 10, 4, 4
	}
	return c
}

func day(tmin, tmax float64) Day {
	d := Day{Tmin: tmin, Tmax: tmax, TminOrigin: Measured, TmaxOrigin: Measured}
	if math.IsNaN(tmin) {
		d.Tmin, d.TminOrigin = 0, Missing
	}
	if math.IsNaN(tmax) {
		d.Tmax, d.TmaxOrigin = 0, Missing
	}
	return d
}

func TestFill(t *testing.T) {
	hole := day(nan, nan)
	r := &Record{First: NewDate(2024, 2, 27), Days: []Day{
		hole,                   // nothing before it: typical
		day(3, 13), hole, hole, // two days, from 3 to 6 above and from 3 to 0
		day(6, 10),
		day(nan, 14), day(4, nan), // one standard deviation above
		day(nan, -9), day(15, nan), // a departure beyond the other temperature
		hole, hole, hole, hole, hole, hole, // six days: typical
		day(0, 10),
	}}
	got := r.Fill(flat(0.5))
	type row struct {
		tmin, tmax float64
		o          [2]Origin
	}
	typical, drawn := [2]Origin{Typical, Typical}, [2]Origin{Interpolated, Interpolated}
	want := []row{
		{0, 10, typical},
		{3, 13, [2]Origin{Measured, Measured}},
		{4, 12, drawn},
		{5, 11, drawn},
		{6, 10, [2]Origin{Measured, Measured}},
		{2, 14, [2]Origin{Interpolated, Measured}},
		{4, 12, [2]Origin{Measured, Interpolated}},
		{-9.5, -9, [2]Origin{Interpolated, Measured}},
		{15, 17.5, [2]Origin{Measured, Interpolated}},
		{0, 10, typical},
		{0, 10, typical},
		{0, 10, typical},
		{0, 10, typical},
		{0, 10, typical},
		{0, 10, typical},
		{0, 10, [2]Origin{Measured, Measured}},
	}
	for i, w := range want {
		d := got.Days[i]
		if math.Abs(d.Tmin-w.tmin) > 1e-9 || math.Abs(d.Tmax-w.tmax) > 1e-9 || [2]Origin{d.TminOrigin, d.TmaxOrigin} != w.o {
			t.Errorf("day %d: %+v, want %+v", i, d, w)
		}
	}
	if f, want := got.Filling(r.First-1, got.Last()), (Filling{Measured: 3, Interpolated: 6, Typical: 7, Missing: 1}); f != want {
		t.Errorf("filling %+v, want %+v", f, want)
	}
}

// gappy draws a record with gaps of any kind.
func gappy(t *rapid.T) *Record {
	r := &Record{First: NewDate(2023, 1, 1) + Date(rapid.IntRange(0, 800).Draw(t, "first"))}
	for range rapid.IntRange(1, 60).Draw(t, "days") {
		lo := rapid.Float64Range(-30, 30).Draw(t, "tmin")
		d := day(lo, lo+rapid.Float64Range(0, 20).Draw(t, "range"))
		if rapid.Float64Range(0, 1).Draw(t, "no tmin") < 0.3 {
			d.Tmin, d.TminOrigin = 0, Missing
		}
		if rapid.Float64Range(0, 1).Draw(t, "no tmax") < 0.3 {
			d.Tmax, d.TmaxOrigin = 0, Missing
		}
		r.Days = append(r.Days, d)
	}
	return r
}

func TestFillProperties(t *testing.T) {
	c, err := continental.Cycle(north(45))
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		r := gappy(t)
		before := append([]Day(nil), r.Days...)
		f := r.Fill(c)
		if !reflect.DeepEqual(before, r.Days) {
			t.Fatal("filling changed the record it was given")
		}
		for i, d := range f.Days {
			was := r.Days[i]
			if was.TminOrigin == Measured && (d.Tmin != was.Tmin || d.TminOrigin != Measured) ||
				was.TmaxOrigin == Measured && (d.Tmax != was.Tmax || d.TmaxOrigin != Measured) {
				t.Fatalf("day %d: %+v was measured as %+v", i, d, was)
			}
			if was.TminOrigin == Missing && d.TminOrigin == Measured || d.TminOrigin == Missing || d.TmaxOrigin == Missing {
				t.Fatalf("day %d: origins of %+v", i, d)
			}
			if d.Tmin > d.Tmax {
				t.Fatalf("day %d: minimum above maximum in %+v", i, d)
			}
		}
		if again := f.Fill(c); !reflect.DeepEqual(again, f) {
			t.Fatal("filling twice is not filling once")
		}
	})
}

// TestFillHarvardForest hides days that were read and compares: filling must
// come nearer than the typical year does.
func TestFillHarvardForest(t *testing.T) {
	_, r := harvard(t)
	c, err := r.Cycle()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name  string
		gap   int
		tmin  bool // hide the minimum
		tmax  bool
		least float64 // the share of the typical year's square error that must go
	}{{"minimum alone", 20, true, false, 0.2}, {"maximum alone", 20, false, true, 0.2}, {"one day of both", 1, true, true, 0.3}, {"three days of both", 3, true, true, 0.1}} {
		hidden := &Record{First: r.First, Days: append([]Day(nil), r.Days...)}
		var gone []int
		for i := 10; i+40 < len(r.Days); i += 40 {
			for k := i; k < i+tt.gap; k++ {
				if !r.Days[k].measured() {
					continue
				}
				gone = append(gone, k)
				if tt.tmin {
					hidden.Days[k].TminOrigin = Missing
				}
				if tt.tmax {
					hidden.Days[k].TmaxOrigin = Missing
				}
			}
		}
		filled := hidden.Fill(c)
		var mine, typical float64
		for _, k := range gone {
			tmin, tmax := c.At(r.First + Date(k))
			mine += square(filled.Days[k].Tmin-r.Days[k].Tmin) + square(filled.Days[k].Tmax-r.Days[k].Tmax)
			if tt.tmin {
				typical += square(tmin - r.Days[k].Tmin)
			}
			if tt.tmax {
				typical += square(tmax - r.Days[k].Tmax)
			}
		}
		t.Logf("%s: square error %.2f of that of the typical year", tt.name, mine/typical)
		if mine > (1-tt.least)*typical {
			t.Errorf("%s: square error %.2f of that of the typical year", tt.name, mine/typical)
		}
	}
}

func square(v float64) float64 { return v * v }

func TestSeasonsAndSeries(t *testing.T) {
	for _, tt := range []struct {
		site Site
		want []int
	}{{north(45), span(2001, 2003)}, {north(-35), span(2000, 2002)}} {
		r := seasonsOf(north(45), 2000, 2003)
		r = r.Without(r.First, NewDate(2000, 6, 30)) // of season 2000 in the north half is gone
		if got := r.Seasons(tt.site); !reflect.DeepEqual(got, tt.want) {
			t.Errorf("lat %v: seasons %v, want %v", tt.site.Lat, got, tt.want)
		}
	}
	r := seasonsOf(north(45), 2001, 2001)
	r.Days[3].Tmin = 7
	if m, ok := r.Series(r.First+2, 3); !ok || !reflect.DeepEqual(m.Tmin, []float64{10, 7, 10}) || len(m.Tmax) != 3 {
		t.Errorf("series %v, %v", m, ok)
	}
	for _, x := range []struct {
		name  string
		first Date
		n     int
	}{{"before", r.First - 1, 3}, {"beyond", r.Last() - 1, 3}} {
		if _, ok := r.Series(x.first, x.n); ok {
			t.Errorf("%s: a series where there is none", x.name)
		}
	}
	r.Days[3].TmaxOrigin = Missing
	if _, ok := r.Series(r.First+2, 3); ok {
		t.Error("a series over a day that is missing")
	}
}
