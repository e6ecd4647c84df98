package feeds

import (
	"errors"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/alexedwards/scs/v2/memstore"
	"github.com/labstack/echo/v4"

	"budswell/calendar"
)

// What a session holds.
const (
	sessionGrower = "grower" // id
	sessionSaid   = "said"   // a sentence to show once
	sessionMade   = "made"   // the secret of a feed just made, shown once
	sessionNamed  = "named"  // and the feed's name
)

func (s *Server) newSessions() *scs.SessionManager {
	m := scs.New()
	m.Lifetime = 30 * 24 * time.Hour
	m.IdleTimeout = 14 * 24 * time.Hour
	m.Cookie.Name = "session"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = s.base.Scheme == "https"
	m.HashTokenInStore = true
	if m.Store = s.cfg.Sessions; m.Store == nil {
		m.Store = memstore.New()
	}
	m.ErrorFunc = func(w http.ResponseWriter, _ *http.Request, err error) {
		s.cfg.Log.Error("session", "error", err)
		http.Error(w, "The sign-in could not be read or kept. Try again later.", http.StatusInternalServerError)
	}
	return m
}

// enter takes the secret of a grower's link, and goes on to the page, so that
// the secret stands in the address bar no longer than need be.
func (s *Server) enter(c echo.Context) error {
	key := c.Param("key")
	if !secretForm.MatchString(key) {
		return calendar.ErrNotFound
	}
	ctx := c.Request().Context()
	g, err := s.cfg.Store.GrowerByKey(ctx, HashSecret(key))
	if err != nil {
		return err
	}
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionGrower, g.ID)
	return c.Redirect(http.StatusSeeOther, "/")
}

// leave ends the session.
func (s *Server) leave(c echo.Context) error {
	if err := s.sessions.Destroy(c.Request().Context()); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/")
}

// grower returns who is signed in; false where nobody is.
func (s *Server) grower(c echo.Context) (calendar.Grower, bool, error) {
	ctx := c.Request().Context()
	id := s.sessions.GetString(ctx, sessionGrower)
	if id == "" {
		return calendar.Grower{}, false, nil
	}
	g, err := s.cfg.Store.Grower(ctx, id)
	if errors.Is(err, calendar.ErrNotFound) {
		return g, false, nil
	}
	return g, err == nil, err
}
