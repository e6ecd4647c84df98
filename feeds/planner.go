package feeds

import (
	"fmt"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// planner makes plans. Its functions are fields so that tests can plan by hand.
type planner struct {
	trees  func(p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error)
	groups func(r *calendar.Region, on climate.Date) (*calendar.Plan, error)
}

// planting is what is known of the trees of a place.
type planting struct {
	*calendar.Plan
	seasons seasons
	stands  []alike // empty: no years can be drawn
}

// seasons are the forecasts of the season at hand, by a tree's id.
type seasons map[string]phenology.Season

// alike is trees that stand alike, with their planner.
type alike struct {
	planner *calendar.Planner
	trees   []calendar.Tree
}

// years draws the roadmaps of the trees, by which they should be ready for the shows;
// nil where none can be drawn.
func (p *planting) years(shows []calendar.Show) (*calendar.Years, error) {
	var all []*calendar.Years
	for _, stand := range p.stands {
		years, err := stand.planner.Years(stand.trees, calendar.RoadmapOptions{ReadyBy: calendar.ReadyFor(shows, stand.trees, p.On)})
		if err != nil {
			return nil, err
		}
		years.Site = p.Site
		all = append(all, years)
	}
	return calendar.MergeYears(all, nil), nil
}

func newPlanner(lore *calendar.Lore) planner {
	return planner{
		trees: newCommons(lore).plan,
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

// plan plans the trees of a place, from what is common to all who have its weather
// where that plans the same.
func (c *commons) plan(p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
	of, outlook, err := c.of(p.Site, &p.Weather, on)
	if err != nil {
		return nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
	}
	stands, err := calendar.Stands(outlook, p.Benches, trees)
	if err != nil {
		return nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
	}
	var plans []*calendar.Plan
	out := &planting{seasons: make(seasons, len(trees))}
	for i := range stands {
		plan, planner, err := c.planStand(of, outlook, &stands[i], shows, out.seasons)
		if err != nil {
			return nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
		}
		plan.Site = p.Site
		plans = append(plans, plan)
		out.stands = append(out.stands, alike{planner, stands[i].Trees})
	}
	out.Plan = calendar.Merge(plans, p.Benches, trees)
	return out, nil
}

// planStand plans trees that stand alike, by the planner that all share where they stand
// in the open, nothing was seen of them and no show wants them, and by one of their own else.
func (c *commons) planStand(of *commonOutlook, outlook *climate.Outlook, stand *calendar.Stand, shows []calendar.Show, at seasons) (*calendar.Plan, *calendar.Planner, error) {
	var untaught *phenology.Forecaster
	if stand.Outlook == outlook { // in the open
		u, err := of.unseen()
		if err != nil {
			return nil, nil, err
		}
		untaught = u.forecaster
		if unwatched(stand.Trees) && len(shows) == 0 {
			if plan, err := planStand(u.planner, u.forecaster, stand, at); err == nil {
				return plan, u.planner, nil
			}
			// What is wrong is told by a planner of the grower's own.
		}
	}
	planner, forecaster, err := stand.Planner(c.lore, untaught)
	if err != nil {
		return nil, nil, err
	}
	planner.Shows = shows
	plan, err := planStand(planner, forecaster, stand, at)
	return plan, planner, err
}

// planStand plans trees that stand alike, and adds their forecasts of the season at hand
// to at.
func planStand(planner *calendar.Planner, forecaster *phenology.Forecaster, stand *calendar.Stand, at seasons) (*calendar.Plan, error) {
	plan, err := planner.Plan(stand.Trees)
	if err != nil {
		return nil, err
	}
	for i := range plan.Trees {
		t := &plan.Trees[i]
		season, err := forecaster.Season(t.Species.Habit(), t.Tree.ID, stand.Outlook.Site.Season(stand.Outlook.Issue))
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
