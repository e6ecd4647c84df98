package feeds

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// The pages of links that may be used once. Their paths hold the secret.
const (
	passwordRoute = "/password/:ticket"
	joinRoute     = "/join/:ticket"
)

// How long links are good: those that are mailed, those that a keeper hands on,
// and invitations.
const (
	MailedLife     = 2 * time.Hour
	HandedLife     = 3 * 24 * time.Hour
	InvitationLife = 14 * 24 * time.Hour
)

// PasswordLink makes a link by which a grower sets a password, once.
func PasswordLink(ctx context.Context, cfg Config, grower string, life time.Duration) (string, error) {
	return ticketLink(ctx, cfg, "/password/", calendar.Ticket{Grower: grower}, life)
}

// Invitation makes a link by which somebody joins, once; with the address given,
// where one is.
func Invitation(ctx context.Context, cfg Config, mail string, life time.Duration) (string, error) {
	if mail != "" {
		if mail = foldMail(mail); mail == "" {
			return "", fmt.Errorf("%w: %s", calendar.ErrInvalid, noAddress)
		}
	}
	return ticketLink(ctx, cfg, "/join/", calendar.Ticket{Mail: mail}, life)
}

func ticketLink(ctx context.Context, cfg Config, path string, k calendar.Ticket, life time.Duration) (string, error) {
	secret, hash, err := NewSecret(cfg.Random)
	if err != nil {
		return "", err
	}
	k.Hash, k.Expires = hash, cfg.Now().Add(life)
	return strings.TrimRight(cfg.Base, "/") + path + secret, cfg.Store.PutTicket(ctx, k)
}

// What is told to the owner of an account.
const (
	passwordSet = "Your password was set"
	keyChanged  = "Your secret link was changed"
)

func (s *Server) mailingPage(c echo.Context) error {
	in := tongueOf(c.Request().Context())
	if s.cfg.Mail == nil {
		return s.page(c, http.StatusOK, func(b *bytes.Buffer) error {
			return s.in(c).Message(b, &pages.Message{Title: in.Say("Ask the keeper"), Text: in.Say("This service sends no mail. Its keeper can make you a link that sets a new password.")})
		})
	}
	p := &pages.Mailing{CSRF: csrfToken(c), Open: s.cfg.Open}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Mailing(b, p) })
}

// mailLink mails a link to an address, if there is one to mail. The answer is
// the same whether there is or not, and does not wait for it.
func (s *Server) mailLink(c echo.Context) error {
	if s.cfg.Mail == nil {
		return calendar.ErrNotFound
	}
	in := tongueOf(c.Request().Context())
	to := foldMail(c.FormValue("mail"))
	if to == "" {
		return refuse(calendar.ErrInvalid, noAddress)
	}
	byMail, byAddress := "mail "+to, "mails from "+network(c.RealIP())
	if err := s.mustWait(c, max(s.guard.wait(byMail), s.guard.wait(byAddress))); err != nil {
		return err
	}
	s.guard.failed(byMail, ofMail)
	s.guard.failed(byAddress, ofAddress)
	s.inBackground(c, func(ctx context.Context) error { return s.mailLinkTo(ctx, to) })
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error {
		return s.in(c).Message(b, &pages.Message{
			Title: in.Say("Look into your mail"),
			Text:  in.Say("If this address can be used here, a link is on its way to it. It is good once, and for two hours. If none comes, look whether it was taken for junk, or ask the keeper."),
		})
	})
}

// inBackground mails something that no answer waits for.
func (s *Server) inBackground(c echo.Context, mail func(context.Context) error) {
	ctx := context.WithoutCancel(c.Request().Context())
	s.mailing.Go(func() {
		ctx, cancel := context.WithTimeout(ctx, writeTime)
		defer cancel()
		if err := mail(ctx); err != nil {
			s.cfg.Log.ErrorContext(ctx, "not mailed", "error", err)
		}
	})
}

// notify tells the owner of an account that the way in was changed, in case it
// was somebody else.
func (s *Server) notify(c echo.Context, a calendar.Account, what string) {
	if s.cfg.Mail == nil || a.Mail == "" {
		return
	}
	s.inBackground(c, func(ctx context.Context) error {
		return s.cfg.Mail(ctx, a.Mail, what, what+". If that was not you, set a new password now:\n\n"+s.link("/link")+"\n")
	})
}

