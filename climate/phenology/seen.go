package phenology

import (
	"fmt"
	"slices"

	"budswell/climate"
)

// mark is what was seen of one phase of one tree in one season.
type mark struct {
	on     climate.Date // first day on which it was seen, or NoDate
	notYet climate.Date // last day on which it had not come, or NoDate
}

// seenTree is what was seen of one tree, by season and phase.
type seenTree struct {
	name    string
	species string
	seasons map[int]map[Phase]mark
}

// collect orders sightings up to the issue day by tree, season and phase. What
// was seen at all counts from the first day it was seen; that it had not come
// counts from the last day before that.
func (f *Forecaster) collect(seen []Sighting) error {
	known := map[Phase]bool{}
	for _, g := range Groups() {
		for _, p := range g.Phases() {
			known[p] = true
		}
	}
	for i, s := range seen {
		day := s.On
		if !day.Valid() {
			day = s.NotYet
		}
		switch {
		case !known[s.Phase]:
			return fmt.Errorf("phenology: sighting %d, of %q: phase %q: want one of the phases of a group", i, s.Tree, s.Phase)
		case !day.Valid():
			return fmt.Errorf("phenology: sighting %d, of %q: want the day on which it was looked at", i, s.Tree)
		case s.On.Valid() && s.NotYet.Valid() && s.NotYet >= s.On:
			return fmt.Errorf("phenology: sighting %d, of %q: not yet on %v: want a day before %v, on which it was seen", i, s.Tree, s.NotYet, s.On)
		}
		if day > f.outlook.Issue {
			continue
		}
		t := f.trees[s.Tree]
		if t == nil {
			t = &seenTree{name: s.Tree, species: s.Species, seasons: map[int]map[Phase]mark{}}
			f.trees[s.Tree] = t
		}
		year := f.outlook.Site.Season(day)
		if t.seasons[year] == nil {
			t.seasons[year] = map[Phase]mark{}
		}
		m, ok := t.seasons[year][s.Phase]
		if !ok {
			m = mark{climate.NoDate, climate.NoDate}
		}
		if s.On.Valid() && (!m.on.Valid() || s.On < m.on) {
			m.on = s.On
		}
		if s.NotYet.Valid() && s.NotYet > m.notYet {
			m.notYet = s.NotYet
		}
		t.seasons[year][s.Phase] = m
	}
	for _, t := range f.trees {
		for _, phases := range t.seasons {
			for p, m := range phases {
				if m.on.Valid() && m.notYet >= m.on { // looked at again and not noticed
					m.notYet = climate.NoDate
					phases[p] = m
				}
			}
		}
	}
	return nil
}

// names returns the names of all trees of which something was seen, in order.
func (f *Forecaster) names() []string {
	out := make([]string, 0, len(f.trees))
	for name := range f.trees {
		out = append(out, name)
	}
	slices.Sort(out)
	return out
}

// reading is the clock at bud break of one tree in one season, as told by all
// that was seen of its spring, less what was to be expected of its species.
type reading struct {
	tree, species string
	year          int
	residual      float64 // clock days
	variance      float64 // of reading it; not of the tree's own straying
}

// Variances of readings, in square days.
const (
	dayVariance    = 0.5 // of a day that is the day, give or take some hours
	unknownWeather = 36  // of calling the clock by the calendar: how far springs stray
)

// readings turns what was seen of springs into readings of the clock.
func (f *Forecaster) readings() []reading {
	clocks := map[int]gauge{}
	var out []reading
	for _, name := range f.names() {
		t := f.trees[name]
		prior, _ := f.priors.of(t.species, "")
		years := make([]int, 0, len(t.seasons))
		for y := range t.seasons {
			years = append(years, y)
		}
		slices.Sort(years)
		for _, year := range years {
			var weight, sum float64
			for _, p := range springPhases {
				m, ok := t.seasons[year][p]
				if !ok || !m.on.Valid() {
					continue
				}
				x, v := f.readClock(clocks, year, m)
				expected, lagVariance, ok := f.expect(prior.Day, p)
				if !ok {
					continue
				}
				w := 1 / (v + lagVariance)
				weight += w
				sum += w * (x - expected)
			}
			if weight > 0 {
				out = append(out, reading{name, t.species, year, sum / weight, 1 / weight})
			}
		}
	}
	return out
}

// springPhases are the phases that tell when a tree broke bud.
var springPhases = []Phase{BudSwell, BudBreak, CandlesExtending, LeafOut}

// expect returns the clock at which trees that break bud on the given day at
// the reference place come to phase p here, and the variance of its lag after
// bud break.
func (f *Forecaster) expect(day float64, p Phase) (clock, lagVariance float64, ok bool) {
	bud, _, ok := f.normal(day)
	lag := f.priors.lags[p]
	if !ok || lag.Days == 0 {
		return bud, 0, ok
	}
	at, _, ok := f.normal(day + lag.Days)
	sd := (at - bud) * lag.SD
	return at, sd * sd, ok
}

// readClock reads the clock when a phase came: between the day on which it had
// not come, if anyone looked, and the day on which it was seen.
func (f *Forecaster) readClock(clocks map[int]gauge, year int, m mark) (x, variance float64) {
	start := f.outlook.Site.SeasonStart(year)
	g, ok := clocks[year]
	if !ok {
		g, _ = f.pastClock(year)
		clocks[year] = g
	}
	on := int(m.on - start)
	if on >= len(g) {
		return float64(on), unknownWeather
	}
	x = g.at(on)
	if !m.notYet.Valid() {
		return x, dayVariance
	}
	width := x - g.at(int(m.notYet-start))
	return x - width/2, dayVariance + width*width/12
}
