package feeds

import (
	"bytes"
	"errors"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// joinClubPage shows an invitation into a club: to who is signed in, to join it; to
// others, how.
func (s *Server) joinClubPage(c echo.Context, k calendar.Ticket) error {
	ctx := c.Request().Context()
	club, err := s.cfg.Store.Club(ctx, k.Club)
	if err != nil {
		return err
	}
	path := c.Request().URL.Path
	p := &pages.JoinClub{
		CSRF: csrfToken(c), Action: path, Club: club.Name, Role: string(k.Role), Joins: s.cfg.ClubsInvite,
	}
	g, ok, err := s.grower(c)
	if err != nil {
		return err
	}
	if ok {
		p.Grower = g.Name
		mine, err := s.cfg.Store.Memberships(ctx, g.ID)
		if err != nil {
			return err
		}
		p.In = slices.ContainsFunc(mine, func(m calendar.Member) bool { return m.Club == k.Club })
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).JoinClub(b, p) })
}

// joinClub lets who is signed in into the club.
func (s *Server) joinClub(c echo.Context, k calendar.Ticket) error {
	g, ok, err := s.grower(c)
	if err != nil || !ok {
		return s.signInFirst(c, err)
	}
	ctx := c.Request().Context()
	club, err := s.cfg.Store.Club(ctx, k.Club)
	if err != nil {
		return err
	}
	err = s.cfg.Store.JoinClub(ctx, k.Hash, g.ID, s.cfg.Now())
	if errors.Is(err, calendar.ErrGone) {
		return refuse(calendar.ErrGone, "This invitation was used already, withdrawn, or is too old. Ask the club’s keeper for a new one.")
	}
	if err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("You are in {1}. Nothing of yours is shared unless you choose so.", club.Name))
	return c.Redirect(http.StatusSeeOther, "/clubs/"+club.ID)
}
