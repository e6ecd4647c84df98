package feeds

import (
	"fmt"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// planner makes plans. Its functions are fields so that tests can plan by hand.
type planner struct {
	trees  func(p *calendar.Place, trees []calendar.Tree, on climate.Date) (*calendar.Plan, error)
	groups func(r *calendar.Region, on climate.Date) (*calendar.Plan, error)
}

func newPlanner(lore *calendar.Lore) planner {
	return planner{
		trees: func(p *calendar.Place, trees []calendar.Tree, on climate.Date) (*calendar.Plan, error) {
			var seen []phenology.Sighting
			for i := range trees {
				species, err := lore.SpeciesNamed(trees[i].Species)
				if err != nil {
					return nil, fmt.Errorf("tree %q: %w", trees[i].Name, err)
				}
				seen = append(seen, trees[i].Sightings(species.Name)...)
			}
			pl, err := prepare(lore, p.Site, &p.Weather, on, seen)
			if err != nil {
				return nil, err
			}
			return pl.Plan(trees)
		},
		groups: func(r *calendar.Region, on climate.Date) (*calendar.Plan, error) {
			pl, err := prepare(lore, r.Site, &r.Weather, on, nil)
			if err != nil {
				return nil, err
			}
			groups := make([]phenology.Group, len(r.Groups))
			for i, g := range r.Groups {
				groups[i] = phenology.Group(g)
			}
			return pl.GroupPlan(groups...)
		},
	}
}

func prepare(lore *calendar.Lore, site climate.Site, w *climate.Weather, on climate.Date, seen []phenology.Sighting) (*calendar.Planner, error) {
	outlook, err := w.Outlook(site, on)
	if err != nil {
		return nil, fmt.Errorf("place %q: %w", site.Name, err)
	}
	forecaster, err := phenology.NewForecaster(outlook, seen)
	if err != nil {
		return nil, fmt.Errorf("place %q: %w", site.Name, err)
	}
	return calendar.NewPlanner(lore, outlook, forecaster), nil
}

// known returns the last day with measured temperatures up to on, or NoDate.
func known(w *climate.Weather, on climate.Date) climate.Date {
	if w.Record == nil {
		return climate.NoDate
	}
	r := w.Record.Until(on)
	for i := len(r.Days) - 1; i >= 0; i-- {
		if d := r.Days[i]; d.TminOrigin == climate.Measured && d.TmaxOrigin == climate.Measured {
			return r.First + climate.Date(i)
		}
	}
	return climate.NoDate
}
