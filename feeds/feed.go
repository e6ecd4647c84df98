package feeds

import (
	"net/http"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// feed serves a grower's calendar to whoever has its link.
func (s *Server) feed(c echo.Context) error {
	token := strings.TrimSuffix(c.Param("token"), ".ics")
	if !secretForm.MatchString(token) {
		return calendar.ErrNotFound
	}
	ctx := c.Request().Context()
	f, err := s.cfg.Store.FeedByToken(ctx, HashSecret(token))
	if err != nil {
		return err // withdrawn ones too
	}
	g, err := s.garden(ctx, f.Grower)
	if err != nil {
		return err
	}
	b := g.feeds[f.ID]
	if b == nil {
		return calendar.ErrNotFound
	}
	c.Response().Header().Set("Content-Disposition", `inline; filename="trees.ics"`)
	b.ServeHTTP(c.Response(), c.Request())
	return nil
}

// FeedLink returns the address of a feed from its secret.
func FeedLink(base, secret string) string {
	return strings.TrimRight(base, "/") + "/f/" + secret + ".ics"
}

// PageLink returns the address that opens a grower's page from its secret.
func PageLink(base, secret string) string { return strings.TrimRight(base, "/") + "/enter/" + secret }

// RegionLink returns the public address of a region.
func RegionLink(base, id string) string { return strings.TrimRight(base, "/") + "/r/" + id }

// longestName is the longest name of a feed, in letters.
const longestName = 100

// makeFeed makes a feed and shows its link once.
func (s *Server) makeFeed(c echo.Context) error {
	g, ok, err := s.grower(c)
	if err != nil || !ok {
		return s.signInFirst(c, err)
	}
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	f := calendar.Feed{
		Grower: g.ID, Name: strings.TrimSpace(form.Get("name")), Created: s.cfg.Now(),
		Filter: calendar.Filter{Trees: form["tree"], Groups: form["group"], Classes: form["class"], Works: form["work"]},
	}
	if n := utf8.RuneCountInString(f.Name); n == 0 || n > longestName || !utf8.ValidString(f.Name) {
		return s.homeWith(c, g, &pages.Fault{Words: "A feed wants a name of 1 to 100 letters, by which you find it in your calendar program.", Name: f.Name}, f.Filter)
	}
	if bad, err := s.unknown(ctx, g.ID, f.Filter); err != nil {
		return err
	} else if bad != "" {
		return refuse(calendar.ErrInvalid, "The feed was not made: "+bad+" is not among the choices. Load the page again, and pick once more.")
	}
	var secret string
	if secret, f.TokenHash, err = NewSecret(s.cfg.Random); err != nil {
		return err
	}
	if f.ID, _, err = NewSecret(s.cfg.Random); err != nil {
		return err
	}
	if err := s.cfg.Store.PutFeed(ctx, f); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionMade, secret)
	s.sessions.Put(ctx, sessionNamed, f.Name)
	return c.Redirect(http.StatusSeeOther, "/")
}

// revokeFeed withdraws a feed's link for good.
func (s *Server) revokeFeed(c echo.Context) error {
	g, ok, err := s.grower(c)
	if err != nil || !ok {
		return s.signInFirst(c, err)
	}
	ctx := c.Request().Context()
	if err := s.cfg.Store.RevokeFeed(ctx, g.ID, c.Param("id"), s.cfg.Now()); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, "The feed was withdrawn. Its link shows nothing from now on.")
	return c.Redirect(http.StatusSeeOther, "/#feeds")
}
