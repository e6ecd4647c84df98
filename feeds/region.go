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
	"budswell/feeds/wording"
)

// regionForm is what the short name of a region looks like.
var regionForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// regionCache lets anyone keep a region's answers for an hour.
const regionCache = "public, max-age=3600"

// region returns what is published for a region, of today where it stands and of
// what is kept now.
func (s *Server) region(ctx context.Context, id string) (*edition, error) {
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
	return s.published(ctx, &publisher{
		owner: "region " + id, id: id, cache: regionCache,
		plan:   func(ctx context.Context) (*planned, error) { return s.planRegion(ctx, id, changes) },
		tongue: func(context.Context) (*wording.Tongue, error) { return wording.English, nil },
		feeds:  func(ctx context.Context, note string) ([]listed, error) { return s.feedOfRegion(ctx, id, note) },
	}, changes)
}

// regionBody names a region's feed among its bodies.
const regionBody = "feed"

func (s *Server) feedOfRegion(ctx context.Context, id, note string) ([]listed, error) {
	r, err := s.cfg.Store.Region(ctx, id)
	if err != nil {
		return nil, err
	}
	here := RegionLink(s.base.String(), id)
	about := "Work on groups of trees in its season at " + r.Site.Name + ". Dates are forecasts and move with the weather: look at the tree first."
	return []listed{{name: regionBody, Calendar: ics.Calendar{
		UID:  ics.UID("region "+r.ID, "feed", ""),
		Name: r.Name, Description: withNote(about, note), URL: here, Source: here + "/calendar.ics",
	}}}, nil
}

func (s *Server) planRegion(ctx context.Context, id string, changes int) (*planned, error) {
	r, err := s.cfg.Store.Region(ctx, id)
	if err != nil {
		return nil, err
	}
	zone, err := r.Site.Location()
	if err != nil {
		return nil, err
	}
	on := climate.DateOf(s.cfg.Now().In(zone))
	plan, err := s.planner.groups(&r, on)
	if err != nil {
		return nil, err
	}
	here := RegionLink(s.base.String(), id)
	bodies := map[string]*body{}
	for _, l := range wording.Languages() {
		var b bytes.Buffer
		in := wording.In(calendar.Locale{Language: l.Tag}, "")
		if err := s.pages.In(in).Region(&b, pages.RegionOf(in, r.Name, plan, known(&r.Weather, on), here+"/calendar.ics")); err != nil {
			return nil, err
		}
		if bodies[pageBody+l.Tag], err = newBody(kindOf(pageBody), regionCache, b.Bytes(), time.Time{}); err != nil {
			return nil, err
		}
	}
	return &planned{
		changes: changes, day: on, starts: midnight(on, zone), ends: midnight(on+1, zone),
		entries: ics.Groups(wording.English, "region "+r.ID, plan, here), pages: bodies, in: wording.English,
	}, nil
}

func (s *Server) regionFeed(c echo.Context) error {
	r, err := s.region(c.Request().Context(), c.Param("region"))
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", `inline; filename="trees.ics"`)
	r.feeds[regionBody].ServeHTTP(c.Response(), c.Request())
	return nil
}

func (s *Server) regionPage(c echo.Context) error {
	r, err := s.region(c.Request().Context(), c.Param("region"))
	if err != nil {
		return err
	}
	c.Response().Header().Add("Vary", "Accept-Language")
	page := r.feeds[pageBody+tongueOf(c.Request().Context()).Lang()]
	if page == nil {
		return calendar.ErrNotFound
	}
	page.ServeHTTP(c.Response(), c.Request())
	return nil
}
