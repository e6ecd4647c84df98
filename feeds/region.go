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
	"budswell/feeds/wording"
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
	page := func(c echo.Context, of string) string { return regionPage(tongueOf(c.Request().Context()).Lang(), of) }
	read := func(path string, name func(c echo.Context) string) {
		e.Match([]string{http.MethodGet, http.MethodHead}, path, s.regionBody(name))
	}
	read(regionRoute, func(c echo.Context) string { return page(c, "") })
	read(regionRoute+"/calendar.ics", func(echo.Context) string { return regionFeed("") })
	read(regionRoute+"/print", func(c echo.Context) string { return page(c, "print") })
	read(regionRoute+"/embed", func(c echo.Context) string { return page(c, embedPage) })
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
		return page(c, c.Param("band"))
	})
}

// embedPage is the page that others may put into theirs.
const embedPage = "embed"

// regionFeed and regionPage name the bodies of a region: what stands behind its path,
// without .ics; nothing for the whole. A page is there in each language: "page de upper-alp".
func regionFeed(of string) string { return strings.TrimSpace("feed " + of) }

func regionPage(language, of string) string { return strings.TrimSpace(pageBody + language + " " + of) }

// languageOf is the language of a page by the name of its body; nothing for a feed.
func languageOf(body string) string {
	rest, ok := strings.CutPrefix(body, pageBody)
	language, _, _ := strings.Cut(rest, " ")
	if !ok {
		return ""
	}
	return language
}

// regionPath is the path of a body behind that of its region: "/valley.ics".
func regionPath(body string) string {
	kind, of, _ := strings.Cut(body, " ")
	if kind != "feed" {
		_, of, _ = strings.Cut(of, " ") // its language is not in the path
	}
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
		if b.kind != calendarKind {
			h.Add("Vary", "Accept-Language")
		}
		switch {
		case b.kind == calendarKind:
			h.Set("Content-Disposition", `inline; filename="trees.ics"`)
		case regionPath(which) == "/"+embedPage:
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
		plan:   func(ctx context.Context) (*planned, error) { return s.planRegion(ctx, id, changes) },
		tongue: func(context.Context) (*wording.Tongue, error) { return wording.English, nil },
		feeds:  func(ctx context.Context, note string) ([]listed, error) { return s.feedsOfRegion(ctx, id, note) },
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
	for _, t := range pages.SubjectsOf(wording.English, known.lore, &r) {
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
	lent, err := s.lend(ctx, &r)
	if err != nil {
		return nil, err
	}
	plan, err := s.planner.groups(known.lore, &r, on)
	if err != nil {
		return nil, err
	}
	all, err := s.regionPages(&r, plan, lent)
	if err != nil {
		return nil, err
	}
	return &planned{
		changes: changes, day: on, starts: midnight(on, zone), ends: lent.until(s.cfg.Now(), on, zone), about: lent.about(&r),
		entries: ics.Region(wording.English, "region "+r.ID, plan, RegionLink(s.base.String(), id)), pages: all, in: wording.English,
	}, nil
}

func (s *Server) regionAt() pages.RegionAt {
	style, _ := s.pages.Style()
	return pages.RegionAt{Base: s.base.String(), Root: s.base.Path, Style: s.base.Path + style}
}

// regionPages writes the pages of a region in each language, by the names of their bodies.
func (s *Server) regionPages(r *calendar.Region, plan *calendar.RegionPlan, lent *lending) (map[string]*body, error) {
	at, out := s.regionAt(), map[string]*body{}
	for _, l := range wording.Languages() {
		in := wording.In(calendar.Locale{Language: l.Tag}, "")
		p, v, sheet := s.pages.In(in), pages.RegionOf(in, at, r, plan), pages.RegionSheetOf(in, at, r, plan)
		v.Credits, sheet.Credits = lent.all(r), lent.all(r)
		all := map[string]func(w io.Writer) error{
			"":        func(w io.Writer) error { return p.Region(w, v) },
			"print":   func(w io.Writer) error { return p.RegionSheet(w, sheet) },
			embedPage: func(w io.Writer) error { return p.RegionFrame(w, v) },
		}
		if len(plan.Bands) > 1 {
			for i := range plan.Bands {
				band := pages.BandOf(in, at, r, plan, i)
				band.Credits = lent.credits[plan.Bands[i].Band.ID]
				all[plan.Bands[i].Band.ID] = func(w io.Writer) error { return p.Region(w, band) }
			}
		}
		for of, write := range all {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				return nil, err
			}
			name := regionPage(l.Tag, of)
			page, err := newBody(kindOf(name), regionCache, b.Bytes(), time.Time{})
			if err != nil {
				return nil, err
			}
			out[name] = page
		}
	}
	return out, nil
}
