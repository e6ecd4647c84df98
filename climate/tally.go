package climate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Tally is something that adds up from day to day, such as warmth or chill, this year
// and in other years.
type Tally struct {
	First, Last Date

	// Others is the band of the other years' sums at the end of each day, First to Last.
	Others Band

	// This are the sums of this year at the end of each day from First up to At, on which the
	// temperatures of Filled days were not measured but taken from the days around or from
	// the usual year. It is empty, and At NoDate, where more than a third of the days
	// would have to be filled, and where the record begins later.
	This   []float64
	At     Date
	Filled int

	Lead Lead // on At
}

// Lead is how far a year is ahead of others in a sum, in days: a year is so many days
// behind as it goes on before it has the sum as well, and so many ahead as it had it before.
type Lead struct {
	Sum    float64 // this year's
	Middle float64 // what half of the others do not pass on the same day

	Others int // other years
	Less   int // of these, those with less on the same day

	// Days is how far this year is ahead of the middle one; negative: behind. Known is false, and the
	// days mean nothing, where nothing has been summed yet, where the middle year comes to so much on no day,
	// and at times of the year at which it gathers next to nothing, such as warmth in winter.
	Days  int
	Known bool

	// Low and High hold the middle year's days in 8 of 10 cases: so far is it known from so
	// many years, whose order alone counts (the interval of order statistics about a median: Conover,
	// Practical Nonparametric Statistics, chapter 3, from memory). Where some of the other years are generated
	// Rough is true, and they are the 10 and 90 % days of the single years, which is wider. High is
	// [NeverReached] where years that never come to so much are among them.
	Low, High int
	Rough     bool
}

// NeverReached stands for the days after which a year comes to a sum that it never comes to.
const NeverReached = math.MaxInt32

// tally compares the sums of one year with those of others. Sums are at the end of each day
// from first on, and of the others of as many days.
func tally(first Date, others [][]float64, this []float64, rough bool) Tally {
	n := 0
	if len(others) > 0 {
		n = len(others[0])
	}
	t := Tally{First: first, Last: first + Date(n) - 1, This: this, At: NoDate}
	t.Others = bandOf(len(others), first, n, 0, func(i int, d Date) float64 { return others[i][d-first] })
	if len(this) > 0 && len(this) <= n {
		t.At = first + Date(len(this)) - 1
		k := len(this) - 1
		t.Lead = leadOf(others, this[k], k, rough)
		t.Lead.Middle = t.Others.P50[k]
		if standsStill(t.Others.P50, k) {
			t.Lead.Known, t.Lead.Days, t.Lead.Low, t.Lead.High = false, 0, 0, 0
		}
	}
	return t
}

// A sum stands still on a day when over the month about it it grows by less than a twentieth of
// its mean over all its days. Judged, no published source: the days that a small difference is then worth
// would be many and say nothing.
const (
	stillAbout = 15 // days on either side
	stillShare = 0.05
)

func standsStill(sums []float64, k int) bool {
	from, to := max(0, k-stillAbout), min(k+stillAbout, len(sums)-1)
	mean := sums[len(sums)-1] / float64(len(sums))
	return to == from || (sums[to]-sums[from])/float64(to-from) <= stillShare*mean
}

// leadOf compares a sum on day k with the sums of other years.
func leadOf(others [][]float64, sum float64, k int, rough bool) Lead {
	l := Lead{Sum: sum, Others: len(others), Rough: rough}
	days := make([]int, len(others))
	for i, year := range others {
		if year[k] < sum {
			l.Less++
		}
		days[i] = ahead(year, sum, k)
	}
	slices.Sort(days)
	n := len(days)
	if n == 0 || sum == 0 {
		return l
	}
	if before, after := days[(n-1)/2], days[n/2]; after != NeverReached {
		l.Days, l.Known = (before+after)/2, true
	}
	rank := medianRank(n)
	if rough {
		rank = max(1, int(0.1*float64(n))+1)
	}
	l.Low, l.High = days[rank-1], days[n-rank]
	return l
}

// ahead returns how many days before a year somebody is who has the sum on day k.
func ahead(year []float64, sum float64, k int) int {
	switch {
	case year[k] < sum:
		for d := k + 1; d < len(year); d++ {
			if year[d] >= sum {
				return d - k
			}
		}
		return NeverReached
	case year[k] > sum:
		for d := k - 1; d >= 0; d-- {
			if year[d] <= sum {
				return d - k
			}
		}
		return -k - 1
	}
	return 0
}

// medianRank returns which of n values in order, and which from the other end, hold the median
// of what they are drawn from in 8 of 10 cases at least; 1 where even the outermost hold it in fewer.
func medianRank(n int) int {
	below := distuv.Binomial{N: float64(n), P: 0.5}
	r := 1
	for r < n/2 && below.CDF(float64(r)) <= 0.1 {
		r++
	}
	return r
}
