package calendar

import (
	"fmt"
	"slices"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Planner makes ready to plan the trees of s by the rules of lore, from what was seen
// of them, and returns the forecaster that it plans by along with it.
// Where an untaught forecaster of the same outlook is given, the work that was done for
// it is not done again.
func (s *Stand) Planner(lore *Lore, untaught *phenology.Forecaster) (*Planner, *phenology.Forecaster, error) {
	var seen []phenology.Sighting
	for i := range s.Trees {
		t := &s.Trees[i]
		species, err := lore.SpeciesNamed(t.Species)
		if err != nil {
			return nil, nil, fmt.Errorf("tree %q: %w", t.Name, err)
		}
		seen = append(seen, t.Sightings(species.Name)...)
	}
	var forecaster *phenology.Forecaster
	var err error
	if untaught != nil {
		forecaster, err = untaught.Taught(seen, s.Pool)
	} else {
		forecaster, err = phenology.NewPooledForecaster(s.Outlook, seen, s.Pool)
	}
	if err != nil {
		return nil, nil, err
	}
	return NewPlanner(lore, s.Outlook, forecaster), forecaster, nil
}

// ReadyFor lists by tree id the days of the shows that some trees are entered for and
// that are to come on a day.
func ReadyFor(shows []Show, trees []Tree, on climate.Date) map[string][]ReadyBy {
	out := map[string][]ReadyBy{}
	for i := range shows {
		s := &shows[i]
		if len(s.CheckDay(on)) > 0 {
			continue // it is past
		}
		for k := range trees {
			if id := trees[k].ID; slices.Contains(s.Trees, id) {
				out[id] = append(out[id], ReadyBy{On: s.On, Name: s.Name, Look: s.Look.Words()})
			}
		}
	}
	return out
}

// MergeYears puts the roadmaps of trees that stand differently at one place together,
// in the order of trees, or as they come where that is nil; nil where there are none.
func MergeYears(years []*Years, trees []Tree) *Years {
	if len(years) == 0 {
		return nil
	}
	out := *years[0]
	out.Trees = nil
	for _, y := range years {
		out.Trees = append(out.Trees, y.Trees...)
	}
	place := func(r Roadmap) int {
		return slices.IndexFunc(trees, func(t Tree) bool { return t.ID == r.Tree })
	}
	slices.SortStableFunc(out.Trees, func(a, b Roadmap) int { return place(a) - place(b) })
	return &out
}
