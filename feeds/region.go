package feeds

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/ics"
	"budswell/feeds/pages"
)

// regionForm is what the short name of a region looks like.
var regionForm = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,63}$`)

// regionCache lets anyone keep a region's answers for an hour.
const regionCache = "public, max-age=3600"

// framePolicy is that of the page which others may put into theirs: it runs nothing, sends
// nothing, and leads nowhere but to the region's own page.
const framePolicy = "default-src 'none'; style-src 'self'; img-src data:; form-action 'none'; base-uri 'none'; frame-ancestors *"

// The routes of what a region publishes. A band's page and feed share one, for a name
// and what follows its dot are one piece of a path.
const (
	regionRoute  = "/r/:region"
	subjectRoute = "/r/:region/for/:subject"
	bandRoute    = "/r/:region/:band"
)

// regionRoutes serve what regions publish to anyone.
func (s *Server) regionRoutes(e *echo.Echo) {
	read := func(path string, name func(c echo.Context) string) {
		e.Match([]string{http.MethodGet, http.MethodHead}, path, s.regionBody(name))
	}
	fixed := func(name string) func(echo.Context) string { return func(echo.Context) string { return name } }
	read(regionRoute, fixed(pageBody))
	read(regionRoute+"/calendar.ics", fixed(regionFeed("")))
	read(regionRoute+"/print", fixed(regionPage("print")))
	read(regionRoute+"/embed", fixed(regionPage("embed")))
	read(subjectRoute, func(c echo.Context) string {
		if id, ok := strings.CutSuffix(c.Param("subject"), ".ics"); ok {
			return regionFeed("for/" + id)
		}
		return ""
	})
	read(bandRoute, func(c echo.Context) string {
		if id, ok := strings.CutSuffix(c.Param("band"), ".ics"); ok {
			return regionFeed(id)
		}
		return regionPage(c.Param("band"))
	})
}

// regionFeed and regionPage name the bodies of a region: what stands behind its path,
// without .ics; nothing for the whole.
func regionFeed(of string) string { return strings.TrimSpace("feed " + of) }
func regionPage(of string) string { return strings.TrimSpace(pageBody + " " + of) }

// regionPath is the path of a body behind that of its region: "/valley.ics".
func regionPath(body string) string {
	kind, of, _ := strings.Cut(body, " ")
	switch {
	case kind == "feed" && of == "":
		return "/calendar.ics"
	case kind == "feed":
		return "/" + of + ".ics"
	case of == "":
		return ""
	}
	return "/" + of
}

// regionBody serves one body of a region, by its name.
func (s *Server) regionBody(name func(c echo.Context) string) echo.HandlerFunc {
	return func(c echo.Context) error {
		r, err := s.region(c.Request().Context(), c.Param("region"))
		if err != nil {
			return err
		}
		which := name(c)
		b := r.feeds[which]
		if b == nil || regionPath(which) != strings.TrimPrefix(c.Request().URL.Path, "/r/"+c.Param("region")) {
			return calendar.ErrNotFound
		}
		h := c.Response().Header()
		switch {
		case b.kind == calendarKind:
			h.Set("Content-Disposition", `inline; filename="trees.ics"`)
		case which == regionPage("embed"):
			h.Set(echo.HeaderContentSecurityPolicy, framePolicy)
			h.Del(echo.HeaderXFrameOptions)
		}
		b.ServeHTTP(c.Response(), c.Request())
		return nil
	}
}

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
		plan:  func(ctx context.Context) (*planned, error) { return s.planRegion(ctx, id, changes) },
		feeds: func(ctx context.Context, note string) ([]listed, error) { return s.feedsOfRegion(ctx, id, note) },
	}, changes)
}

// feedsOfRegion lists the feeds of a region: the whole, each band where there are
// several, and each group and species.
func (s *Server) feedsOfRegion(ctx context.Context, id, note string) ([]listed, error) {
	r, err := s.cfg.Store.Region(ctx, id)
	if err != nil {
		return nil, err
	}
	here := RegionLink(s.base.String(), id)
	feed := func(of, name, about, page string, shows func(*ics.Entry) bool) listed {
		body := regionFeed(of)
		return listed{name: body, shows: shows, Calendar: ics.Calendar{
			UID:  ics.UID("region "+r.ID, "feed", of),
			Name: name, Description: withNote(about+" Dates are forecasts and move with the weather: look at the tree first.", note),
			URL: here + page, Source: here + regionPath(body),
		}}
	}
	where := "at " + r.Bands[0].Site.Name
	if len(r.Bands) > 1 {
		where = "in " + r.Name + ", over all its bands; what each has is said in the events"
	}
	out := []listed{feed("", r.Name, "Work on groups of trees in its season "+where+".", "", func(e *ics.Entry) bool { return e.Band == "" })}
	if len(r.Bands) > 1 {
		for _, b := range r.Bands {
			out = append(out, feed(b.ID, r.Name+": "+b.Name, "Work on groups of trees in its season at "+b.Name+", "+fmt.Sprintf("%.0f m.", b.Site.Elevation), "/"+b.ID,
				func(e *ics.Entry) bool { return e.Band == b.ID }))
		}
	}
	known, err := s.loreOfRegion(ctx, &r)
	if err != nil {
		return nil, err
	}
	for _, t := range pages.SubjectsOf(known.lore, &r) {
		out = append(out, feed("for/"+t.ID, r.Name+": "+t.Name, "Work on "+t.Name+" in its season "+where+".", "#group-"+t.ID,
			func(e *ics.Entry) bool { return e.Band == "" && e.Group == t.ID }))
	}
	return out, nil
}

func (s *Server) planRegion(ctx context.Context, id string, changes int) (*planned, error) {
	r, err := s.cfg.Store.Region(ctx, id)
	if err != nil {
		return nil, err
	}
	zone, err := r.Bands[0].Site.Location()
	if err != nil {
		return nil, err
	}
	on := climate.DateOf(s.cfg.Now().In(zone))
	if r.Pool, err = s.poolOf(ctx, r.Club); err != nil {
		return nil, err
	}
	known, err := s.loreOfRegion(ctx, &r)
	if err != nil {
		return nil, err
	}
	s.logLeft(ctx, "region "+id, known.left)
	plan, err := s.planner.groups(known.lore, &r, on)
	if err != nil {
		return nil, err
	}
	all, err := s.regionPages(&r, plan)
	if err != nil {
		return nil, err
	}
	return &planned{
		changes: changes, day: on, starts: midnight(on, zone), ends: midnight(on+1, zone),
		entries: ics.Region("region "+r.ID, plan, RegionLink(s.base.String(), id)), pages: all,
	}, nil
}

func (s *Server) regionAt() pages.RegionAt {
	style, _ := s.pages.Style()
	return pages.RegionAt{Base: s.base.String(), Root: s.base.Path, Style: s.base.Path + style}
}

// regionPages writes the pages of a region, by the names of their bodies.
func (s *Server) regionPages(r *calendar.Region, plan *calendar.RegionPlan) (map[string]*body, error) {
	at := s.regionAt()
	out := map[string]*body{}
	write := func(name string, render func(w io.Writer) error) error {
		var b bytes.Buffer
		err := render(&b)
		if err == nil {
			out[name], err = newBody(kindOf(name), regionCache, b.Bytes(), time.Time{})
		}
		return err
	}
	v := pages.RegionOf(at, r, plan)
	err := write(pageBody, func(w io.Writer) error { return s.pages.Region(w, v) })
	if err == nil {
		err = write(regionPage("print"), func(w io.Writer) error { return s.pages.RegionSheet(w, pages.RegionSheetOf(at, r, plan)) })
	}
	if err == nil {
		err = write(regionPage("embed"), func(w io.Writer) error { return s.pages.RegionFrame(w, v) })
	}
	if len(plan.Bands) == 1 {
		return out, err
	}
	for i := range plan.Bands {
		if err == nil {
			err = write(regionPage(plan.Bands[i].Band.ID), func(w io.Writer) error { return s.pages.Region(w, pages.BandOf(at, r, plan, i)) })
		}
	}
	return out, err
}
