package phenology

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"budswell/climate"
)

// Pooled is what a grower saw of the spring of one tree at their own place, in terms
// that hold at other places too: not when, but how much later than was to be expected
// there of the species, by the warmth that there was. It says nothing of that weather.
type Pooled struct {
	Grower    string // tells growers apart; any text
	Species   string
	Phase     Phase
	On        climate.Date // when it was seen
	Year      int          // the season of its place
	Late      float64      // clock days; before nought: early
	Variance  float64      // of reading Late, clock days squared, 0 to 10 000
	Lat, Lon  float64      // of the place, degrees, as exactly as is told
	Elevation float64      // metres
}

// Check reports what cannot be.
func (s *Pooled) Check() error {
	in := func(v, low, high float64) bool { return v >= low && v <= high }
	switch {
	case s.Grower == "" || s.Species == "":
		return fmt.Errorf("grower %q, species %q: want both", s.Grower, s.Species)
	case !slices.Contains(springPhases, s.Phase):
		return fmt.Errorf("phase %q: want one of a spring: %v", s.Phase, springPhases)
	case !s.On.Valid():
		return fmt.Errorf("day %v: want a day", s.On)
	case !in(s.Late, -400, 400):
		return fmt.Errorf("late %v: want days from -400 to 400", s.Late)
	case !in(s.Variance, 0, 1e4):
		return fmt.Errorf("variance %v: want square days from 0 to 10000", s.Variance)
	case !in(s.Lat, -90, 90) || !in(s.Lon, -180, 180) || !in(s.Elevation, -500, 9000):
		return fmt.Errorf("place %v, %v, %v m: want degrees, and metres from -500 to 9000", s.Lat, s.Lon, s.Elevation)
	}
	return nil
}

// Told is a sighting of a spring phase of a tree of this place, as others can use it.
type Told struct {
	Tree, Species  string
	Phase          Phase
	On             climate.Date
	Year           int
	Late, Variance float64 // as in Pooled
}

// Tell returns what was seen here of springs, for others to learn from, by tree,
// season and phase. Trees whose species is not known tell nothing.
func (f *Forecaster) Tell() []Told {
	var out []Told
	clocks := map[int]gauge{}
	for _, name := range f.names() {
		t := f.trees[name]
		if t.species == "" {
			continue
		}
		day := f.priors.of(Habit{Species: t.species}).Day
		for _, year := range t.years() {
			for _, p := range springPhases {
				m, ok := t.seasons[year][p]
				if !ok || !m.on.Valid() || m.on-f.outlook.Site.SeasonStart(year) > latestSpring {
					continue
				}
				if _, known := f.pastClock(year); !known {
					continue // the calendar alone tells others nothing
				}
				x, v := f.readClock(clocks, year, m)
				expected, lagVariance, ok := f.expect(day, p)
				if !ok {
					continue
				}
				out = append(out, Told{name, t.species, p, m.on, year, x - expected, v + lagVariance})
			}
		}
	}
	return out
}

// How much of what places have in common is left from one to the other: a share of
// exp(-1) at so many kilometres and metres of elevation. Judged: spring's departures
// reach over hundreds of kilometres, and elevation, beyond the warmth that the clock
// counts, changes exposure and cold air more than spring itself. Growers at one place
// still differ, in where trees stand and in what they call a phase, by gardenSD days.
const (
	commonKm    = 250
	commonMetre = 600
	gardenSD    = 1.5
)

// A grower moves the forecasts of another by at most eachShare of the standard
// deviation that they have without, and by dayEach clock days; all growers together by
// allShare of it, and daysAll. So who is not known to be right counts for little where a
// place has learned for itself, and for more where nothing is known; and a
// grower who makes things up is never worse than what was not known anyway. Judged, and
// measured at Harvard Forest (TestPoolOfHarvard).
const (
	eachShare = 0.5
	allShare  = 1.5
	dayEach   = 5
	daysAll   = 15
)

// others is what other growers saw, as this place takes it: a grower stands for one
// tree of each species, whatever number of trees they watch, and at one place,
// that which is most like this one.
type others struct {
	read    []reading          // by species, grower, and season
	sites   map[string]float64 // standard deviation of how much later a grower's place is
	growers map[string]int     // by species; "" for all together
}

func (f *Forecaster) newOthers(pool []Pooled) (*others, error) {
	here := f.outlook.Site
	p := f.parts()
	own := f.stretch * f.priors.spread["place"]
	best := map[string]float64{} // what each grower has in common with this place
	var rows []Pooled
	for i := range pool {
		s := &pool[i]
		if err := s.Check(); err != nil {
			return nil, fmt.Errorf("phenology: pooled sighting %d: %w", i, err)
		}
		if s.On > f.outlook.Issue || math.Abs(s.Late) > unbelievable {
			continue
		}
		rows = append(rows, *s)
		best[s.Grower] = max(best[s.Grower], s.common(here))
	}
	rows = slices.DeleteFunc(rows, func(s Pooled) bool { return s.common(here) < best[s.Grower] })
	if rows = nearest(rows, best); len(rows) == 0 {
		return nil, nil
	}
	slices.SortFunc(rows, func(a, b Pooled) int {
		return cmp.Or(cmp.Compare(a.Species, b.Species), cmp.Compare(a.Grower, b.Grower), cmp.Compare(a.Year, b.Year),
			cmp.Compare(a.Late, b.Late), cmp.Compare(a.Variance, b.Variance))
	})
	o := &others{sites: map[string]float64{}, growers: map[string]int{"": len(best)}}
	for i, k := 0, 0; i < len(rows); i = k {
		s := rows[i]
		for k = i; k < len(rows) && rows[k].Species == s.Species && rows[k].Grower == s.Grower && rows[k].Year == s.Year; {
			k++
		}
		differs := 2 * (1 - best[s.Grower]) // the share of the variance of a difference
		low, high := rows[i+(k-i-1)/2], rows[i+(k-i)/2]
		o.sites[s.Grower] = math.Sqrt(gardenSD*gardenSD + differs*own*own)
		o.read = append(o.read, reading{
			tree: s.Species, species: s.Species, site: s.Grower, year: s.Year,
			residual: (low.Late + high.Late) / 2,
			variance: (low.Variance+high.Variance)/2 + differs*(p.spring*p.spring+p.speciesSpring*p.speciesSpring),
		})
		if n := len(o.read); n == 1 || o.read[n-2].site != s.Grower || o.read[n-2].species != s.Species {
			o.growers[s.Species]++
		}
	}
	return o, nil
}

