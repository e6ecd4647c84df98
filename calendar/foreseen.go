package calendar

import (
	"fmt"

	"budswell/climate"
	"budswell/climate/phenology"
)

// Foreseen returns by the ids of trees when the phases of a season were expected on its first day, from
// the weather and the sightings up to then: what is seen later can be held against it. Trees
// that the lore does not know are left out. It wants what [climate.Weather.Outlook] does of that
// day; a record that begins in the season, and nothing beside it, is an error.
func Foreseen(lore *Lore, p *Place, trees []Tree, season int) (map[string]phenology.Season, error) {
	weather := p.Weather
	weather.Forecast = nil // of days that lie long after
	outlook, err := weather.Outlook(p.Site, p.Site.SeasonStart(season))
	if err != nil {
		return nil, fmt.Errorf("season %d: %w", season, err)
	}
	var known []Tree
	for i := range trees {
		if _, err := lore.SpeciesNamed(trees[i].Species); err == nil {
			known = append(known, trees[i])
		}
	}
	stands, err := Stands(outlook, p.Benches, known)
	if err != nil {
		return nil, err
	}
	out := make(map[string]phenology.Season, len(known))
	for i := range stands {
		_, forecaster, err := stands[i].Planner(lore, nil)
		if err != nil {
			return nil, err
		}
		for k := range stands[i].Trees {
			t := &stands[i].Trees[k]
			species, err := lore.SpeciesNamed(t.Species)
			if err != nil {
				return nil, err
			}
			of, err := forecaster.Season(species.Habit(), t.ID, season)
			if err != nil {
				return nil, fmt.Errorf("tree %q: %w", t.Name, err)
			}
			out[t.ID] = *of
		}
	}
	return out, nil
}

// SeenIn returns the first day of a season on which the log says that each phase was seen.
func (t *Tree) SeenIn(site climate.Site, season int) map[phenology.Phase]climate.Date {
	out := map[phenology.Phase]climate.Date{}
	for _, e := range t.Log {
		if e.Saw == "" || !e.On.Valid() || site.Season(e.On) != season {
			continue
		}
		if was, ok := out[e.Saw]; !ok || e.On < was {
			out[e.Saw] = e.On
		}
	}
	return out
}
