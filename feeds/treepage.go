package feeds

import (
	"bytes"
	"context"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate/phenology"
	"budswell/feeds/pages"
)

// wishRoutes are those of a tree's page, and of what a grower wants and has hours for.
func (s *Server) wishRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := func(path string, h echo.HandlerFunc) { e.Match([]string{"GET", "HEAD"}, path, h, person...) }
	read("/trees/:id", s.own(s.treePage))
	read("/hours", s.own(s.hoursPage))
	e.POST("/hours", s.own(s.putHours), person...)
	read("/agenda", s.own(s.agendaPage))
	read("/shows", s.own(s.showsPage))
	e.POST("/shows", s.own(s.addShow), person...)
	e.POST("/shows/:show/remove", s.own(s.removeShow), person...)
}

// treePage shows all that is known of one tree.
func (s *Server) treePage(c echo.Context, g calendar.Grower) error {
	all, err := s.garden(c.Request().Context(), g.ID)
	if err != nil {
		return err
	}
	id, err := url.PathUnescape(c.Param("id"))
	if err != nil {
		return calendar.ErrNotFound
	}
	at := all.plotOf(id)
	if at == nil {
		return calendar.ErrNotFound
	}
	t, plan, _ := all.tree(id)
	road, err := all.road(id)
	if err != nil {
		// The rest of the page is of use without.
		s.cfg.Log.ErrorContext(c.Request().Context(), "no years drawn", "grower", g.ID, "error", err)
	}
	var season phenology.Season
	if at.seasons != nil {
		season = at.seasons[id]
	}
	page := pages.TreePageOf(tongueOf(c.Request().Context()), t, plan, season, road, all.lore.Works, at.known)
	page.CSRF, page.Said = csrfToken(c), s.sessions.PopString(c.Request().Context(), sessionSaid)
	page.From = treePath(id)
	page.Changed = s.changed(c, page.From)
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Tree(b, page) })
}

// plotOf returns the place where a tree stands, nil where there is no such tree.
func (g *garden) plotOf(tree string) *plot {
	for i := range g.plots {
		p := &g.plots[i]
		for k := range p.plan.Trees {
			if p.plan.Trees[k].Tree.ID == tree {
				return p
			}
		}
	}
	return nil
}

// flagged says what in the rules an entry that was just logged goes against, and
// what that means: it is kept all the same.
func (s *Server) flagged(ctx context.Context, grower, tree string, e calendar.Entry) string {
	g, err := s.garden(ctx, grower)
	if err != nil {
		return ""
	}
	t, _, _ := g.tree(tree)
	if t == nil {
		return ""
	}
	in, said := tongueOf(ctx), ""
	for _, f := range t.Flags {
		if f.On == e.On && f.Work != nil && f.Work.ID == e.Did {
			said += " " + in.Say("But: {1}", in.Told(f.Reason))
			if f.Means != "" {
				said += " " + in.Say("That means: {1}", in.Told(f.Means))
			}
		}
	}
	return said
}
