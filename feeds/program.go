package feeds

import (
	"context"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// What a session holds of a password that was just made, or was not.
const (
	sessionFresh   = "secret"  // shown once
	sessionProgram = "program" // and what it is for
	sessionWrong   = "wrong"   // why it was not made
)

func (s *Server) programRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	e.POST("/programs", s.own(s.makePassword), person...)
	e.POST("/programs/:id/revoke", s.own(s.revokePassword), person...)
}

// makePassword makes a password for a program and shows it once.
func (s *Server) makePassword(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	p := calendar.Password{Grower: g.ID, Name: strings.TrimSpace(c.FormValue("program")), Created: s.cfg.Now()}
	switch {
	case !s.secret():
		return refuse(calendar.ErrInvalid, "No password was made: passwords are taken over https only, which this service is not reached by.")
	case !calendar.ValidName(p.Name, longestName):
		s.sessions.Put(ctx, sessionWrong, tongueOf(ctx).Say("Say in 1 to 100 letters which program it is for, so that you know it again when you withdraw it."))
		return c.Redirect(http.StatusSeeOther, "/calendars#programs")
	}
	secret, hash, err := NewSecret(s.cfg.Random)
	if err != nil {
		return err
	}
	p.Hash = hash
	if p.ID, _, err = NewSecret(s.cfg.Random); err != nil {
		return err
	}
	if err := s.cfg.Store.PutPassword(ctx, p); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionFresh, secret)
	s.sessions.Put(ctx, sessionProgram, p.Name)
	return c.Redirect(http.StatusSeeOther, "/calendars#programs")
}

// revokePassword ends a password for good.
func (s *Server) revokePassword(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	if err := s.cfg.Store.RevokePassword(ctx, g.ID, c.Param("id"), s.cfg.Now()); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("The password was withdrawn. The program that has it reads nothing from now on."))
	return c.Redirect(http.StatusSeeOther, "/calendars#programs")
}

// programsOf lays out a grower's passwords, and the one that was just made.
func (s *Server) programsOf(ctx context.Context, g calendar.Grower) (out pages.Programs, err error) {
	out.Secure = s.secret()
	out.Wrong = s.sessions.PopString(ctx, sessionWrong)
	if secret := s.sessions.PopString(ctx, sessionFresh); secret != "" {
		out.Fresh = &pages.Fresh{Name: s.sessions.PopString(ctx, sessionProgram), Server: s.link(davRoot), User: g.ID, Secret: secret}
	}
	list, err := s.cfg.Store.Passwords(ctx, g.ID)
	for _, p := range list {
		out.Connected = append(out.Connected, pages.ProgramOf(tongueOf(ctx), p))
	}
	return out, err
}
