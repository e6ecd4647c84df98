package feeds

import (
	"github.com/labstack/echo/v4"

	"budswell/calendar"
)

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