// mostVoices is how many species of growers, each counted, are learned from at most: the
// time that it takes grows with the cube. In a larger club it is those of the growers
// whose places are most like this one. Nobody has more than mostSpecies of them, those
// that most others saw too, so that nobody drowns the others.
const (
	mostVoices  = 400
	mostSpecies = 40
)

// nearest leaves out what is more than can be listened to.
func nearest(rows []Pooled, common map[string]float64) []Pooled {
	type voice struct{ grower, species string }
	heard := map[voice]bool{}
	seenBy := map[string]int{} // growers by species
	of := map[string][]string{}
	for i := range rows {
		if v := (voice{rows[i].Grower, rows[i].Species}); !heard[v] {
			heard[v] = true
			seenBy[v.species]++
			of[v.grower] = append(of[v.grower], v.species)
		}
	}
	clear(heard)
	n := 0
	for _, grower := range slices.SortedFunc(maps.Keys(of), func(a, b string) int {
		return cmp.Or(cmp.Compare(common[b], common[a]), cmp.Compare(a, b))
	}) {
		species := of[grower]
		slices.SortFunc(species, func(a, b string) int { return cmp.Or(cmp.Compare(seenBy[b], seenBy[a]), cmp.Compare(a, b)) })
		species = species[:min(len(species), mostSpecies, mostVoices-n)]
		n += len(species)
		for _, s := range species {
			heard[voice{grower, s}] = true
		}
		if len(species) == 0 {
			delete(common, grower)
		}
	}
	return slices.DeleteFunc(rows, func(s Pooled) bool { return !heard[voice{s.Grower, s.Species}] })
}

// common is how much of what places have in common is left, 0 to 1; nothing across
// the equator, where seasons are others.
func (s *Pooled) common(here climate.Site) float64 {
	if (s.Lat < 0) != (here.Lat < 0) {
		return 0
	}
	km := here.Kilometres(climate.Site{Lat: s.Lat, Lon: s.Lon})
	return math.Exp(-km/commonKm - math.Abs(here.Elevation-s.Elevation)/commonMetre)
}

// glimpses are what other growers saw of a species in the given season.
func (o *others) glimpses(l *learned, species string, year int, base float64, p partSpreads, wild float64) []glimpse {
	var out []glimpse
	for i := range o.read {
		r := &o.read[i]
		if r.species != species || r.year != year {
			continue
		}
		u := l.of(species, "", p)
		site, own := o.sites[r.site]*o.sites[r.site], p.tree*p.tree
		if k, ok := l.index[part{site: r.site}]; ok {
			u.mean += l.mean[k]
			site = l.cov.At(k, k)
		}
		if k, ok := l.index[part{tree: species, site: r.site}]; ok {
			u.mean += l.mean[k]
			own = l.cov.At(k, k)
		}
		width := math.Sqrt(12*r.variance) / 2
		out = append(out, glimpse{
			mean: base + u.mean, scale: wild * math.Sqrt(p.err*p.err+(own+site)/2),
			closed: base + r.residual - width, open: base + r.residual + width,
		})
	}
	return out
}

// most is by how many clock days the others move a forecast of a species at most that
// has the given standard deviation without them.
func (o *others) most(species string, sd float64) float64 {
	n := o.growers[species]
	if n == 0 || species == "" { // what they saw of other species tells of the place
		n = o.growers[""]
	}
	return min(min(float64(n)*eachShare, allShare)*sd, float64(n)*dayEach, daysAll)
}

// towards goes from e to what is expected with what others saw, as far as the mean
// moves by most clock days at the most.
func (e expected) towards(with expected, most float64) expected {
	w := 1.0
	if moved := math.Abs(with.centre() - e.centre()); moved > most {
		w = most / moved
	}
	mix := func(a, b float64) float64 { return (1-w)*a + w*b }
	out := expected{usual{mix(e.mean, with.mean), mix(e.shared, with.shared), mix(e.own, with.own)}, make([]float64, len(e.shift))}
	for i := range out.shift {
		out.shift[i] = mix(e.shift[i], with.shift[i])
	}
	return out
}

// deviation is the standard deviation of the clock at bud break, as it is expected before
// this spring's news; the variance of t is twice the square of its scale.
func (e expected) deviation(p partSpreads, wild float64) float64 {
	scale := e.scale(p, wild)
	return math.Sqrt(e.late(p, wild) + 2*scale*scale)
}

// centre is the mean of the clock at bud break.
func (e expected) centre() float64 {
	sum := e.mean
	for i, b := range sharedGrid {
		sum += b * e.shift[i]
	}
	return sum
}
