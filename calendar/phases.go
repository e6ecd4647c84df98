package calendar

import (
	"budswell/climate"
	"budswell/climate/phenology"
)

// phases are the forecasts of the phases of one tree, or of all trees of a
// species of which nothing was seen, by season.
type phases struct {
	planner *Planner
	habit   phenology.Habit
	tree    string // empty: any tree of the species
	seasons map[int]*phenology.Season
	err     error // the first that the forecaster made
}

type forecastKey struct {
	species string
	group   phenology.Group
	tree    string
}

// phasesOf returns the forecasts for a tree. Trees of which nothing was seen
// share those of their species.
func (p *Planner) phasesOf(s *Species, t *Tree) *phases {
	id := ""
	if t != nil && t.seen() {
		id = t.ID
	}
	key := forecastKey{s.Name, s.Group, id}
	if f, ok := p.forecasts[key]; ok {
		return f
	}
	f := &phases{planner: p, habit: s.Habit(), tree: id, seasons: map[int]*phenology.Season{}}
	p.forecasts[key] = f
	return f
}

// seen reports whether the log holds a sighting.
func (t *Tree) seen() bool {
	for i := range t.Log {
		if t.Log[i].Saw != "" || t.Log[i].NotYet != "" {
			return true
		}
	}
	return false
}

// season returns the forecast of a season that lies within the outlook.
func (f *phases) season(year int) *phenology.Season {
	if s, ok := f.seasons[year]; ok {
		return s
	}
	s, err := f.planner.forecast(f.habit, f.tree, year)
	if err != nil {
		if f.err == nil {
			f.err = err
		}
		s = &phenology.Season{Year: year}
	}
	f.seasons[year] = s
	return s
}

// of returns the days of a phase draw by draw. Beyond the outlook a season is
// like the one before it, and before the outlook like the one after it.
func (f *phases) of(ph phenology.Phase, season int) climate.Sample {
	first, last := f.planner.span(season)
	if first < f.planner.outlook.First {
		after, _ := f.planner.span(season + 1)
		return moved(f.of(ph, season+1), first-after)
	}
	if last > f.planner.outlook.Last() {
		before, _ := f.planner.span(season - 1)
		return moved(f.of(ph, season-1), first-before)
	}
	if fc, ok := f.season(season).Phases[ph]; ok && len(fc.Dates) > 0 {
		return fc.Dates
	}
	return climate.Sample{climate.NoDate}
}
