package feeds

import (
	"fmt"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// planner makes plans. Its functions are fields so that tests can plan by hand.
type planner struct {
	trees  func(p *calendar.Place, trees []calendar.Tree, on climate.Date) (*calendar.Plan, seasons, error)
	groups func(r *calendar.Region, on climate.Date) (*calendar.Plan, error)
}

// seasons are the forecasts of the season at hand, by a tree's id.
type seasons map[string]phenology.Season

func newPlanner(lore *calendar.Lore) planner {
	return planner{
		trees: func(p *calendar.Place, trees []calendar.Tree, on climate.Date) (*calendar.Plan, seasons, error) {
			return planTrees(lore, p, trees, on)
		},
		groups: func(r *calendar.Region, on climate.Date) (*calendar.Plan, error) {
			forecaster, outlook, err := forecast(r.Site, &r.Weather, on, nil)
			if err != nil {
				return nil, err
			}
			groups := make([]phenology.Group, len(r.Groups))
			for i, g := range r.Groups {
				groups[i] = phenology.Group(g)
			}
			return calendar.NewPlanner(lore, outlook, forecaster).GroupPlan(groups...)
		},
	}
}

func planTrees(lore *calendar.Lore, p *calendar.Place, trees []calendar.Tree, on climate.Date) (*calendar.Plan, seasons, error) {
	var seen []phenology.Sighting
	for i := range trees {
		species, err := lore.SpeciesNamed(trees[i].Species)
		if err != nil {
			return nil, nil, fmt.Errorf("tree %q: %w", trees[i].Name, err)
		}
		seen = append(seen, trees[i].Sightings(species.Name)...)
	}
	forecaster, outlook, err := forecast(p.Site, &p.Weather, on, seen)
	if err != nil {
		return nil, nil, err
	}
	plan, err := calendar.NewPlanner(lore, outlook, forecaster).Plan(trees)
	if err != nil {
		return nil, nil, err
	}
	at := make(seasons, len(plan.Trees))
	for i := range plan.Trees {
		t := &plan.Trees[i]
		season, err := forecaster.Season(t.Species.Habit(), t.Tree.ID, p.Site.Season(on))
		if err != nil {
			return nil, nil, fmt.Errorf("tree %q: %w", t.Tree.Name, err)
		}
		at[t.Tree.ID] = *season
	}
	return plan, at, nil
}

func forecast(site climate.Site, w *climate.Weather, on climate.Date, seen []phenology.Sighting) (*phenology.Forecaster, *climate.Outlook, error) {
	outlook, err := w.Outlook(site, on)
	if err != nil {
		return nil, nil, fmt.Errorf("place %q: %w", site.Name, err)
	}
	forecaster, err := phenology.NewForecaster(outlook, seen)
	if err != nil {
		return nil, nil, fmt.Errorf("place %q: %w", site.Name, err)
	}
	return forecaster, outlook, nil
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
