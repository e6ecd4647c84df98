package climate

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The file's closed forms are of other code; its _num columns integrate the
// curves in 100,000 steps. See testdata/SOURCES.md.
func TestDegreeDaysReference(t *testing.T) {
	none := math.Inf(1)
	methods := map[string]Method{"average": SimpleAverage, "triangle": SingleTriangle, "sine": SingleSine}
	rows := readTable(t, "degree_days.csv")
	for _, row := range rows {
		tmin, tmax := number(t, row, "tmin"), number(t, row, "tmax")
		lower, upper := number(t, row, "lower"), number(t, row, "upper")
		for name, method := range methods {
			for suffix, upper := range map[string]float64{"": none, "_cut": upper} {
				got := DegreeDays{method, lower, upper}.Day(tmin, tmax)
				if want := number(t, row, name+suffix); !(math.Abs(got-want) <= 5.1e-9) { // eight decimals
					t.Errorf("%s%s of %v to %v over %v: %.9f, want %.8f", name, suffix, tmin, tmax, lower, got, want)
				}
				if method == SimpleAverage {
					continue
				}
				if want := number(t, row, name+suffix+"_num"); !(math.Abs(got-want) <= 2e-8) {
					t.Errorf("%s%s of %v to %v over %v: %.9f, integrated %.8f", name, suffix, tmin, tmax, lower, got, want)
				}
			}
		}
	}
	if len(rows) != 42 {
		t.Errorf("%d cases, want 42", len(rows))
	}
}

// drawDay draws a day's temperatures and thresholds such as a station and a
// model may have, among them days without a range and thresholds at their edges.
func drawDay(t *rapid.T) (tmin, tmax, lower, upper float64) {
	tmin = rapid.Float64Range(-60, 45).Draw(t, "tmin")
	tmax = tmin + rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0, 40)).Draw(t, "range")
	lower = rapid.OneOf(rapid.Float64Range(-15, 20), rapid.Just(tmin), rapid.Just(tmax)).Draw(t, "lower")
	upper = lower + rapid.OneOf(rapid.Just(math.Inf(1)), rapid.Float64Range(0, 40)).Draw(t, "upper above lower")
	return tmin, tmax, lower, upper
}

func TestDegreeDayProperties(t *testing.T) {
	const eps = 1e-9
	rapid.Check(t, func(t *rapid.T) {
		tmin, tmax, lower, upper := drawDay(t)
		warmer := rapid.Float64Range(0, 5).Draw(t, "warmer")
		for _, method := range []Method{SimpleAverage, SingleTriangle, SingleSine} {
			k := DegreeDays{method, lower, upper}
			got := k.Day(tmin, tmax)
			if !(got >= 0 && got <= upper-lower+eps && got <= max(0, tmax-lower)+eps) {
				t.Fatalf("%v: %v out of range", method, got)
			}
			for _, day := range [][2]float64{{tmin + warmer, tmax + warmer}, {tmin, tmax + warmer}, {min(tmin+warmer, tmax), tmax}} {
				if more := k.Day(day[0], day[1]); more < got-eps {
					t.Fatalf("%v: %v to %v gives %v, the warmer %v to %v gives %v", method, tmin, tmax, got, day[0], day[1], more)
				}
			}
			if above := (DegreeDays{method, tmin - warmer, tmax + warmer}).Day(tmin, tmax); math.Abs(above-((tmin+tmax)/2-tmin+warmer)) > eps {
				t.Fatalf("%v: uncut day gives %v, want its mean above the threshold", method, above)
			}
		}
		// What a curve has above a threshold less what it has below is its mean
		// less the threshold, and below is above upside down.
		for name, above := range map[string]func(_, _, _ float64) float64{"triangle": triangleAbove, "sine": sineAbove} {
			balance := above(tmin, tmax, lower) - above(-tmax, -tmin, -lower)
			if want := (tmin+tmax)/2 - lower; math.Abs(balance-want) > eps {
				t.Fatalf("%s: above less below is %v, want %v", name, balance, want)
			}
		}
		average := DegreeDays{SimpleAverage, lower, math.Inf(1)}.Day(tmin, tmax)
		triangle := DegreeDays{SingleTriangle, lower, math.Inf(1)}.Day(tmin, tmax)
		sine := DegreeDays{SingleSine, lower, math.Inf(1)}.Day(tmin, tmax)
		if average > triangle+eps || triangle > sine+eps {
			t.Fatalf("average %v, triangle %v, sine %v: want them in rising order", average, triangle, sine)
		}
	})
}

func TestDegreeDaySum(t *testing.T) {
	first := NewDate(2024, time.February, 28)
	known := Day{Tmin: 5, Tmax: 17, TminOrigin: Measured, TmaxOrigin: Interpolated}
	r := &Record{First: first, Days: []Day{known, known, {Tmin: 5, Tmax: 17, TmaxOrigin: Measured}, known}}
	k := DegreeDays{SingleSine, 5, math.Inf(1)}
	for _, test := range []struct {
		first, last Date
		sum         float64
		missing     int
	}{
		{first, first + 3, 18, 1}, // 28 and 29 February, a day without a minimum, 2 March
		{first, first, 6, 0},
		{first - 2, first + 5, 18, 5},
		{first + 1, first, 0, 0},
	} {
		sum, missing := k.Sum(r, test.first, test.last)
		if sum != test.sum || missing != test.missing {
			t.Errorf("%v to %v: %v, %d missing; want %v, %d", test.first, test.last, sum, missing, test.sum, test.missing)
		}
	}
}

func BenchmarkDegreeDaysYear(b *testing.B) {
	r := &Record{First: NewDate(2025, time.January, 1), Days: make([]Day, 365)}
	for i := range r.Days {
		mean := 8 - 12*math.Cos(2*math.Pi*float64(i)/365)
		r.Days[i] = Day{Tmin: mean - 6, Tmax: mean + 6, TminOrigin: Measured, TmaxOrigin: Measured}
	}
	k := DegreeDays{SingleSine, 5, 30}
	for b.Loop() {
		k.Sum(r, r.First, r.Last())
	}
}
