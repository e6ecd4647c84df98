package feeds

import (
	"context"
	"time"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// garden is all that was computed for one grower: a plan for each place, and the
// events and tasks made from it. It is not changed once made.
type garden struct {
	grower  calendar.Grower
	in      *wording.Tongue // of the grower, where no browser asks
	changes int             // of the store, when it was read
	plots   []plot
	entries []ics.Entry
	credits []pages.Source // whose weather it is, where that is to be told

	shows   []calendar.Show
	agenda  *calendar.Agenda  // of all places together; nil: no hours were told
	promise *calendar.Promise // of the agenda
	years   func() ([]*calendar.Years, error)

	lore    *calendar.Lore
	left    []lore.Left // of the grower's own words, and of clubs'
	without []string    // trees that cannot be planned without them, and why

	now drawn // what to do now
}

// trees counts those that were planned.
func (g *garden) trees() (n int) {
	for i := range g.plots {
		n += len(g.plots[i].plan.Trees)
	}
	return n
}

// plot is a place with its plan.
type plot struct {
	place   string // id
	zone    *time.Location
	plan    *calendar.Plan
	seasons seasons
	nights  *climate.Record // a provider's weather forecast, or nil
	known   climate.Date    // last day of measured weather, or NoDate
	sofar   sofar
	outlook *climate.Outlook // of the open place; nil: not known
}

// fresh reports whether the plans are of today, where each place is, and of what
// the store holds after so many changes.
func (g *garden) fresh(now time.Time, changes int) bool {
	if g.changes != changes {
		return false
	}
	for i := range g.plots {
		if g.plots[i].plan.On != climate.DateOf(now.In(g.plots[i].zone)) {
			return false
		}
	}
	return true
}

// newest returns what is computed for a grower, of today and of what is kept
// now, by whatever process it was written; with an error, what was computed
// last, or nil.
func (s *Server) newest(ctx context.Context, grower string) (*garden, error) {
	now := s.cfg.Now()
	changes, err := s.cfg.Store.Changes(ctx, grower)
	if err != nil {
		return nil, err
	}
	return s.gardens.get(grower, func(g *garden) bool { return g.fresh(now, changes) }, func(old *garden, _ bool) (*garden, error) {
		g, err := s.plan(ctx, grower, now)
		if err != nil {
			return old, err
		}
		return g, nil
	})
}

// garden is newest, but where no plan can be made now the last good one is good
// enough, and the fault is logged.
func (s *Server) garden(ctx context.Context, grower string) (*garden, error) {
	g, err := s.newest(ctx, grower)
	if err != nil && g != nil {
		s.cfg.Log.ErrorContext(ctx, "no new plan; the last one is shown", "grower", grower, "error", err)
		return g, nil
	}
	return g, err
}

// replan plans anew, publishes, and decides what there is to tell; on an error
// nothing that was made before is replaced.
func (s *Server) replan(ctx context.Context, grower string, now time.Time) error {
	g, err := s.gardens.get(grower, func(*garden) bool { return false }, func(*garden, bool) (*garden, error) {
		return s.plan(ctx, grower, now)
	})
	if err != nil {
		return err
	}
	if _, err := s.publish(ctx, grower, true); err != nil {
		s.cfg.Log.ErrorContext(ctx, "planned anew, but not published", "grower", grower, "error", err)
	}
	return s.decide(ctx, g, now, false)
}

// Morning plans a grower's trees anew and decides what there is to tell; it is the
// job that a nudge.Scheduler runs.
func (s *Server) Morning(ctx context.Context, grower string, _ []calendar.Place, now time.Time) error {
	return s.replan(ctx, grower, now)
}

// Weathered plans a grower's trees anew after new weather has come, and decides what
// cannot wait for the morning: a weather forecast that comes, or turns cold, in the
// evening still tells of the frost of the night.
func (s *Server) Weathered(ctx context.Context, grower string) error {
	g, err := s.newest(ctx, grower)
	if err != nil {
		return err
	}
	return s.decide(ctx, g, s.cfg.Now(), true)
}

// plan plans all trees of a grower.
func (s *Server) plan(ctx context.Context, grower string, now time.Time) (*garden, error) {
	// Before anything else is read, so that what changes meanwhile is seen later.
	changes, err := s.cfg.Store.Changes(ctx, grower)
	if err != nil {
		return nil, err
	}
	known, err := s.loreOf(ctx, grower)
	if err != nil {
		return nil, err
	}
	s.logLeft(ctx, "grower "+grower, known.left)
	in, err := s.growersTongue(ctx, grower)
	if err != nil {
		return nil, err
	}
	w, err := s.wishesOf(ctx, grower)
	if err != nil {
		return nil, err
	}
	trees, err := s.cfg.Store.Trees(ctx, grower)
	if err != nil {
		return nil, err
	}
	g, plantings, err := s.planBy(ctx, grower, now, known, &w, trees)
	if err != nil {
		return nil, err
	}
	g.changes, g.in = changes, in
	var tell []calendar.Telling
	for i, p := range plantings {
		tell = append(tell, calendar.Tell(grower, g.plots[i].plan.Site, p.tells)...)
	}
	s.contribute(ctx, grower, tell)
	g.fit(&w, trees)
	g.drawYears(plantings, w.shows)
	for i := range g.plots {
		plan := g.plots[i].plan
		events, tasks := ics.Both(in, "grower "+grower, plan, s.link("/"))
		g.entries = append(append(g.entries, events...), tasks...)
	}
	// So that whoever opens the page next finds it written. A fault shows there.
	_, _ = g.fortnight(s.pages, in)
	return g, nil
}

// planBy plans the trees of a grower by some lore, for any hours and without their years.
func (s *Server) planBy(ctx context.Context, grower string, now time.Time, known *knowing, w *wishes, trees []calendar.Kept) (*garden, []*planting, error) {
	g := &garden{lore: known.lore, left: known.left, shows: w.shows}
	var err error
	if g.grower, err = s.cfg.Store.Grower(ctx, grower); err != nil {
		return nil, nil, err
	}
	places, err := s.cfg.Store.Places(ctx, grower)
	if err != nil {
		return nil, nil, err
	}
	pool, err := s.cfg.Store.Learned(ctx, grower)
	if err != nil {
		return nil, nil, err
	}
	var plantings []*planting
	for i := range places {
		p := &places[i]
		p.Pool = pool
		zone, err := p.Site.Location()
		if err != nil {
			return nil, nil, err
		}
		on := climate.DateOf(now.In(zone))
		if err := s.addReadings(ctx, g, p); err != nil {
			return nil, nil, err
		}
		here := treesAt(trees, p.ID)
		if s.cfg.Ground != nil {
			var cannot []string
			here, cannot = plannable(known.lore, p, here)
			g.without = append(g.without, cannot...)
		}
		planted, err := s.planner.trees(known.lore, p, w.shows, here, on)
		if err != nil {
			return nil, nil, err
		}
		plantings = append(plantings, planted)
		g.plots = append(g.plots, plot{
			place: p.ID, zone: zone, plan: planted.Plan, seasons: planted.seasons, nights: p.Weather.Forecast, known: measured(&p.Weather, on), outlook: planted.outlook,
			sofar: soFar(known.lore, p, here, on),
		})
	}
	return g, plantings, nil
}

func treesAt(all []calendar.Kept, place string) []calendar.Tree {
	var out []calendar.Tree
	for i := range all {
		if all[i].Place == place {
			out = append(out, all[i].Tree)
		}
	}
	return out
}
