package climate

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// FrostLevels are the minima at which frost is told, C: the first that harms
// soft growth, and what hardened leaves and buds stand less and less of
// (common practice, no published source).
var FrostLevels = [3]float64{0, -2, -4}

// FrostDates says when the last frost of spring and the first of autumn fall at
// a place, over many seasons. A frost is a day whose minimum is at or below
// Level. Spring and autumn part at [Site.Midsummer].
type FrostDates struct {
	Level  float64   `json:"level"` // C
	Spring FrostHalf `json:"spring"`
	Autumn FrostHalf `json:"autumn"`
}

// FrostHalf is the distribution of the last frost of spring or the first frost
// of autumn. Quantiles are of all seasons, those without frost counted: in spring
// these stand before every day, in autumn after. P90 of spring is the day by
// which the last frost has passed in nine seasons of ten, P10 of autumn that by
// which the first has come in one of ten. Nil means that so many seasons have no
// frost at all in their half: a frost-free place has three nils, and Frosts 0; that
// is a result. At a place that never thaws the days stand next to midsummer, and
// Frosts equals Seasons.
type FrostHalf struct {
	Seasons int `json:"seasons"` // halves of seasons that were read well enough
	Frosts  int `json:"frosts"`  // those of them with frost

	P10 *MonthDay `json:"p10,omitempty"`
	P50 *MonthDay `json:"p50,omitempty"`
	P90 *MonthDay `json:"p90,omitempty"`
}

// unreadDays is how many days of half a season may be unread before its frosts
// do not count: the rule of ten missing days that state climatologies in the
// United States use (Utah Climate Center, help to its freeze tables).
const unreadDays = 10

// Frost returns the frost dates of r at a level, C. Only measured minima count;
// halves with more than ten days unread are left out.
func (r *Record) Frost(site Site, level float64) FrostDates {
	out := FrostDates{Level: level}
	if len(r.Days) == 0 {
		return out
	}
	var spring, autumn []int
	for s := site.Season(r.First); s <= site.Season(r.Last()); s++ {
		start, mid, end := site.SeasonStart(s), site.Midsummer(s), site.SeasonStart(s+1)
		if d, ok := r.frost(mid-1, start, level); ok {
			spring = append(spring, offset(d, mid))
		}
		if d, ok := r.frost(mid, end-1, level); ok {
			autumn = append(autumn, offset(d, mid))
		}
	}
	out.Spring = frostHalf(site, spring, -1)
	out.Autumn = frostHalf(site, autumn, 1)
	return out
}

// frost returns the first measured frost on the way from one day to another,
// forwards or backwards, and false when too few days between were read.
func (r *Record) frost(from, to Date, level float64) (found Date, ok bool) {
	step, found, unread := Date(1), NoDate, 0
	if to < from {
		step = -1
	}
	for d := from; d != to+step; d += step {
		switch day := r.At(d); {
		case day.TminOrigin != Measured:
			unread++
		case day.Tmin <= level && !found.Valid():
			found = d
		}
	}
	return found, unread <= unreadDays
}

// Frost returns the frost dates of season over the outlook's members at a
// level, C.
func (o *Outlook) Frost(season int, level float64) FrostDates {
	mid := o.Site.Midsummer(season)
	half := func(s Sample, side int) FrostHalf {
		days := make([]int, len(s))
		for i, d := range s {
			days[i] = offset(d, mid)
		}
		return frostHalf(o.Site, days, side)
	}
	return FrostDates{level, half(o.LastFrost(season, level), -1), half(o.FirstFrost(season, level), 1)}
}

// noFrost stands for the season without one.
const noFrost = math.MinInt

// offset counts days from midsummer, so that leap days change nothing.
func offset(d, mid Date) int {
	if !d.Valid() {
		return noFrost
	}
	return int(d - mid)
}

// frostHalf puts the distribution of one half together; side is -1 for spring, 1
// for autumn. It is the mixed distribution of NOAA's freeze and frost
// probabilities: a share of seasons without frost, and a continuous distribution of the
// days of the others (looked up: the description of NCEI's data set "Last
// freeze/frost probability"). That the latter is the normal one is
// after Thom and Shaw (1958), Climatological analysis of freeze data for Iowa, from
// memory. Unlike NOAA, which counts a season with a single frost as one without, a
// season counts as without frost only when it has none: one night is enough.
func frostHalf(site Site, days []int, side int) FrostHalf {
	h := FrostHalf{Seasons: len(days)}
	var at []float64
	for _, d := range days {
		if d != noFrost {
			at = append(at, float64(d))
		}
	}
	h.Frosts = len(at)
	if h.Frosts == 0 {
		return h
	}
	const reference = 2001 // season in which days are named; without 29 February
	mid := site.Midsummer(reference)
	share := float64(h.Frosts) / float64(h.Seasons)
	fit := distuv.Normal{Mu: stat.Mean(at, nil), Sigma: 0}
	if h.Frosts > 1 {
		fit.Sigma = stat.StdDev(at, nil)
	}
	quantile := func(p float64) *MonthDay {
		if side < 0 {
			p -= 1 - share // seasons without frost stand first
		}
		p /= share
		if p <= 0 || p > 1 || p == 1 && share < 1 {
			return nil
		}
		x := math.Round(fit.Mu)
		if fit.Sigma > 0 {
			x = math.Round(fit.Quantile(p))
		}
		first, last := site.SeasonStart(reference)-mid, Date(-1)
		if side > 0 {
			first, last = 0, site.SeasonStart(reference+1)-mid-1
		}
		d := monthDay(mid + Date(min(max(x, float64(first)), float64(last))))
		return &d
	}
	h.P10, h.P50, h.P90 = quantile(0.1), quantile(0.5), quantile(0.9)
	return h
}
