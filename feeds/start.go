package feeds

import (
	"bytes"
	"context"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"slices"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
)

// The routes that take files.
const (
	stationRoute = "/places/:place/station"
	sheetRoute   = "/places/:place/sheet"
)

// takesFiles reports a route whose forms may be as large as uploadForm.
func takesFiles(c echo.Context) bool {
	return c.Path() == addRoute || c.Path() == stationRoute || c.Path() == sheetRoute ||
		c.Path() == clubBandRoute || c.Path() == firstBandRoute
}

// startRoutes are the pages that lead from nothing to the first calendar. The same
// forms change a place and its trees later.
func (s *Server) startRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	both := func(path string, show, take func(echo.Context, calendar.Grower) error) {
		e.Match([]string{"GET", "HEAD"}, path, s.own(show), person...)
		if take != nil {
			e.POST(path, s.own(take), person...)
		}
	}
	take := func(path string, h func(echo.Context, calendar.Grower) error) { e.POST(path, s.own(h), person...) }
	both("/start", s.start, nil)
	both("/start/place", s.wherePage, nil)
	both("/start/feed", s.firstFeedPage, s.makeFirstFeed)
	take("/places", s.makePlace)
	both("/places/:place", s.placePage, s.changePlace)
	take("/places/:place/benches", s.changeBenches)
	both("/places/:place/weather", s.weatherPage, s.changeWeather)
	take(stationRoute, s.takeStation)
	both("/places/:place/trees", s.plantingPage, s.plant)
	both(sheetRoute, s.sheetPage, s.takeSheet)
	both("/trees/:id/edit", s.treeForm, s.changeTree)
	take("/trees/:id/gone", s.goneTree)
	take("/trees/:id/here", s.hereTree)
}

// start goes on to what is not done yet.
func (s *Server) start(c echo.Context, g calendar.Grower) error {
	w, err := s.way(c.Request().Context(), g)
	switch {
	case err != nil:
		return err
	case w.place == "":
		return c.Redirect(http.StatusSeeOther, "/start/place")
	case w.trees == 0:
		return c.Redirect(http.StatusSeeOther, placePath(w.place, "/trees"))
	case w.feeds == 0:
		return c.Redirect(http.StatusSeeOther, "/start/feed")
	}
	return c.Redirect(http.StatusSeeOther, "/")
}

// way is how far a grower has come.
type way struct {
	place string // id of the first; empty: none
	trees int
	feeds int // with those that were withdrawn
}

func (s *Server) way(ctx context.Context, g calendar.Grower) (w way, err error) {
	sites, err := s.cfg.Store.Sites(ctx)
	if err != nil {
		return w, err
	}
	if i := slices.IndexFunc(sites, func(p calendar.Place) bool { return p.Grower == g.ID }); i >= 0 {
		w.place = sites[i].ID
	}
	trees, err := s.cfg.Store.Trees(ctx, g.ID)
	if err != nil {
		return w, err
	}
	feeds, err := s.cfg.Store.Feeds(ctx, g.ID)
	w.trees, w.feeds = len(trees), len(feeds)
	return w, err
}

// The steps of the way.
const (
	stepWhere = iota
	stepWeather
	stepTrees
	stepFeed
)

// steps shows the way to those who have not gone it yet; to others nothing.
func (s *Server) steps(ctx context.Context, g calendar.Grower, here int) ([]pages.FirstStep, error) {
	w, err := s.way(ctx, g)
	if err != nil || w.feeds > 0 {
		return nil, err
	}
	in := tongueOf(ctx)
	out := []pages.FirstStep{{Title: in.Say("Where")}, {Title: in.Say("Weather")}, {Title: in.Say("Trees")}, {Title: in.Say("Calendar")}}
	if w.place != "" {
		out[stepWhere].Link = placePath(w.place, "")
		out[stepWeather].Link = placePath(w.place, "/weather")
		out[stepTrees].Link = placePath(w.place, "/trees")
	}
	if w.trees > 0 {
		out[stepFeed].Link = "/start/feed"
	}
	for i := range out {
		out[i].Here, out[i].Done = i == here, i < here
	}
	out[here].Link = ""
	return out, nil
}

// placePath is the address of a page of a place.
func placePath(place, page string) string { return "/places/" + url.PathEscape(place) + page }

func (s *Server) firstFeedPage(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	w, err := s.way(ctx, g)
	if err != nil {
		return err
	}
	p := &pages.FirstFeed{CSRF: csrfToken(c), Feeds: w.feeds, Place: w.place, Trees: w.trees, Near: near(s.base)}
	if secret := s.sessions.PopString(ctx, sessionMade); secret != "" {
		p.Made = pages.NewLink(s.sessions.PopString(ctx, sessionNamed), FeedLink(s.base.String(), secret))
		p.Made.Tasks = TaskLink(s.base.String(), secret)
	}
	if p.Steps, err = s.steps(ctx, g, stepFeed); err != nil {
		return err
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).FirstFeed(b, p) })
}

// near reports an address that only the machine itself can reach.
func near(base *url.URL) bool {
	ip := net.ParseIP(base.Hostname())
	return base.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
}

// makeFirstFeed makes a feed of everything and shows its link.
func (s *Server) makeFirstFeed(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	feeds, err := s.cfg.Store.Feeds(ctx, g.ID)
	if err != nil {
		return err
	}
	in := tongueOf(ctx)
	name := in.Say("Work on my trees")
	for n := 2; slices.ContainsFunc(feeds, func(f calendar.Feed) bool { return f.Name == name }); n++ {
		name = in.Say("Work on my trees") + fmt.Sprintf(" (%d)", n)
	}
	if err := s.newFeed(c, calendar.Feed{Grower: g.ID, Name: name}); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/start/feed")
}

// dayAt is the day where a place is.
func (s *Server) dayAt(site climate.Site) (climate.Date, error) {
	zone, err := site.Location()
	return climate.DateOf(s.cfg.Now().In(zone)), err
}
