package feeds

import (
	"context"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
)

// garden is all that was computed for one grower: a plan for each place, and the
// feeds written from it. It is not changed once made.
type garden struct {
	grower  calendar.Grower
	changes int // of the store, when it was read
	plots   []plot
	entries []ics.Entry
	feeds   map[string]*body // of those not withdrawn, by id
}

// plot is a place with its plan.
type plot struct {
	place   string // id
	zone    *time.Location
	plan    *calendar.Plan
	seasons seasons
	nights  *climate.Record // a provider's weather forecast, or nil
	known   climate.Date    // last day of measured weather, or NoDate
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

// garden returns what is computed for a grower, of today and of what is kept
// now, by whatever process it was written. Where such a plan cannot be made, the
// last good one is served on, and the fault is logged.
func (s *Server) garden(ctx context.Context, grower string) (*garden, error) {
	now := s.cfg.Now()
	changes, err := s.cfg.Store.Changes(ctx, grower)
	if err != nil {
		return nil, err
	}
	return s.gardens.get(grower, func(g *garden) bool { return g.fresh(now, changes) }, func(old *garden, made bool) (*garden, error) {
		g, err := s.plan(ctx, grower, now)
		if err != nil && made {
			s.cfg.Log.Error("no new plan; the last one is served", "grower", grower, "error", err)
			return old, nil
		}
		return g, err
	})
}

// replan plans anew and decides what there is to tell; on an error nothing that
// was made before is replaced.
func (s *Server) replan(ctx context.Context, grower string, now time.Time) error {
	g, err := s.gardens.get(grower, func(*garden) bool { return false }, func(*garden, bool) (*garden, error) {
		return s.plan(ctx, grower, now)
	})
	if err != nil {
		return err
	}
	return s.decide(ctx, g, now)
}

// Morning plans a grower's trees anew and decides what there is to tell; it is the
// job that a nudge.Scheduler runs.
func (s *Server) Morning(ctx context.Context, grower string, _ []calendar.Place, now time.Time) error {
	return s.replan(ctx, grower, now)
}

// plan plans all trees of a grower and writes the feeds.
func (s *Server) plan(ctx context.Context, grower string, now time.Time) (*garden, error) {
	g := &garden{}
	var err error
	// Before anything else is read, so that what changes meanwhile is seen later.
	if g.changes, err = s.cfg.Store.Changes(ctx, grower); err != nil {
		return nil, err
	}
	if g.grower, err = s.cfg.Store.Grower(ctx, grower); err != nil {
		return nil, err
	}
	places, err := s.cfg.Store.Places(ctx, grower)
	if err != nil {
		return nil, err
	}
	trees, err := s.cfg.Store.Trees(ctx, grower)
	if err != nil {
		return nil, err
	}
	for i := range places {
		p := &places[i]
		zone, err := p.Site.Location()
		if err != nil {
			return nil, err
		}
		on := climate.DateOf(now.In(zone))
		plan, seasons, err := s.planner.trees(p, treesAt(trees, p.ID), on)
		if err != nil {
			return nil, err
		}
		g.plots = append(g.plots, plot{
			place: p.ID, zone: zone, plan: plan, seasons: seasons, nights: p.Weather.Forecast, known: known(&p.Weather, on),
		})
		g.entries = append(g.entries, ics.Entries("grower "+grower, plan, s.link("/"))...)
	}
	return g, s.write(ctx, g, now)
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

// write writes each feed of a garden that is not withdrawn, with the revisions
// that the store keeps.
func (s *Server) write(ctx context.Context, g *garden, now time.Time) error {
	feeds, err := s.cfg.Store.Feeds(ctx, g.grower.ID)
	if err != nil {
		return err
	}
	var calendars []*ics.Calendar
	var ids []string
	for _, f := range feeds {
		if f.Revoked.IsZero() {
			ids = append(ids, f.ID)
			calendars = append(calendars, &ics.Calendar{
				UID:  ics.UID("grower "+g.grower.ID, "feed", f.ID),
				Name: f.Name, Description: "Work on trees in its season. Dates are forecasts and move with the weather: look at the tree first.",
				URL:     s.link("/"),
				Entries: passing(f.Filter, g.entries),
			})
		}
	}
	bodies, err := s.publish(ctx, g.grower.ID, calendars, "private, max-age=900", now)
	if err != nil {
		return err
	}
	g.feeds = make(map[string]*body, len(ids))
	for i, id := range ids {
		g.feeds[id] = bodies[i]
	}
	return nil
}

// calendarKind is the media type of a feed.
const calendarKind = "text/calendar; charset=utf-8"

// publish writes calendars of one owner, who may have the same event in several.
func (s *Server) publish(ctx context.Context, owner string, calendars []*ics.Calendar, cache string, now time.Time) ([]*body, error) {
	var digests []calendar.Revision
	seen := map[string]bool{}
	for _, c := range calendars {
		for _, d := range c.Digests() {
			if !seen[d.UID] {
				seen[d.UID] = true
				digests = append(digests, d)
			}
		}
	}
	revised, err := s.cfg.Store.Revise(ctx, owner, digests, now)
	if err != nil {
		return nil, err
	}
	revisions := make(map[string]calendar.Revision, len(revised))
	for _, r := range revised {
		revisions[r.UID] = r
	}
	out := make([]*body, len(calendars))
	for i, c := range calendars {
		text, err := c.Bytes(revisions)
		if err != nil {
			return nil, err
		}
		if out[i], err = newBody(calendarKind, cache, text, ics.Modified(revisions[c.UID])); err != nil {
			return nil, err
		}
	}
	return out, nil
}
