package climate

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Reckoned by hand from the definition: the mean of the two temperatures less 5 C, never below nought.
func TestWarmthSums(t *testing.T) {
	got := warmthSums([]float64{-2, 0, 4, 10}, []float64{8, 12, 14, 20})
	if want := []float64{0, 1, 5, 15}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// Three years of which each gathers one unit a day, from the first, third and fifth day on; and
// one in which nothing comes before the last day.
func TestLead(t *testing.T) {
	from := func(k int) (year []float64) {
		for d := range 12 {
			year = append(year, max(0, float64(d-k+1)))
		}
		return year
	}
	even := [][]float64{from(0), from(2), from(4)}
	for _, tt := range []struct {
		name   string
		others [][]float64
		sum    float64
		day    int
		want   Lead
	}{
		{"as the middle year", even, 4, 5, Lead{Sum: 4, Others: 3, Less: 1, Days: 0, Known: true, Low: -2, High: 2}},
		{"ahead", even, 6, 5, Lead{Sum: 6, Others: 3, Less: 2, Days: 2, Known: true, Low: 0, High: 4}},
		{"behind", even, 1, 5, Lead{Sum: 1, Others: 3, Less: 0, Days: -3, Known: true, Low: -5, High: -1}},
		{"nothing summed yet", even, 0, 1, Lead{Others: 3}},
		{"more than the middle year ever has", even, 11, 6, Lead{Sum: 11, Others: 3, Less: 3, Low: 4, High: NeverReached}},
		{"less than others had on their first day", [][]float64{{3, 4}}, 1, 1, Lead{Sum: 1, Others: 1, Days: -2, Known: true, Low: -2, High: -2}},
		{"alone", nil, 5, 3, Lead{Sum: 5}},
	} {
		if got := leadOf(tt.others, tt.sum, tt.day, false); got != tt.want {
			t.Errorf("%s: %+v, want %+v", tt.name, got, tt.want)
		}
	}
}

// With ten values the third from either end hold the median but for 2 (1 + 10 + 45) of 1024 cases, 10.9 %,
// and the fourth but for 34 %; with four the outermost miss it in 2 of 16, 12.5 %.
func TestMedianRank(t *testing.T) {
	for n, want := range map[int]int{1: 1, 2: 1, 4: 1, 10: 3} {
		if got := medianRank(n); got != want {
			t.Errorf("of %d: %d, want %d", n, got, want)
		}
	}
	// Coverage by its definition, for numbers of years that records have.
	for n := 5; n <= 120; n++ {
		r := medianRank(n)
		missed, c := 0.0, math.Pow(0.5, float64(n))
		for k := range r {
			missed += 2 * c
			c *= float64(n-k) / float64(k+1)
		}
		if missed > 0.2 {
			t.Errorf("of %d values the %d. from either end miss the median in %.2f", n, r, missed)
		}
	}
}

// drawYears draws running sums of some years.
func drawYears(t *rapid.T) [][]float64 {
	n := rapid.IntRange(2, 40).Draw(t, "days")
	out := make([][]float64, rapid.IntRange(1, 12).Draw(t, "years"))
	for i := range out {
		sum := 0.0
		for range n {
			sum += rapid.Float64Range(0, 20).Draw(t, "a day's")
			out[i] = append(out[i], sum)
		}
	}
	return out
}

func TestLeadProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		years := drawYears(t)
		n := len(years[0])
		day := rapid.IntRange(0, n-1).Draw(t, "day")
		own := years[rapid.IntRange(0, len(years)-1).Draw(t, "own")]
		if got := ahead(own, own[day], day); got != 0 {
			t.Fatalf("a year is %d days ahead of itself", got)
		}
		sum := rapid.Float64Range(0.1, 300).Draw(t, "sum")
		less, more := leadOf(years, sum, day, false), leadOf(years, sum+rapid.Float64Range(0, 50).Draw(t, "more"), day, false)
		if more.Less < less.Less || less.Known && more.Known && more.Days < less.Days || more.High < less.High || more.Low < less.Low {
			t.Fatalf("more warmth is further behind: %+v, %+v", less, more)
		}
		if l := less; l.Known && (l.Low > l.Days || l.High < l.Days) {
			t.Fatalf("the middle year's days %d lie outside %d to %d", l.Days, l.Low, l.High)
		}
	})
}

func TestBand(t *testing.T) {
	// Eleven years with the values 0 to 10 on every day: the tenth and nine tenths are 1 and 9.
	value := func(year int, _ Date) float64 { return float64(10 - year) }
	b := bandOf(11, 100, 2, 3, value)
	if want := (Band{100, []float64{1, 1}, []float64{5, 5}, []float64{9, 9}}); !slices.Equal(b.P10, want.P10) || !slices.Equal(b.P50, want.P50) || !slices.Equal(b.P90, want.P90) {
		t.Errorf("%+v, want %+v", b, want)
	}
	// One year that rises by a degree a day: with a day on either side, the middle of three.
	b = bandOf(1, 10, 3, 1, func(_ int, d Date) float64 { return float64(d) })
	if want := []float64{10, 11, 12}; !slices.Equal(b.P50, want) {
		t.Errorf("middle %v, want %v", b.P50, want)
	}
	rapid.Check(t, func(t *rapid.T) {
		years := drawYears(t)
		b := bandOf(len(years), 0, len(years[0]), 0, func(i int, d Date) float64 { return years[i][d] })
		for k := range b.P50 {
			if b.P10[k] > b.P50[k] || b.P50[k] > b.P90[k] || k > 0 && (b.P10[k] < b.P10[k-1] || b.P90[k] < b.P90[k-1]) {
				t.Fatalf("day %d: %v %v %v", k, b.P10[k], b.P50[k], b.P90[k])
			}
		}
	})
}
