package calendar

import (
	"math"
	"sort"

	"budswell/climate"
)

// Growth counts growing seasons at a site by warmth, so that a short cool
// summer earns less than a long warm one, and winter nothing. One growing season
// is the site's typical yearly sum of degree-days above 5 C. Where the outlook
// covers a day the day's own warmth counts (the mean of the members), elsewhere
// that of its time of year. That seasons, not years, decide when a tree may be
// worked again is common practice, no published source; so is 5 C as the base
// of growth.
//
// A place without any warmth has no growing seasons: nothing passes there.
type Growth struct {
	site  climate.Site
	first climate.Date // of the outlook

	// typical[i] is the share of a season's warmth that has come before its
	// i-th day; known[i] the seasons that passed from first to first+i.
	typical [367]float64
	known   []float64
}

// growthBase is the temperature above which trees are taken to grow, C.
const growthBase = 5

// enoughOfSeason is the share of a required growing season after which it
// counts as passed, so that a summer a little cooler than usual, or buds that
// swell a week earlier than last year, do not cost a year.
const enoughOfSeason = 0.9

// NewGrowth prepares to count seasons at the site of o.
func NewGrowth(o *climate.Outlook) *Growth {
	g := &Growth{site: o.Site, first: o.First}
	if len(o.Members) == 0 {
		return g
	}
	daily := make([]float64, len(o.Members[0].Tmin))
	for i := range o.Members {
		m := &o.Members[i]
		for k := range daily {
			daily[k] += max(0, (m.Tmin[k]+m.Tmax[k])/2-growthBase) / float64(len(o.Members))
		}
	}
	start := o.Site.SeasonStart(o.Site.Season(o.Issue) + 1) // the first season in which members differ
	if start+365 > o.Last() {
		start = o.Site.SeasonStart(o.Site.Season(o.Issue))
	}
	total := 0.0
	for i := range 366 {
		if k := int(start-o.First) + min(i, 364); k >= 0 && k < len(daily) {
			total += daily[k]
		}
		g.typical[i+1] = total
	}
	if total == 0 {
		return g
	}
	for i := range g.typical {
		g.typical[i] /= total
	}
	g.known = make([]float64, len(daily)+1)
	for k, v := range daily {
		g.known[k+1] = g.known[k] + v/total
	}
	return g
}

// clock returns the growing seasons from a fixed day to d.
func (g *Growth) clock(d climate.Date) float64 {
	n := climate.Date(max(0, len(g.known)-1))
	if k := d - g.first; n > 0 && k >= 0 {
		last := min(k, n)
		return g.calendar(g.first) + g.known[last] + g.calendar(g.first+k) - g.calendar(g.first+last)
	}
	return g.calendar(d)
}

// calendar is clock by the time of year alone.
func (g *Growth) calendar(d climate.Date) float64 {
	if g.typical[366] == 0 {
		return 0
	}
	s := g.site.Season(d)
	return float64(s) + g.typical[d-g.site.SeasonStart(s)]
}

// Seasons returns how many growing seasons passed from one day to another;
// negative when to lies before from.
func (g *Growth) Seasons(from, to climate.Date) float64 { return g.clock(to) - g.clock(from) }

// Passed reports whether a number of growing seasons, as a rule requires them,
// has passed from one day to another. Nine tenths of it are enough.
func (g *Growth) Passed(from, to climate.Date, seasons float64) bool {
	return g.Seasons(from, to) >= enoughOfSeason*seasons
}

// PassedBy returns the first day on which [Growth.Passed] holds, NoDate when it
// does not within forty years.
func (g *Growth) PassedBy(from climate.Date, seasons float64) climate.Date {
	const horizon = 40 * 366
	want := g.clock(from) + enoughOfSeason*seasons
	n := sort.Search(horizon, func(i int) bool { return g.clock(from+climate.Date(i)) >= want })
	if n == horizon || math.IsNaN(want) {
		return climate.NoDate
	}
	return from + climate.Date(n)
}
