package phenology

import (
	"fmt"
	"math"
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
	species string // empty where it is not known
	seasons map[int]map[Phase]mark
}

// years returns the seasons in which something was seen of the tree, in order.
func (t *seenTree) years() []int {
	out := make([]int, 0, len(t.seasons))
	for y := range t.seasons {
		out = append(out, y)
	}
	slices.Sort(out)
	return out
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
		case s.Tree == "":
			return fmt.Errorf("phenology: sighting %d: no tree: want a name, the same for the same tree", i)
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
			t = &seenTree{species: s.Species, seasons: map[int]map[Phase]mark{}}
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

// tallies counts springs seen on trees.
type tallies struct {
	all     int
	trees   map[string]int
	species map[string]int
}

func countSprings(read []reading) tallies {
	t := tallies{len(read), map[string]int{}, map[string]int{}}
	for _, r := range read {
		t.trees[r.tree]++
		t.species[r.species]++
	}
	return t
}

// kindOf names the part of the clock that a species has: trees whose species is
// not known are each of a kind of its own.
func kindOf(species, tree string) string {
	if species == "" && tree != "" {
		return "of " + tree
	}
	return species
}

// Variances of readings, in square days.
const (
	dayVariance    = 0.5 // of a day that is the day, give or take some hours
	unknownWeather = 36  // of calling the clock by the calendar: how far springs stray
)

// unbelievable is how many clock days from what is to be expected a reading is
// taken for a slip of the pen or another flush, and not learned from.
const unbelievable = 60

// readings turns what was seen of springs into readings of the clock.
func (f *Forecaster) readings() []reading {
	clocks := map[int]gauge{}
	var out []reading
	for _, name := range f.names() {
		t := f.trees[name]
		prior := f.priors.of(Habit{Species: t.species})
		for _, year := range t.years() {
			if r, ok := f.reading(clocks, prior.Day, t.seasons[year], f.outlook.Site.SeasonStart(year), year); ok {
				r.tree, r.species = name, kindOf(t.species, name)
				out = append(out, r)
			}
		}
	}
	return out
}

// reading joins what was seen of one spring of one tree.
func (f *Forecaster) reading(clocks map[int]gauge, day float64, marks map[Phase]mark, start climate.Date, year int) (reading, bool) {
	var weight, sum float64
	for _, p := range springPhases {
		m, ok := marks[p]
		if !ok || !m.on.Valid() || m.on-start > latestSpring {
			continue
		}
		x, v := f.readClock(clocks, year, m)
		expected, lagVariance, ok := f.expect(day, p)
		if !ok || math.Abs(x-expected) > unbelievable {
			continue
		}
		w := 1 / (v + lagVariance)
		weight += w
		sum += w * (x - expected)
	}
	if weight == 0 {
		return reading{}, false
	}
	return reading{year: year, residual: sum / weight, variance: 1 / weight}, true
}

// warmth returns the distribution of the warmth with which a tree resumes growth
// that waits for warmth alone, from common practice and from what was seen in
// other seasons of it, and at half weight of others of its species. Half of the
// prior's variance lies between trees, half between the seasons of a tree.
func (f *Forecaster) warmth(h Habit, tree string, year int, prior threshold, of climate.Element) normalDist {
	unit := 2 / (prior.SD * prior.SD)
	weight, sum := unit, unit*prior.Level
	for _, name := range f.names() {
		t := f.trees[name]
		share := 0.5
		switch {
		case name == tree && tree != "":
			share = 1
		case t.species != h.Species || h.Species == "":
			continue
		}
		for _, season := range t.years() {
			m, ok := t.seasons[season][BudSwell]
			if !ok || !m.on.Valid() || season == year {
				continue
			}
			w, ok := f.pastWeather(season)
			day := int(m.on - f.outlook.Site.SeasonStart(season))
			if !ok || day >= w.days() {
				continue
			}
			weight += share * unit
			sum += share * unit * w.warmest(of)[day]
		}
	}
	return normalDist{sum / weight, 1/unit + 1/weight}
}

// springPhases are the phases that tell when a tree broke bud.
var springPhases = []Phase{BudSwell, BudBreak, CandlesExtending, LeafOut, NeedlesSeparating}

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