func (s *Server) mailLinkTo(ctx context.Context, to string) error {
	grower, err := s.growerOf(ctx, to)
	if err != nil {
		return err
	}
	const good = "It is good once, and for two hours. If you did not ask for it, leave it: nothing happens.\n"
	switch {
	case grower != "":
		link, err := PasswordLink(ctx, s.cfg, grower, MailedLife)
		if err != nil {
			return err
		}
		return s.cfg.Mail(ctx, to, "Set a new password", "By this link you set a new password:\n\n"+link+"\n\n"+good)
	case s.cfg.Open:
		link, err := Invitation(ctx, s.cfg, to, MailedLife)
		if err != nil {
			return err
		}
		return s.cfg.Mail(ctx, to, "Join", "By this link you join:\n\n"+link+"\n\n"+good)
	}
	return nil
}

// growerOf returns who signs in by an address, or, without an account yet, to
// whom alone nudges go there; empty where there is nobody.
func (s *Server) growerOf(ctx context.Context, mail string) (string, error) {
	a, err := s.cfg.Store.AccountByMail(ctx, mail)
	if !errors.Is(err, calendar.ErrNotFound) {
		return a.Grower, err
	}
	growers, err := s.cfg.Store.Growers(ctx)
	if err != nil {
		return "", err
	}
	found := ""
	for _, g := range growers {
		if foldMail(g.Email) != mail {
			continue
		}
		_, err := s.cfg.Store.Account(ctx, g.ID)
		switch {
		case err == nil, found != "":
			return "", nil // signs in by another address; or is one of two
		case !errors.Is(err, calendar.ErrNotFound):
			return "", err
		}
		found = g.ID
	}
	return found, nil
}

// ticket finds the ticket that a path names, of a grower or of nobody yet.
func (s *Server) ticket(c echo.Context, ofGrower bool) (calendar.Ticket, error) {
	secret := c.Param("ticket")
	if !secretForm.MatchString(secret) {
		return calendar.Ticket{}, calendar.ErrNotFound
	}
	k, err := s.cfg.Store.Ticket(c.Request().Context(), HashSecret(secret), s.cfg.Now())
	if errors.Is(err, calendar.ErrNotFound) || err == nil && (k.Grower != "") != ofGrower {
		return k, refuse(calendar.ErrGone, "This link was used already, or is too old. Have a new one mailed, or ask the keeper for one.")
	}
	return k, err
}

func (s *Server) passwordPage(c echo.Context) error {
	_, p, err := s.passwordForm(c)
	if err != nil {
		return err
	}
	return s.newPasswordWith(c, http.StatusOK, p)
}

// passwordForm returns the ticket that sets a password, and the form.
func (s *Server) passwordForm(c echo.Context) (calendar.Ticket, *pages.NewPassword, error) {
	ctx := c.Request().Context()
	k, err := s.ticket(c, true)
	if err != nil {
		return k, nil, err
	}
	g, err := s.cfg.Store.Grower(ctx, k.Grower)
	if err != nil {
		return k, nil, err
	}
	a, err := s.account(ctx, g)
	if err != nil {
		return k, nil, err
	}
	return k, &pages.NewPassword{Name: g.Name, Mail: a.Mail, Fixed: a.Password != ""}, nil
}

func (s *Server) newPasswordWith(c echo.Context, status int, p *pages.NewPassword) error {
	p.CSRF, p.Action = csrfToken(c), c.Request().URL.Path
	p.Fault = tongueOf(c.Request().Context()).Say(p.Fault)
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).NewPassword(b, p) })
}

// passwordPost sets a password by a link and signs in.
func (s *Server) passwordPost(c echo.Context) error {
	k, p, err := s.passwordForm(c)
	if err != nil {
		return err
	}
	if !p.Fixed {
		p.Mail = c.FormValue("mail")
	}
	a, err := s.chosen(c, k.Grower, p)
	if err != nil || p.Fault != "" {
		return s.again(c, p, err)
	}
	if err := s.cfg.Store.Redeem(c.Request().Context(), k.Hash, a, s.cfg.Now()); err != nil {
		return s.again(c, p, err)
	}
	s.guard.passed(passwordWay + " of " + a.Mail)
	s.notify(c, a, passwordSet)
	return s.welcome(c, a.Grower)
}

