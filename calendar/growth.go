package calendar

import (
	"sort"

	"budswell/climate"
)

// Growth counts growing seasons at a site by warmth, so that a short cool
// summer earns less than a long warm one, and winter nothing. One growing season
// is the site's typical yearly sum of degree-days above 5 C while leaves are on, or
// [wholeSeason] where that is more: at a place with a markedly short and cool summer
// a year is less than one. Leaves are on from leaf-out to leaf fall; evergreens are
// counted the whole year. Where the outlook covers a day the day's own warmth counts
// (the mean of the members), elsewhere that of its time of year. That seasons, not
// years, decide when a tree may be worked again is common practice, no published
// source; so is 5 C as the base of growth.
//
// A place without any warmth has no growing seasons: nothing passes there.
type Growth struct {
	site   climate.Site
	leafOn leafOn
	whole  float64      // degree-days of one growing season; 0 where there is no warmth
	first  climate.Date // of clocks
	clocks []float64    // growing seasons from first on, day by day
}

// leafOn is the part of a season in which leaves are on: days counted from its
// start, the first and that after the last.
type leafOn struct{ from, to int }

var evergreen = leafOn{0, 366}

const (
	// growthBase is the temperature above which trees are taken to grow, C.
	growthBase = 5

	// wholeSeason is the least sum of degree-days above growthBase that makes a
	// whole growing season, C d. It is judged, no published source: at the northern
	// rim of gardens, where it is about 1000, growers count a summer as a season;
	// beyond it they do not.
	wholeSeason = 900

	// A required number of growing seasons counts as passed when no more than a
	// tenth of it is wanting, or a fifth of a single season: so that a cooler summer than
	// usual, or buds that swell a week earlier than last year, do not cost a year, and
	// a rest of one season means one summer unless that was markedly short (judged,
	// no published source).
	wanting    = 0.1
	wantingOne = 0.2

	// growthBack and growthAhead are how far seasons are counted from the outlook's
	// start and end, in days; beyond that none pass.
	growthBack  = 80 * 366
	growthAhead = 40 * 366
)

// enough returns the growing seasons after which a required number counts as
// passed.
func enough(seasons float64) float64 {
	return seasons - max(wanting*seasons, wantingOne*min(seasons, 1))
}

// NewGrowth prepares to count seasons at the site of o, of trees that keep their
// leaves.
func NewGrowth(o *climate.Outlook) *Growth { return newGrowth(o, evergreen) }

func newGrowth(o *climate.Outlook, leaves leafOn) *Growth {
	g := &Growth{site: o.Site, leafOn: leaves, first: o.First - growthBack}
	var known []float64 // degree-days of the outlook's days
	if len(o.Members) > 0 {
		known = make([]float64, len(o.Members[0].Tmin))
	}
	for i := range o.Members {
		m := &o.Members[i]
		for k := range known {
			known[k] += degreeDays(m, k) / float64(len(o.Members))
		}
	}
	typical, total := typicalSeason(o, known, leaves)
	g.clocks = make([]float64, growthBack+len(known)+growthAhead)
	if total == 0 {
		return g
	}
	g.whole = max(total, wholeSeason)
	season := o.Site.Season(g.first)
	start, end := o.Site.SeasonStart(season), o.Site.SeasonStart(season+1)
	for i := 1; i < len(g.clocks); i++ {
		d := g.first + climate.Date(i) - 1 // the day that has passed
		if d == end {
			season++
			start, end = end, o.Site.SeasonStart(season+1)
		}
		warmth := typical[d-start]
		if k := int(d - o.First); k >= 0 && k < len(known) && leaves.on(int(d-start)) {
			warmth = known[k]
		}
		g.clocks[i] = g.clocks[i-1] + warmth/g.whole
	}
	return g
}

// degreeDays returns those of a day of m above growthBase.
func degreeDays(m *climate.Member, k int) float64 { return max(0, (m.Tmin[k]+m.Tmax[k])/2-growthBase) }

// on reports whether leaves are on, on a day counted from the start of a season.
func (l leafOn) on(day int) bool { return day >= l.from && day < l.to }

// typicalSeason returns the degree-days of each day of the first season of an
// outlook in which members differ, or of its own where that is not covered, while
// leaves are on, and their sum.
func typicalSeason(o *climate.Outlook, daily []float64, leaves leafOn) (typical [366]float64, total float64) {
	start := o.Site.SeasonStart(o.Site.Season(o.Issue) + 1)
	if start+365 > o.Last() {
		start = o.Site.SeasonStart(o.Site.Season(o.Issue))
	}
	for i := range typical {
		if k := int(start-o.First) + min(i, 364); k >= 0 && k < len(daily) && leaves.on(i) {
			typical[i] = daily[k]
			if i < 365 {
				total += daily[k]
			}
		}
	}
	return typical, total
}

// clock returns the growing seasons from a fixed day to d.
func (g *Growth) clock(d climate.Date) float64 {
	return g.clocks[min(max(int(d)-int(g.first), 0), len(g.clocks)-1)]
}

// Seasons returns how many growing seasons passed from one day to another;
// negative when to lies before from.
func (g *Growth) Seasons(from, to climate.Date) float64 { return g.clock(to) - g.clock(from) }

// Passed reports whether a number of growing seasons, as a rule requires them,
// has passed from one day to another, or as good as passed (see [wanting]).
func (g *Growth) Passed(from, to climate.Date, seasons float64) bool {
	return g.Seasons(from, to) >= enough(seasons)
}

// reaches returns the day on which so many growing seasons have passed since a day, the
// last that is counted where they have not by then.
func (g *Growth) reaches(from climate.Date, seasons float64) climate.Date {
	want := g.clock(from) + seasons
	start := max(int(from)-int(g.first), 0)
	n := sort.Search(len(g.clocks)-start-1, func(i int) bool { return g.clocks[start+i] >= want })
	return g.first + climate.Date(start+n)
}

// PassedBy returns the first day on which [Growth.Passed] holds, NoDate when it
// does not within forty years.
func (g *Growth) PassedBy(from climate.Date, seasons float64) climate.Date {
	want := g.clock(from) + enough(seasons)
	start := max(int(from)-int(g.first), 0)
	n := sort.Search(len(g.clocks)-start, func(i int) bool { return g.clocks[start+i] >= want })
	if start+n >= len(g.clocks) {
		return climate.NoDate
	}
	return g.first + climate.Date(start+n)
}
