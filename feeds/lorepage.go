package feeds

import (
	"bytes"
	"slices"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// loreRoutes are those of what the rules say. It is the trade's knowledge, so anybody may
// read it; who is signed in reads it with their own words, and those of the clubs that they
// follow, over it.
func (s *Server) loreRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := func(path string, h echo.HandlerFunc) { e.Match([]string{"GET", "HEAD"}, path, h, person...) }
	read("/lore", s.lorePage)
	read("/lore/rules/:rule", s.rulePage)
	read("/lore/species/:species", s.speciesPage)
	s.deskRoutes(e, person)
}

// longestQuery is how many bytes of what is looked for are read.
const longestQuery = 100

// reader is who reads what the rules say.
type reader struct {
	lore  *calendar.Lore
	in    bool           // signed in
	edits []pages.Choice // for whom they may change rules, with the path of the desk
}

// reader returns the lore for whoever asks.
func (s *Server) reader(c echo.Context) (*reader, error) {
	g, ok, err := s.grower(c)
	if err != nil || !ok {
		return &reader{lore: s.cfg.Lore}, err
	}
	ctx := c.Request().Context()
	in := tongueOf(ctx)
	k, err := s.loreOf(ctx, g.ID)
	if err != nil || s.cfg.Ground == nil {
		return &reader{lore: s.cfg.Lore, in: true}, err
	}
	out := &reader{lore: k.lore, in: true, edits: []pages.Choice{{Value: ownDesk, Label: in.Say("your trees")}}}
	clubs, err := s.cfg.Store.Memberships(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	for _, m := range clubs {
		if !m.Role.May(calendar.Editor) {
			continue
		}
		club, err := s.cfg.Store.Club(ctx, m.Club)
		if err != nil {
			return nil, err
		}
		out.edits = append(out.edits, pages.Choice{Value: deskOfClub(club.ID), Label: in.Say("club {1}", club.Name)})
	}
	return out, nil
}

func (s *Server) lorePage(c echo.Context) error {
	who, err := s.reader(c)
	if err != nil {
		return err
	}
	q := c.QueryParam("q")
	p := pages.LoreOf(tongueOf(c.Request().Context()), who.lore, pages.Asked{Query: q[:min(len(q), longestQuery)], Work: c.QueryParam("work"), Group: c.QueryParam("group")})
	p.SignedIn = who.in
	return s.light(c, func(b *bytes.Buffer) error { return s.in(c).Lore(b, p) })
}

func (s *Server) rulePage(c echo.Context) error {
	who, err := s.reader(c)
	if err != nil {
		return err
	}
	r, ok := ruleNamed(who.lore, c.Param("rule"))
	if !ok {
		return calendar.ErrNotFound
	}
	p := pages.RulePageOf(tongueOf(c.Request().Context()), who.lore, r)
	p.SignedIn, p.Edits = who.in, who.edits
	return s.light(c, func(b *bytes.Buffer) error { return s.in(c).Rule(b, p) })
}

// ruleNamed finds a rule, also one that is switched off.
func ruleNamed(l *calendar.Lore, id string) (*calendar.Rule, bool) {
	if r, ok := l.RuleByID(id); ok {
		return r, true
	}
	i := slices.IndexFunc(l.Off, func(r calendar.Rule) bool { return r.ID == id })
	if i < 0 {
		return nil, false
	}
	return &l.Off[i], true
}

func (s *Server) speciesPage(c echo.Context) error {
	who, err := s.reader(c)
	if err != nil {
		return err
	}
	sp, ok := speciesAt(who.lore, c.Param("species"))
	if !ok {
		return calendar.ErrNotFound
	}
	p := pages.SpeciesPageOf(tongueOf(c.Request().Context()), who.lore, sp)
	p.SignedIn, p.Edits = who.in, who.edits
	return s.light(c, func(b *bytes.Buffer) error { return s.in(c).Species(b, p) })
}

// speciesAt finds a species by the last part of its page's path.
func speciesAt(l *calendar.Lore, slug string) (*calendar.Species, bool) {
	i := slices.IndexFunc(l.Species, func(s calendar.Species) bool { return calendar.Slug(s.Name) == slug })
	if i < 0 {
		return nil, false
	}
	return &l.Species[i], true
}

// light answers with a page without a secret in it, compressed where that is taken.
func (s *Server) light(c echo.Context, render func(*bytes.Buffer) error) error {
	var b bytes.Buffer
	if err := render(&b); err != nil {
		return err
	}
	c.Response().Header().Add("Vary", "Accept-Language")
	body, err := newBody("text/html; charset=utf-8", "no-store", b.Bytes(), time.Time{})
	if err != nil {
		return err
	}
	body.ServeHTTP(c.Response(), c.Request())
	return nil
}
