package feeds

import (
	"encoding/json"
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
)

// takeBack withdraws an entry of a tree's log, which keeps that it was there.
func (s *Server) takeBack(c echo.Context, g calendar.Grower) error {
	t, _, err := s.tree(c, g)
	if err != nil {
		return err
	}
	var e calendar.Entry
	if err := json.Unmarshal([]byte(c.FormValue("entry")), &e); err != nil {
		return refuse(calendar.ErrInvalid, "Nothing was taken back: load the page again, and press once more.")
	}
	ctx := c.Request().Context()
	err = s.cfg.Store.Withdraw(ctx, g.ID, t.Tree.ID, e, s.cfg.Now())
	if errors.Is(err, calendar.ErrNotFound) {
		return refuse(calendar.ErrNotFound, "Nothing was taken back: the log does not hold this any more.")
	}
	if err != nil {
		return err
	}
	s.replanAfter(ctx, g.ID)
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("{1}: taken back, and planned anew.", t.Tree.Name))
	to := treePath(t.Tree.ID)
	if from := c.FormValue("from"); from != "" {
		to = onward(from)
	}
	return c.Redirect(http.StatusSeeOther, to)
}
