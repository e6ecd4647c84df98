package feeds

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
)

// accountRoutes are the pages of signing in and of a grower's account; person is
// what every page of a person runs through.
func (s *Server) accountRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := func(path string, h echo.HandlerFunc) { e.Match([]string{"GET", "HEAD"}, path, h, person...) }
	read("/sign-in", s.signInPage)
	e.POST("/sign-in", s.signInPost, person...)
	read("/link", s.mailingPage)
	e.POST("/link", s.mailLink, person...)
	read(passwordRoute, s.passwordPage)
	e.POST(passwordRoute, s.passwordPost, person...)
	read(joinRoute, s.joinPage)
	e.POST(joinRoute, s.joinPost, person...)
	read("/account", s.own(s.accountPage))
	e.POST("/account/reading", s.own(s.putLocale), person...)
	e.POST("/account/password", s.own(s.changePassword), person...)
	e.POST("/account/key", s.own(s.changeKey), person...)
	e.POST("/account/sessions", s.own(s.endSessions), person...)
	read("/account/garden.json", s.own(s.takeAlong))
	e.POST(addRoute, s.own(s.addFrom), person...)
	read("/account/leave", s.own(s.leavingPage))
	e.POST("/account/leave", s.own(s.deleteMine), person...)
}

// own lets only those through who are signed in.
func (s *Server) own(h func(echo.Context, calendar.Grower) error) echo.HandlerFunc {
	return func(c echo.Context) error {
		g, ok, err := s.grower(c)
		if err != nil || !ok {
			return s.signInFirst(c, err)
		}
		return h(c, g)
	}
}

// account returns how a grower signs in; where there is no password yet, only
// the address that is known.
func (s *Server) account(ctx context.Context, g calendar.Grower) (calendar.Account, error) {
	a, err := s.cfg.Store.Account(ctx, g.ID)
	if errors.Is(err, calendar.ErrNotFound) {
		return calendar.Account{Grower: g.ID, Mail: foldMail(g.Email)}, nil
	}
	return a, err
}

func (s *Server) accountPage(c echo.Context, g calendar.Grower) error {
	return s.accountWith(c, g, http.StatusOK, &pages.Account{})
}

func (s *Server) accountWith(c echo.Context, g calendar.Grower, status int, p *pages.Account) error {
	ctx := c.Request().Context()
	a, err := s.account(ctx, g)
	if err != nil {
		return err
	}
	sessions, err := s.cfg.Store.Sessions(ctx, g.ID, s.cfg.Now())
	if err != nil {
		return err
	}
	p.CSRF, p.Name, p.HasPassword, p.HasKey = csrfToken(c), g.Name, a.Password != "", g.KeyHash != ""
	if p.Mail == "" {
		p.Mail = a.Mail
	}
	if p.Said == "" {
		p.Said = s.sessions.PopString(ctx, sessionSaid)
	}
	l, err := s.cfg.Store.Locale(ctx, g.ID)
	if err != nil {
		return err
	}
	in := tongueOf(ctx)
	if p.Reading == nil {
		p.Reading = localeInputs(localeForm(in, l))
	}
	here := s.sessionHash(ctx)
	for _, v := range sessions {
		_, values, err := sessionCodec{}.Decode(v.Data)
		if err != nil {
			return err
		}
		agent, _ := values[sessionAgent].(string)
		if agent == "" {
			agent = in.Say("a browser without a name")
		}
		since, _ := values[sessionSince].(string)
		since, _, _ = strings.Cut(since, "T")
		if d, err := climate.ParseDate(since); err == nil {
			since = in.Day(d)
		}
		p.Sessions = append(p.Sessions, pages.Session{
			Hash: v.Hash, Agent: agent, Since: since, Seen: in.DayOf(v.Seen) + v.Seen.UTC().Format(", 15:04 UTC"), Here: v.Hash == here,
		})
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Account(b, p) })
}

func (s *Server) accountFault(c echo.Context, g calendar.Grower, words string) error {
	return s.accountWith(c, g, http.StatusUnprocessableEntity, &pages.Account{Fault: tongueOf(c.Request().Context()).Say(words), Mail: strings.TrimSpace(c.FormValue("mail"))})
}

// confirmed asks for the password once more before something that a stranger at
// an unlocked screen must not do; words say what is wrong. Who has no password
// is not asked.
func (s *Server) confirmed(c echo.Context, a calendar.Account) (words string, err error) {
	if a.Password == "" {
		return "", nil
	}
	ok, err := s.throttlePassword(c, a.Mail, func() (bool, error) {
		ok, _, err := s.passwords.verify(a.Password, c.FormValue("now"))
		return ok, err
	})
	if err != nil || ok {
		return "", err
	}
	return "Nothing was changed: that is not your password now.", nil
}

