package calendar

import (
	"slices"
	"sort"

	"budswell/climate"
)

// mostYears is how far a roadmap may look ahead.
const mostYears = 15

// coming are the seasons of the years ahead at a site: the one before that of the
// plan's day (index 0, whose windows may reach over midwinter), that of the plan's
// day (1), and those after it.
type coming struct {
	starts []climate.Date
	draws  [][]int // by draw of a roadmap, then by season: the draw of the forecasts that it is like
}

// plannedSeason is the index of the season of the plan's day.
const plannedSeason = 1

// newComing lays out n draws of the seasons until some years after the plan's day.
// The season at hand and the next are draws of the forecasts; a season beyond the
// outlook is like the next, but of a draw of its own, so that all works of one year
// have the same weather, and those of different years have not.
func (p *Planner) newComing(years, n int) *coming {
	site, issue := p.outlook.Site, p.outlook.Issue
	first := site.Season(issue) - plannedSeason
	c := &coming{starts: make([]climate.Date, years+4), draws: make([][]int, n)}
	for k := range c.starts {
		c.starts[k] = site.SeasonStart(first + k)
	}
	stride := coprime(p.draws)
	seed := mix(uint64(uint32(issue)))
	for j := range c.draws {
		c.draws[j] = make([]int, len(c.starts))
		for k := range c.draws[j] {
			c.draws[j][k] = j * stride % p.draws
			if k > plannedSeason+1 {
				c.draws[j][k] = int(mix(seed^uint64(j)<<20^uint64(k)) % uint64(p.draws))
			}
		}
	}
	return c
}

// coprime returns a step that visits all of n things before it comes back, far from
// one to the next.
func coprime(n int) int {
	for step := max(1, n*61803/100000); ; step++ {
		a, b := n, step
		for b > 0 {
			a, b = b, a%b
		}
		if a == 1 {
			return step
		}
	}
}

// season returns the index of the season of a day; days outside the seasons are of
// the first or the last.
func (c *coming) season(d climate.Date) int {
	k := min(max(int(d-c.starts[0])/366, 0), len(c.starts)-1)
	for k+1 < len(c.starts) && c.starts[k+1] <= d {
		k++
	}
	return k
}

// end is the day after the last that is looked at.
func (c *coming) end() climate.Date { return c.starts[len(c.starts)-1] }

// paces says how warm the seasons of each member are for trees in leaf: their
// degree-days as a part of those of all members, of what is left of the season at
// hand and of the next.
type paces struct {
	growth *Growth
	left   []float64 // by member
	next   []float64
	known  float64      // growing seasons of the season at hand up to the plan's day
	rest   float64      // and after it, as the mean of all members
	shape  [367]float64 // growing seasons of the next from its start to each day
}

func (p *Planner) pacesOf(g *Growth, c *coming) *paces {
	issue, start, end := p.outlook.Issue, c.starts[plannedSeason], c.starts[plannedSeason+1]
	out := &paces{
		growth: g, known: g.Seasons(start, issue), rest: g.Seasons(issue, end),
		left: p.warmths(g, start, issue, end), next: p.warmths(g, end, end, c.starts[plannedSeason+2]),
	}
	for i := range out.shape {
		out.shape[i] = g.Seasons(end, end+climate.Date(min(i, int(c.starts[plannedSeason+2]-end))))
	}
	return out
}

// warmths returns the degree-days of a span of a season in leaf of each member, as a
// part of their mean; 1 where there is no warmth or the outlook does not cover it.
func (p *Planner) warmths(g *Growth, start, from, to climate.Date) []float64 {
	o := p.outlook
	out := make([]float64, len(o.Members))
	mean := 0.0
	for i := range o.Members {
		for d := max(from, o.First); d < to && d <= o.Last(); d++ {
			if g.leafOn.on(int(d - start)) {
				out[i] += degreeDays(&o.Members[i], int(d-o.First))
			}
		}
		mean += out[i] / float64(len(out))
	}
	for i := range out {
		if mean == 0 {
			out[i] = 1
		} else {
			out[i] /= mean
		}
	}
	return out
}

// clock counts the growing seasons of one draw, from the start of the season at
// hand; before the plan's day it is the planner's own.
type clock struct {
	coming *coming
	paces  *paces
	issue  climate.Date
	pace   []float64 // by season
	base   []float64 // growing seasons at the start of each
}

// set makes it the clock of a draw.
func (c *clock) set(draw int) {
	n := len(c.coming.starts)
	if cap(c.base) < n {
		c.base, c.pace = make([]float64, n), make([]float64, n)
	}
	c.base, c.pace = c.base[:n], c.pace[:n]
	c.base[0], c.base[plannedSeason] = 0, 0
	whole := c.paces.shape[366]
	for k := plannedSeason; k+1 < n; k++ {
		member := c.coming.draws[draw][k] % len(c.paces.next)
		if k == plannedSeason {
			c.pace[k] = c.paces.left[member]
			c.base[k+1] = c.paces.known + c.pace[k]*c.paces.rest
		} else {
			c.pace[k] = c.paces.next[member]
			c.base[k+1] = c.base[k] + c.pace[k]*whole
		}
	}
}

// at returns the growing seasons until a day.
func (c *clock) at(d climate.Date) float64 {
	start := c.coming.starts[plannedSeason]
	if d <= c.issue {
		return c.paces.growth.Seasons(start, d)
	}
	k := c.coming.season(d)
	if k == plannedSeason {
		return c.paces.known + c.pace[k]*c.paces.growth.Seasons(c.issue, d)
	}
	if k == len(c.base)-1 {
		return c.base[k]
	}
	return c.base[k] + c.pace[k]*c.paces.shape[d-c.coming.starts[k]]
}

// by returns the first day, from the plan's day on, on which so many growing seasons
// have passed; afterAll when they do not.
func (c *clock) by(seasons float64) climate.Date {
	if seasons <= c.paces.known {
		return c.issue
	}
	last := len(c.base) - 1
	for k := plannedSeason; k < last; k++ {
		if c.base[k+1] < seasons {
			continue
		}
		if k == plannedSeason {
			n := int(c.coming.starts[k+1] - c.issue)
			i := sort.Search(n, func(i int) bool { return c.at(c.issue+climate.Date(i)) >= seasons })
			return c.issue + climate.Date(i)
		}
		i, _ := slices.BinarySearch(c.paces.shape[:], (seasons-c.base[k])/c.pace[k])
		return c.coming.starts[k] + climate.Date(i)
	}
	return afterAll
}

// mix scatters the bits of x: two numbers that differ give two that have nothing to
// do with one another.
// Source, from memory: Steele, Lea and Flood 2014, SplitMix.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
