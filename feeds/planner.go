package feeds

import (
	"fmt"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// planner makes plans. Its functions are fields so that tests can plan by hand.
type planner struct {
	trees  func(l *calendar.Lore, p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error)
	groups func(l *calendar.Lore, r *calendar.Region, on climate.Date) (*calendar.RegionPlan, error)
}

// planting is what is known of the trees of a place.
type planting struct {
	*calendar.Plan
	seasons seasons
	stands  []alike // empty: no years can be drawn
	tells   []phenology.Told
	outlook *climate.Outlook // nil: not known
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
		trees:  newCommons(lore).plan,
		groups: calendar.PlanRegion,
	}
}

// plan plans the trees of a place, from what is common to all who have its weather
// where that plans the same.
func (c *commons) plan(lore *calendar.Lore, p *calendar.Place, shows []calendar.Show, trees []calendar.Tree, on climate.Date) (*planting, error) {
	of, outlook, err := c.of(p.Site, &p.Weather, on)
	if err != nil {
		return nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
	}
	stands, err := calendar.Stands(outlook, p.Benches, trees)
	if err != nil {
		return nil, fmt.Errorf("place %q: %w", p.Site.Name, err)
	}
	var plans []*calendar.Plan
	out := &planting{seasons: make(seasons, len(trees)), outlook: outlook}
	for i := range stands {
		stands[i].Pool = p.Pool
		plan, planner, err := c.planStand(lore, of, outlook, &stands[i], shows, out)
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
// in the open, nothing was seen of them or of others, no show wants them and nobody put own
// rules in the place of the lore; and by one of their own else.
func (c *commons) planStand(lore *calendar.Lore, of *commonOutlook, outlook *climate.Outlook, stand *calendar.Stand, shows []calendar.Show, out *planting) (*calendar.Plan, *calendar.Planner, error) {
	var untaught *phenology.Forecaster
	if stand.Outlook == outlook { // in the open
		u, err := of.unseen()
		if err != nil {
			return nil, nil, err
		}
		untaught = u.forecaster
		if lore == c.lore && unwatched(stand.Trees) && len(stand.Pool) == 0 && len(shows) == 0 {
			if plan, err := planStand(u.planner, u.forecaster, stand, out); err == nil {
				return plan, u.planner, nil
			}
			// What is wrong is told by a planner of the grower's own.
		}
	}
	planner, forecaster, err := stand.Planner(lore, untaught)
	if err != nil {
		return nil, nil, err
	}
	planner.Shows = shows
	plan, err := planStand(planner, forecaster, stand, out)
	return plan, planner, err
}

// planStand plans trees that stand alike, and adds their forecasts of the season at hand,
// and what they tell others, to out.
func planStand(planner *calendar.Planner, forecaster *phenology.Forecaster, stand *calendar.Stand, out *planting) (*calendar.Plan, error) {
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
		out.seasons[t.Tree.ID] = *season
	}
	out.tells = append(out.tells, forecaster.Tell()...)
	return plan, nil
}

// measured returns the last day with measured temperatures up to on, or NoDate.
func measured(w *climate.Weather, on climate.Date) climate.Date {
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