// changePassword sets a password and signs the grower out everywhere else.
func (s *Server) changePassword(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	a, err := s.account(ctx, g)
	if err != nil {
		return err
	}
	if words, err := s.confirmed(c, a); err != nil {
		return err
	} else if words != "" {
		return s.accountFault(c, g, words)
	}
	if a.Password == "" {
		if a.Mail = foldMail(c.FormValue("mail")); a.Mail == "" {
			return s.accountFault(c, g, noAddress)
		}
	}
	if words := weak(c.FormValue("password"), g.Name, a.Mail, localPart(a.Mail)); words != "" {
		return s.accountFault(c, g, words)
	}
	if a.Password, err = s.passwords.hash(ctx, s.cfg.Random, c.FormValue("password")); err != nil {
		return err
	}
	a.Changed = s.cfg.Now()
	if err := s.signIn(c, g.ID); err != nil {
		return err
	}
	err = s.cfg.Store.PutAccount(ctx, a, s.sessionHash(ctx))
	if errors.Is(err, calendar.ErrConflict) {
		return s.accountFault(c, g, takenAddress)
	}
	if err != nil {
		return err
	}
	s.notify(c, a, passwordSet)
	return s.said(c, "The password is set, and you are signed out everywhere else.")
}

// said goes on to the account page, which then says so.
func (s *Server) said(c echo.Context, words string) error {
	s.sessions.Put(c.Request().Context(), sessionSaid, tongueOf(c.Request().Context()).Say(words))
	return c.Redirect(http.StatusSeeOther, "/account")
}

// changeKey makes a new secret link, or switches it off.
func (s *Server) changeKey(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	a, err := s.account(ctx, g)
	if err != nil {
		return err
	}
	if words, err := s.confirmed(c, a); err != nil {
		return err
	} else if words != "" {
		return s.accountFault(c, g, words)
	}
	var secret string
	switch c.FormValue("do") {
	case "renew":
		if secret, g.KeyHash, err = NewSecret(s.cfg.Random); err != nil {
			return err
		}
	case "off":
		if a.Password == "" {
			return s.accountFault(c, g, "Nothing was changed: set a password first, or there would be no way in.")
		}
		g.KeyHash = ""
	default:
		return refuse(calendar.ErrInvalid, "Nothing was changed: the form does not say what to do.")
	}
	if err := s.cfg.Store.PutGrower(ctx, g); err != nil {
		return err
	}
	// Whoever came in by the old link is out.
	if err := s.signIn(c, g.ID); err != nil {
		return err
	}
	if err := s.cfg.Store.EndSessions(ctx, g.ID, s.sessionHash(ctx)); err != nil {
		return err
	}
	s.notify(c, a, keyChanged)
	if secret == "" {
		return s.said(c, "The secret link is off, and you are signed out everywhere else.")
	}
	return s.accountWith(c, g, http.StatusOK, &pages.Account{
		Said: tongueOf(ctx).Say("The old link stopped working, and you are signed out everywhere else."), Link: PageLink(s.base.String(), secret),
	})
}

// endSessions signs the grower out in one browser, or in all others.
func (s *Server) endSessions(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	which := c.FormValue("end")
	here := s.sessionHash(ctx)
	switch which {
	case here:
		return s.leave(c)
	case "others":
		if err := s.cfg.Store.EndSessions(ctx, g.ID, here); err != nil {
			return err
		}
		return s.said(c, "You are signed out everywhere else.")
	}
	mine, err := s.cfg.Store.Sessions(ctx, g.ID, s.cfg.Now())
	if err != nil {
		return err
	}
	for _, v := range mine {
		if v.Hash == which {
			if err := s.cfg.Store.EndSession(ctx, which); err != nil {
				return err
			}
		}
	}
	return s.said(c, "You are signed out there.")
}

func (s *Server) leavingPage(c echo.Context, g calendar.Grower) error {
	return s.leavingWith(c, g, http.StatusOK, "")
}

func (s *Server) leavingWith(c echo.Context, g calendar.Grower, status int, fault string) error {
	ctx := c.Request().Context()
	a, err := s.account(ctx, g)
	if err != nil {
		return err
	}
	all, err := collect(ctx, s.cfg.Store, g)
	if err != nil {
		return err
	}
	p := &pages.Leaving{
		CSRF: csrfToken(c), Fault: tongueOf(ctx).Say(fault), HasPassword: a.Password != "",
		Places: len(all.Places), Trees: len(all.Trees), Feeds: len(all.Feeds),
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Leaving(b, p) })
}

// deleteMine deletes a grower and all that is theirs.
func (s *Server) deleteMine(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	a, err := s.account(ctx, g)
	if err != nil {
		return err
	}
	words, err := s.confirmed(c, a)
	if err != nil {
		return err
	}
	if words == "" && !strings.EqualFold(strings.TrimSpace(c.FormValue("word")), "delete") {
		words = tongueOf(ctx).Say("Nothing was deleted: type the word delete.")
	}
	if words != "" {
		return s.leavingWith(c, g, http.StatusUnprocessableEntity, words)
	}
	if err := s.sessions.Destroy(ctx); err != nil {
		return err
	}
	if err := s.cfg.Store.DeleteGrower(ctx, g.ID, s.cfg.Now()); err != nil {
		return err
	}
	s.gardens.drop(g.ID)
	s.cfg.Log.InfoContext(ctx, "a grower left")
	in := tongueOf(ctx)
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error {
		return s.in(c).Message(b, &pages.Message{
			Title: in.Say("All that was yours is deleted"),
			Text:  in.Say("Feed links tell calendar programs so for thirty days. Backups that the keeper made before hold your data until they are thrown away."),
		})
	})
}
