package feeds

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// clubRoutes are the pages of clubs for those who are in them.
func (s *Server) clubRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := func(path string, h echo.HandlerFunc) { e.Match([]string{"GET", "HEAD"}, path, h, person...) }
	read("/clubs", s.own(s.clubsPage))
	read("/clubs/:club", s.clubbed(calendar.Plain, s.clubPage))
	e.POST("/clubs/:club/sharing", s.clubbed(calendar.Plain, s.putSharing), person...)
	e.POST("/clubs/:club/leave", s.clubbed(calendar.Plain, s.leaveClub), person...)
	read("/clubs/:club/members", s.clubbed(calendar.Keeper, s.membersPage))
	e.POST("/clubs/:club/members", s.clubbed(calendar.Keeper, s.changeMember), person...)
	e.POST("/clubs/:club/invite", s.clubbed(calendar.Keeper, s.invite), person...)
	e.POST("/clubs/:club/uninvite", s.clubbed(calendar.Keeper, s.uninvite), person...)
	read("/clubs/:club/pool", s.clubbed(calendar.Plain, s.poolPage))
	e.POST("/clubs/:club/pool", s.clubbed(calendar.Keeper, s.setAside), person...)
}

// seat is a grower's place in a club.
type seat struct {
	Club   calendar.Club
	Member calendar.Member
}

// clubbed lets only those through who are signed in and may what role may in the
// club that the path names. To others there is no such page: who may not see a club
// does not hear that there is one.
func (s *Server) clubbed(role calendar.Role, h func(echo.Context, calendar.Grower, seat) error) echo.HandlerFunc {
	return s.own(func(c echo.Context, g calendar.Grower) error {
		at, err := s.seat(c, g.ID)
		if err != nil {
			return err
		}
		if !at.Member.Role.May(role) {
			return calendar.ErrNotFound
		}
		return h(c, g, at)
	})
}

// seat finds a grower's place in the club that the path names.
func (s *Server) seat(c echo.Context, grower string) (at seat, err error) {
	ctx := c.Request().Context()
	mine, err := s.cfg.Store.Memberships(ctx, grower)
	if err != nil {
		return at, err
	}
	for _, m := range mine {
		if m.Club == c.Param("club") {
			at.Member = m
			at.Club, err = s.cfg.Store.Club(ctx, m.Club)
			return at, err
		}
	}
	return at, calendar.ErrNotFound
}

// clubsPage lists the clubs that a grower is in.
func (s *Server) clubsPage(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	mine, err := s.cfg.Store.Memberships(ctx, g.ID)
	if err != nil {
		return err
	}
	p := &pages.Clubs{Said: s.sessions.PopString(ctx, sessionSaid)}
	for _, m := range mine {
		club, err := s.cfg.Store.Club(ctx, m.Club)
		if err != nil {
			return err
		}
		p.Clubs = append(p.Clubs, pages.ClubRow{ID: club.ID, Name: club.Name, Role: string(m.Role), Shares: m.Shares})
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Clubs(b, p) })
}

func (s *Server) clubPage(c echo.Context, g calendar.Grower, at seat) error {
	return s.clubWith(c, g, at, http.StatusOK, "")
}

func (s *Server) clubWith(c echo.Context, g calendar.Grower, at seat, status int, fault string) error {
	ctx := c.Request().Context()
	p := &pages.Club{
		CSRF: csrfToken(c), ID: at.Club.ID, Name: at.Club.Name, Fault: fault, Said: s.sessions.PopString(ctx, sessionSaid),
		Role: string(at.Member.Role), Edits: at.Member.Role.May(calendar.Editor), Keeps: at.Member.Role.May(calendar.Keeper), Shares: at.Member.Shares,
	}
	regions, err := s.cfg.Store.Regions(ctx)
	if err != nil {
		return err
	}
	for i := range regions {
		if r := &regions[i]; r.Club == at.Club.ID {
			p.Regions = append(p.Regions, pages.Choice{Value: r.ID, Label: r.Name})
		}
	}
	if p.Members, err = s.memberRows(ctx, at.Club.ID, g.ID); err != nil {
		return err
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Club(b, p) })
}

// memberRows lists who is in a club by name. Names and roles are all that members see
// of one another.
func (s *Server) memberRows(ctx context.Context, club, me string) (out []pages.MemberRow, err error) {
	in := tongueOf(ctx)
	members, err := s.cfg.Store.Members(ctx, club)
	if err != nil {
		return nil, err
	}
	for _, m := range members {
		g, err := s.cfg.Store.Grower(ctx, m.Grower)
		if errors.Is(err, calendar.ErrNotFound) {
			continue // has just left
		}
		if err != nil {
			return nil, err
		}
		out = append(out, pages.MemberRow{ID: g.ID, Name: g.Name, Role: string(m.Role), Since: in.Month(m.Since.UTC().Month()) + " " + strconv.Itoa(m.Since.UTC().Year()), Shares: m.Shares, Me: m.Grower == me})
	}
	return out, nil
}

// putSharing says whether a member's sightings go into the pool. What was in it is
// forgotten before the answer; what goes into it follows from the next plan, which is made at once.
func (s *Server) putSharing(c echo.Context, g calendar.Grower, at seat) error {
	shares := false
	in := tongueOf(c.Request().Context())
	words := in.Say("You share nothing any more, and what you had shared is forgotten.")
	switch c.FormValue("share") {
	case "yes":
		shares, words = true, in.Say("Your sightings of spring are shared from now on. You can stop at any time.")
	case "no":
	default:
		return refuse(calendar.ErrInvalid, "Nothing was changed: the form does not say whether to share.")
	}
	if err := s.cfg.Store.PutShares(c.Request().Context(), at.Club.ID, g.ID, shares); err != nil {
		return err
	}
	return s.afresh(c, g.ID, words, "/clubs/"+at.Club.ID)
}

// leaveClub lets a member go. Places, trees and logs stay theirs.
func (s *Server) leaveClub(c echo.Context, g calendar.Grower, at seat) error {
	err := s.cfg.Store.EndMember(c.Request().Context(), at.Club.ID, g.ID)
	if errors.Is(err, calendar.ErrConflict) {
		return s.clubWith(c, g, at, http.StatusConflict, tongueOf(c.Request().Context()).Say(lastKeeper))
	}
	if err != nil {
		return err
	}
	return s.afresh(c, g.ID, tongueOf(c.Request().Context()).Say("You left {1}. Your places, trees and logs are all still yours.", at.Club.Name), "/clubs")
}

const lastKeeper = "Nothing was changed: a club needs a keeper, and this is the last one. Make another member keeper first."
