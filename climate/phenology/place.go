package phenology

import (
	"math"
	"slices"
	"sync"

	"budswell/climate"
)

// kindSeen and treeSeen name what counts as one species and one tree when curves
// are weighed: phases are told apart, so that each has usual days of its own.
type (
	kindSeen struct {
		species string
		phase   Phase
	}
	treeSeen struct {
		tree  string
		phase Phase
	}
)

// pastSprings makes rows of what was seen in springs gone by whose weather is
// known.
func (f *Forecaster) pastSprings() (*stand, []weather, []kindSeen) {
	now := f.outlook.Site.Season(f.outlook.Issue)
	kinds, trees, springs := map[kindSeen]int{}, map[treeSeen]int{}, map[int]int{}
	var rows []standRow
	var ws []weather
	for _, name := range f.names() {
		t := f.trees[name]
		for _, year := range t.years() {
			if year >= now {
				continue
			}
			z, ok := springs[year]
			if !ok {
				w, known := f.pastWeather(year)
				if z = -1; known && w.days() > 300 {
					z = len(ws)
					ws = append(ws, w)
				}
				springs[year] = z
			}
			if z < 0 {
				continue
			}
			for _, p := range springPhases {
				m, ok := t.seasons[year][p]
				day := m.between(f.outlook.Site.SeasonStart(year))
				if !ok || !m.on.Valid() || day >= float64(ws[z].days()) || day > latestSpring {
					continue
				}
				kind, tree := kindSeen{kindOf(t.species, name), p}, treeSeen{name, p}
				if _, ok := kinds[kind]; !ok {
					kinds[kind] = len(kinds)
				}
				if _, ok := trees[tree]; !ok {
					trees[tree] = len(trees)
				}
				rows = append(rows, standRow{kinds[kind], trees[tree], z, day})
			}
		}
	}
	names := make([]kindSeen, len(kinds))
	for k, i := range kinds {
		names[i] = k
	}
	return newStand(rows), ws, names
}

// latestSpring is the day of the season after which a spring's phase is taken
// for a slip of the pen or another flush.
const latestSpring = 240

// between returns the middle of the days between which m's phase came.
func (m mark) between(start climate.Date) float64 {
	if !m.on.Valid() {
		return 0
	}
	day := float64(m.on - start)
	if m.notYet.Valid() {
		day -= float64(m.on-m.notYet-1) / 2
	}
	return day
}

// priorSample is the curves that stand for all where nothing has been seen: the
// calendar is none of them, since it knows no day before one was seen.
var priorSample = sync.OnceValues(func() ([]int, []float64) {
	var weights []float64
	for _, c := range loadPriors().curves {
		if c.Form != calendar {
			weights = append(weights, c.Weight)
		}
	}
	return sample(weights, sampled) // the calendar is the last of all curves
})

// chooseCurves weighs all curves by what was seen at the place in springs gone
// by, each told from the others, and keeps those that stand for them; and it
// sets the spreads.
func (f *Forecaster) chooseCurves() {
	s, ws, kinds := f.pastSprings()
	at, share := priorSample()
	f.spreads = spreads{f.priors.spread["tree"], f.priors.spread["spring"], f.priors.spread["species-spring"], f.priors.spread["error"]}
	if len(ws) >= 2 {
		at, share = f.weigh(s, ws, kinds)
	}
	f.weights = share
	for _, k := range at {
		f.curves = append(f.curves, f.priors.curves[k])
		f.courses = append(f.courses, f.priors.courses[k])
	}
}

// weigh runs all curves over the springs seen.
func (f *Forecaster) weigh(s *stand, ws []weather, kinds []kindSeen) (at []int, share []float64) {
	const fewTypical = 8 // members that tell the typical course well enough to weigh by
	members := f.weathers(f.typicalYear())
	if members == nil {
		return priorSample()
	}
	if n := len(members); n > fewTypical {
		some := make([]weather, fewTypical)
		for i := range some {
			some[i] = members[i*n/fewTypical]
		}
		members = some
	}
	all := slices.Concat(members, ws)
	for i := range all {
		all[i].n = min(all[i].n, latestSpring+60)
	}
	chill := chills(all)
	hours := lengths(all[0].lat, all[0].start, all[0].n)
	e := newEffects(s)
	x := make([]float64, len(s.rows))
	clocks := make([]gauge, len(ws))
	for i := range clocks {
		clocks[i] = make(gauge, all[len(members)+i].n)
	}
	var prior []float64
	j := newJudged(len(f.priors.curves), len(s.rows))
	eachCurve(f.priors.curves, all, hours, chill, func(k int, forcing []course) {
		typical := mean(forcing[:len(members)])
		for i := range clocks {
			clear(clocks[i])
			typical.addClock(clocks[i], forcing[len(members)+i], 1)
		}
		j.judge(k, e, clocks, x, -1, -1)
		prior = append(prior, f.priors.curves[k].Weight)
	})
	j.settle(s, prior, -1, -1)
	if len(ws) >= springsToSpread {
		all, wild := s.spread(prior, j, -1, -1)
		f.spreads = all
		for i, k := range kinds {
			if _, known := f.wild[k.species]; !known || k.phase == BudBreak {
				f.wild[k.species] = wild[i]
			}
		}
		f.stretched = true
	}
	return sample(j.weigh(s, prior, -1, -1), sampled)
}

// springsToSpread is from how many springs on the spreads of the parts of the
// clock are told from the place itself.
const springsToSpread = 4

// parts are the spreads of the parts of the clock at this place.
func (f *Forecaster) parts() partSpreads {
	_, among, _ := f.normal(f.priors.any.Day)
	place := f.stretch * f.priors.spread["place"]
	s := f.spreads
	if !f.stretched {
		s = spreads{s.tree * f.stretch, s.spring * f.stretch, s.speciesSpring * f.stretch, s.err * f.stretch}
	}
	return partSpreads{
		spreads: s,
		place:   math.Sqrt(place*place + among),
		species: func(name string) float64 { return f.stretch * f.priors.of(Habit{Species: name}).SD },
	}
}

// wildness returns by how much a species strays more than all do.
func (f *Forecaster) wildness(species string) float64 {
	if w, ok := f.wild[species]; ok {
		return w
	}
	return 1
}

// learnedWithout returns what the springs other than the given one taught; pooled,
// with what other growers saw of them.
func (f *Forecaster) learnedWithout(year int, pooled bool) (*learned, error) {
	f.mu.Lock()
	of := lesson{year, pooled}
	once, ok := f.taught[of]
	if !ok {
		once = sync.OnceValues(func() (*learned, error) {
			others := make([]reading, 0, len(f.read))
			for _, r := range f.read {
				if r.year != year {
					others = append(others, r)
				}
			}
			p := f.parts()
			if pooled {
				p.sites = f.others.sites
				for _, r := range f.others.read {
					if r.year != year {
						others = append(others, r)
					}
				}
			}
			return condition(others, p)
		})
		f.taught[of] = once
	}
	f.mu.Unlock()
	return once()
}
