package feeds

import (
	"bytes"
	"context"
	"regexp"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/pages"
)

// publicRegion is all that was computed for a region. It is not changed once made.
type publicRegion struct {
	zone    *time.Location
	on      climate.Date
	changes int // of the store, when it was read
	feed    *body
	page    *body
}

// regionForm is what the short name of a region looks like.
var regionForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// regionCache lets anyone keep a region's answers for an hour.
const regionCache = "public, max-age=3600"

// region returns what is computed for a region, of today where it stands and of
// what is kept now.
func (s *Server) region(ctx context.Context, id string) (*publicRegion, error) {
	if !regionForm.MatchString(id) {
		return nil, calendar.ErrNotFound
	}
	changes, err := s.cfg.Store.RegionChanges(ctx, id)
	switch {
	case err != nil:
		return nil, err
	case changes == 0: // before the shelf, which would keep a slot for any name asked for
		return nil, calendar.ErrNotFound
	}
	now := s.cfg.Now()
	fresh := func(p *publicRegion) bool {
		return p.changes == changes && p.on == climate.DateOf(now.In(p.zone))
	}
	return s.regions.get(id, fresh, func(old *publicRegion, made bool) (*publicRegion, error) {
		p, err := s.planRegion(ctx, id, changes, now)
		if err != nil && made {
			s.cfg.Log.Error("no new plan; the last one is served", "region", id, "error", err)
			return old, nil
		}
		return p, err
	})
}

func (s *Server) planRegion(ctx context.Context, id string, changes int, now time.Time) (*publicRegion, error) {
	r, err := s.cfg.Store.Region(ctx, id)
	if err != nil {
		return nil, err
	}
	zone, err := r.Site.Location()
	if err != nil {
		return nil, err
	}
	on := climate.DateOf(now.In(zone))
	plan, err := s.planner.groups(&r, on)
	if err != nil {
		return nil, err
	}
	here := s.link("/r/" + r.ID)
	calendars := []*ics.Calendar{{
		UID:  ics.UID("region "+r.ID, "feed", ""),
		Name: r.Name, Description: "Work on groups of trees in its season at " + r.Site.Name + ". Dates are forecasts and move with the weather: look at the tree first.",
		URL: here, Source: here + "/calendar.ics",
		Entries: ics.Groups("region "+r.ID, plan, here),
	}}
	bodies, err := s.publish(ctx, r.ID, calendars, regionCache, now)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := s.pages.Region(&b, pages.RegionOf(r.Name, plan, known(&r.Weather, on), here+"/calendar.ics")); err != nil {
		return nil, err
	}
	page, err := newBody("text/html; charset=utf-8", regionCache, b.Bytes(), time.Time{})
	if err != nil {
		return nil, err
	}
	return &publicRegion{zone: zone, on: on, changes: changes, feed: bodies[0], page: page}, nil
}

func (s *Server) regionFeed(c echo.Context) error {
	r, err := s.region(c.Request().Context(), c.Param("region"))
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `inline; filename="trees.ics"`)
	r.feed.ServeHTTP(c.Response(), c.Request())
	return nil
}

func (s *Server) regionPage(c echo.Context) error {
	r, err := s.region(c.Request().Context(), c.Param("region"))
	if err != nil {
		return err
	}
	r.page.ServeHTTP(c.Response(), c.Request())
	return nil
}