// chosen reads the address and the password of a form, or sets its fault.
func (s *Server) chosen(c echo.Context, grower string, p *pages.NewPassword) (a calendar.Account, err error) {
	a = calendar.Account{Grower: grower, Mail: foldMail(p.Mail), Changed: s.cfg.Now()}
	password := c.FormValue("password")
	if a.Mail == "" {
		p.Fault = noAddress
		return a, nil
	}
	if p.Fault = weak(password, p.Name, a.Mail, localPart(a.Mail)); p.Fault != "" {
		return a, nil
	}
	a.Password, err = s.passwords.hash(c.Request().Context(), s.cfg.Random, password)
	return a, err
}

// again shows a form that was not taken.
func (s *Server) again(c echo.Context, p *pages.NewPassword, err error) error {
	if errors.Is(err, calendar.ErrConflict) {
		p.Fault, err = takenAddress, nil
	}
	if err != nil {
		return err
	}
	return s.newPasswordWith(c, http.StatusUnprocessableEntity, p)
}

func (s *Server) welcome(c echo.Context, grower string) error {
	if err := s.signIn(c, grower); err != nil {
		return err
	}
	return c.Redirect(http.StatusSeeOther, "/")
}

func (s *Server) joinPage(c echo.Context) error {
	k, err := s.ticket(c, false)
	if err != nil {
		return err
	}
	if k.Club != "" && (c.QueryParam("new") == "" || !s.cfg.ClubsInvite) {
		return s.joinClubPage(c, k)
	}
	return s.newPasswordWith(c, http.StatusOK, &pages.NewPassword{Join: true, Mail: k.Mail, Fixed: k.Mail != ""})
}

// joinPost makes a new grower by an invitation and signs in.
func (s *Server) joinPost(c echo.Context) error {
	ctx := c.Request().Context()
	k, err := s.ticket(c, false)
	if err != nil {
		return err
	}
	if k.Club != "" && (c.FormValue("do") == "club" || !s.cfg.ClubsInvite) {
		return s.joinClub(c, k)
	}
	p := &pages.NewPassword{Join: true, Name: strings.TrimSpace(c.FormValue("name")), Mail: cmp.Or(k.Mail, c.FormValue("mail")), Fixed: k.Mail != ""}
	if !calendar.ValidName(p.Name, longestName) {
		p.Fault = noName
		return s.again(c, p, nil)
	}
	id, err := freeID(ctx, s.cfg.Store, p.Name)
	if err != nil {
		return err
	}
	a, err := s.chosen(c, id, p)
	if err != nil || p.Fault != "" {
		return s.again(c, p, err)
	}
	if err := s.cfg.Store.Join(ctx, k.Hash, calendar.Grower{ID: id, Name: p.Name, Email: a.Mail}, a, s.cfg.Now()); err != nil {
		return s.again(c, p, err)
	}
	return s.welcome(c, id)
}

// freeID returns an id made from a name that no grower has.
func freeID(ctx context.Context, store calendar.Store, name string) (string, error) {
	slug := cmp.Or(calendar.Slug(name), "grower")
	for n := 1; ; n++ {
		id := slug
		if n > 1 {
			id = fmt.Sprintf("%s-%d", slug, n)
		}
		_, err := store.Grower(ctx, id)
		if errors.Is(err, calendar.ErrNotFound) {
			return id, nil
		}
		if err != nil {
			return "", err
		}
	}
}

// AddGrower adds a grower by the name and mail address given and returns its id.
func AddGrower(ctx context.Context, cfg Config, id, name, email string) (string, error) {
	if !calendar.ValidName(name, longestName) {
		return "", fmt.Errorf("name %.120q: want 1 to %d letters, in one line that shows as it is written: %w", name, longestName, calendar.ErrInvalid)
	}
	if email != "" && foldMail(email) == "" {
		return "", fmt.Errorf("%q: %w: %s", email, calendar.ErrInvalid, noAddress)
	}
	if id == "" {
		var err error
		if id, err = freeID(ctx, cfg.Store, name); err != nil {
			return "", err
		}
	} else if _, err := cfg.Store.Grower(ctx, id); !errors.Is(err, calendar.ErrNotFound) {
		return "", cmp.Or(err, fmt.Errorf("grower %q: %w", id, calendar.ErrConflict))
	}
	return id, cfg.Store.PutGrower(ctx, calendar.Grower{ID: id, Name: name, Email: email})
}
