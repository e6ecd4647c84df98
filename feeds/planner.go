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
			forecaster, outlook, err := forecast(r.Site, &r.Weather, on)
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
	outlook, err := p.Weather.Outlook(p.Site, on)
	if err != nil {
		return nil, nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
	}
	stands, err := calendar.Stands(outlook, p.Benches, trees)
	if err != nil {
		return nil, nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
	}
	var plans []*calendar.Plan
	at := make(seasons, len(trees))
	for _, stand := range stands {
		plan, err := planStand(lore, stand, at)
		if err != nil {
			return nil, nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
		}
		plans = append(plans, plan)
	}
	return calendar.Merge(plans, p.Benches, trees), at, nil
}

// planStand plans trees that stand alike, from what was seen of them, and adds their
// forecasts of the season at hand to at.
func planStand(lore *calendar.Lore, stand calendar.Stand, at seasons) (*calendar.Plan, error) {
	var seen []phenology.Sighting
	for i := range stand.Trees {
		t := &stand.Trees[i]
		species, err := lore.SpeciesNamed(t.Species)
		if err != nil {
			return nil, fmt.Errorf("tree %q: %w", t.Name, err)
		}
		seen = append(seen, t.Sightings(species.Name)...)
	}
	o := stand.Outlook
	forecaster, err := phenology.NewForecaster(o, seen)
	if err != nil {
		return nil, err
	}
	plan, err := calendar.NewPlanner(lore, o, forecaster).Plan(stand.Trees)
	if err != nil {
		return nil, err
	}
	for i := range plan.Trees {
		t := &plan.Trees[i]
		season, err := forecaster.Season(t.Species.Habit(), t.Tree.ID, o.Site.Season(o.Issue))
		if err != nil {
			return nil, fmt.Errorf("tree %q: %w", t.Tree.Name, err)
		}
		at[t.Tree.ID] = *season
	}
	return plan, nil
}

func forecast(site climate.Site, w *climate.Weather, on climate.Date) (*phenology.Forecaster, *climate.Outlook, error) {
	outlook, err := w.Outlook(site, on)
	if err != nil {
		return nil, nil, fmt.Errorf("place %q: %w", site.Name, err)
	}
	forecaster, err := phenology.NewForecaster(outlook, nil)
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
