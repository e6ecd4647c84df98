package feeds

import (
	"bytes"
	"html/template"
	"net/http"
	"sync"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// benchRoutes are those of the pages that growers open at their trees, and of the
// lists of what is theirs.
func (s *Server) benchRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := func(path string, h echo.HandlerFunc) { e.Match([]string{"GET", "HEAD"}, path, h, person...) }
	read("/", s.home)
	e.POST("/look", s.own(s.look), person...)
	read("/trees", s.own(s.treesPage))
	read("/years", s.own(s.yearsPage))
	read("/places", s.own(s.placesPage))
	read("/messages", s.own(s.messagesPage))
	read("/calendars", s.own(s.calendarsPage))
}

// home shows the signed-in grower what to do now; to others, where to go.
func (s *Server) home(c echo.Context) error {
	g, ok, err := s.grower(c)
	if err != nil {
		return err
	}
	if !ok {
		return s.lobby(c)
	}
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	if len(all.plots) == 0 {
		return c.Redirect(http.StatusSeeOther, "/start/place")
	}
	h := &pages.Home{CSRF: csrfToken(c), Said: s.sessions.PopString(ctx, sessionSaid), Changed: s.changed(c, "/"), Left: all.leftWords(tongueOf(ctx))}
	if h.Body, err = all.fortnight(s.pages, tongueOf(ctx)); err != nil {
		return err
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Home(b, h) })
}

// lobby is the front page for those who are not signed in.
func (s *Server) lobby(c echo.Context) error {
	regions, err := s.cfg.Store.Regions(c.Request().Context())
	if err != nil {
		return err
	}
	in := tongueOf(c.Request().Context())
	m := &pages.Message{
		Title: in.Say("The right fortnight for each tree"),
		Text:  in.Say("Your own page opens with the secret link that you were given, or with your mail address and password."), SignIn: true,
	}
	for _, r := range regions {
		m.Regions = append(m.Regions, pages.Choice{Value: r.ID, Label: r.Name})
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Message(b, m) })
}

// drawn is the part of a page that stays as it is while the garden does: it holds
// nothing of a session and no token, and is written in each language when it is first asked
// for in it. Who chose a language reads it in no other, and a choice makes another garden.
type drawn struct {
	guard sync.Mutex
	parts map[string]func() (template.HTML, error) // by language
}

// fortnight returns what to do now as a part of the page.
func (g *garden) fortnight(p *pages.Pages, in *wording.Tongue) (template.HTML, error) {
	return g.now.part(in.Lang(), func() (template.HTML, error) {
		var b bytes.Buffer
		err := p.In(in).Fortnight(&b, pages.FortnightOf(in, g.laid(in)))
		return template.HTML(b.String()), err //nolint:gosec // written from our own template, which escapes
	})
}

func (d *drawn) part(language string, write func() (template.HTML, error)) (template.HTML, error) {
	d.guard.Lock()
	part := d.parts[language]
	if part == nil {
		if d.parts == nil {
			d.parts = map[string]func() (template.HTML, error){}
		}
		part = sync.OnceValues(write)
		d.parts[language] = part
	}
	d.guard.Unlock()
	return part()
}

// laid returns the garden as pages lay it out.
func (g *garden) laid(in *wording.Tongue) *pages.Garden {
	out := &pages.Garden{Agenda: g.agenda, Shows: g.entered(in), Credits: g.credits}
	for i := range g.plots {
		p := &g.plots[i]
		out.Plots = append(out.Plots, pages.Plot{ID: p.place, Plan: p.plan, Seasons: p.seasons, Known: p.known, Frost: p.frosts()})
	}
	return out
}

// frostNights is how many nights ahead the chance of frost is told.
const frostNights = 14

// frosts returns how likely the nights to the days after that of the plan bring frost in the open.
func (p *plot) frosts() []float64 {
	if p.outlook == nil {
		return nil
	}
	out := make([]float64, frostNights)
	for i := range out {
		out[i] = p.outlook.FrostOn(p.plan.On+1+climate.Date(i), climate.FrostLevels[0])
	}
	return out
}

func csrfToken(c echo.Context) string {
	token, _ := c.Get(middleware.DefaultCSRFConfig.ContextKey).(string)
	return token
}

// treesPage lists all trees, narrowed by what the query asks for.
func (s *Server) treesPage(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	in := tongueOf(ctx)
	page := pages.TreesOf(in, all.laid(in), pages.Wanted{Find: c.QueryParam("find"), Place: c.QueryParam("place"), Stage: c.QueryParam("stage"), State: c.QueryParam("state")})
	page.From = "/trees"
	if q := c.QueryString(); q != "" {
		page.From += "?" + q
	}
	page.CSRF, page.Said, page.Changed = csrfToken(c), s.sessions.PopString(ctx, sessionSaid), s.changed(c, page.From)
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Trees(b, page) })
}

// yearsPage shows the roads of all trees to the bench.
func (s *Server) yearsPage(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	years, err := all.years()
	page := pages.YearsListOf(tongueOf(ctx), years)
	if err != nil {
		s.cfg.Log.ErrorContext(ctx, "no years drawn", "grower", g.ID, "error", err)
		page.Failed = true
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).YearsList(b, page) })
}

// shownMessages is how many messages the page shows, the newest.
const shownMessages = 50

// messagesPage shows what the grower was told.
func (s *Server) messagesPage(c echo.Context, g calendar.Grower) error {
	nudges, err := s.cfg.Store.Nudges(c.Request().Context(), g.ID, shownMessages)
	if err != nil {
		return err
	}
	in := tongueOf(c.Request().Context())
	page := &pages.Messages{}
	for _, n := range nudges {
		page.Nudges = append(page.Nudges, pages.NudgeOf(in, n, s.cfg.Now()))
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Messages(b, page) })
}

// placesPage lists the places, and what their dates rest on.
func (s *Server) placesPage(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	page := &pages.Places{Said: s.sessions.PopString(ctx, sessionSaid)}
	for i := range all.plots {
		p := &all.plots[i]
		v := pages.PlaceOf(tongueOf(ctx), p.place, p.plan, p.known)
		v.Readings = readingsPath(p.place)
		if v.Sources, err = s.sourceLines(ctx, g.ID, p); err != nil {
			return err
		}
		page.Places = append(page.Places, v)
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Places(b, page) })
}
