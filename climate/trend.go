package climate

import (
	"cmp"
	"slices"
)

// Shift is how much warmer the seasons of late are than another season's own
// time was, C, in the first and the second half of a season.
type Shift struct{ Tmin, Tmax [2]float64 }

// recent is the number of seasons whose mean tells the climate of their time:
// long enough to smooth single seasons, short enough to follow the trend.
// Source, from memory: Huang, van den Dool and Barnston 1996, Journal of Climate
// 9:809, who found 10 years for temperatures; 15 was fixed here before others
// were tried.
const recent = 15

// trendWants is the number of seasons with which a trend is told at all.
const trendWants = 25

// Windows of a season, in days from its start, whose means tell its halves: mid
// February to May, and August to November, in the north.
var shiftWindows = [2][2]int{{46, 151}, {212, 334}}

// Shifts returns for each of the seasons, all covered by r without gaps, what to
// add to its temperatures so that the mean of its time becomes that of the
// target's: the difference of the means of the fifteen seasons nearest to
// either, among those given without the target. With fewer than 25 seasons
// nothing is added.
func (r *Record) Shifts(site Site, seasons []int, target int) []Shift {
	out := make([]Shift, len(seasons))
	if len(seasons) < trendWants {
		return out
	}
	means := make([]Shift, len(seasons))
	for i, s := range seasons {
		for half, w := range shiftWindows {
			for k := w[0]; k < w[1]; k++ {
				day, n := r.At(site.SeasonStart(s)+Date(k)), float64(w[1]-w[0])
				means[i].Tmin[half] += day.Tmin / n
				means[i].Tmax[half] += day.Tmax / n
			}
		}
	}
	around := func(year int) (mean Shift) {
		near := make([]int, 0, len(seasons))
		for i, s := range seasons {
			if s != target {
				near = append(near, i)
			}
		}
		distance := func(i int) int { return max(seasons[i]-year, year-seasons[i]) }
		slices.SortStableFunc(near, func(a, b int) int { return cmp.Compare(distance(a), distance(b)) })
		for _, i := range near[:recent] {
			for half := range 2 {
				mean.Tmin[half] += means[i].Tmin[half] / recent
				mean.Tmax[half] += means[i].Tmax[half] / recent
			}
		}
		return mean
	}
	now := around(target)
	for i, s := range seasons {
		then := around(s)
		for half := range 2 {
			out[i].Tmin[half] = now.Tmin[half] - then.Tmin[half]
			out[i].Tmax[half] = now.Tmax[half] - then.Tmax[half]
		}
	}
	return out
}

// On returns temperatures of the given half of a season, 0 or 1, after the shift.
func (s *Shift) On(half int, tmin, tmax float64) (lo, hi float64) {
	return ordered(tmin+s.Tmin[half], tmax+s.Tmax[half])
}
