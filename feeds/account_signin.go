package feeds

import (
	"bytes"
	"errors"
	"net/http"
	"net/mail"
	"net/url"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
)

// Words that are the same wherever they are said.
const (
	noAddress    = "That is no mail address that one can sign in by, such as ada@example.org."
	takenAddress = "With this address it does not work. Take another, or sign in with it."
	notSignedIn  = "Address and password do not go together."
	noName       = "Say your name, in 1 to 100 letters."
	signInFirst  = "Sign in first: the sign-in lasts two weeks from the last visit."
	signInAgain  = signInFirst + " Nothing was changed."
	signInKept   = signInFirst + " What you sent is kept, and can be sent again then."
)

// foldMail returns a mail address in the form in which it is kept and compared;
// empty where it is none.
func foldMail(typed string) string {
	typed = strings.TrimSpace(typed)
	a, err := mail.ParseAddress(typed)
	if err != nil || a.Name != "" || a.Address != typed || len(typed) > 254 {
		return ""
	}
	return strings.ToLower(a.Address)
}

func localPart(mail string) string {
	local, _, _ := strings.Cut(mail, "@")
	return local
}

// onward returns a path of this service to go on to; the front page for anything
// else.
func onward(path string) string {
	u, err := url.Parse(path)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(path, "/") ||
		strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n\t") {
		return "/"
	}
	return path
}

func (s *Server) signInPage(c echo.Context) error {
	return s.signInWith(c, http.StatusOK, &pages.SignIn{Next: onward(c.QueryParam("next"))})
}

func (s *Server) signInWith(c echo.Context, status int, p *pages.SignIn) error {
	p.CSRF, p.Mailed, p.Open = csrfToken(c), s.cfg.Mail != nil, s.cfg.Open
	in := tongueOf(c.Request().Context())
	p.Fault, p.Why = in.Say(p.Fault), in.Say(p.Why)
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).SignIn(b, p) })
}

// signInFirst answers who is not signed in, and keeps what was sent.
func (s *Server) signInFirst(c echo.Context, err error) error {
	if err != nil {
		return err
	}
	p := &pages.SignIn{Why: signInFirst, Next: "/"}
	switch r := c.Request(); r.Method {
	case http.MethodGet, http.MethodHead:
		p.Next = onward(r.URL.RequestURI())
	case http.MethodPost:
		p.Why = signInAgain
		if form := s.sent(c); form != "" {
			p.Next, p.Form = onward(r.URL.Path), form
			p.Why = signInKept
		}
	}
	return s.signInWith(c, http.StatusForbidden, p)
}

// sent returns the fields of a form that came from one of our own pages; empty
// where there are none. Files and passwords are not kept.
func (s *Server) sent(c echo.Context) string {
	h := c.Request().Header
	if site := h.Get(echo.HeaderSecFetchSite); site != "same-origin" && (site != "" || h.Get(echo.HeaderOrigin) != s.base.Scheme+"://"+s.base.Host) {
		return ""
	}
	if !strings.HasPrefix(h.Get(echo.HeaderContentType), echo.MIMEApplicationForm) {
		return ""
	}
	form, err := c.FormParams()
	if err != nil {
		return ""
	}
	kept := url.Values{}
	for name, values := range form {
		if name != "_csrf" && name != "now" && name != "password" {
			kept[name] = values
		}
	}
	return kept.Encode()
}

// signInPost signs in by address and password. Whether the address is known does
// not show, neither in the answer nor in the time that it takes.
func (s *Server) signInPost(c echo.Context) error {
	ctx := c.Request().Context()
	p := &pages.SignIn{Mail: strings.TrimSpace(c.FormValue("mail")), Next: onward(c.FormValue("next")), Form: c.FormValue("form")}
	typed, password := foldMail(p.Mail), c.FormValue("password")
	if typed == "" || len(password) > 4*longestPassword {
		p.Fault = notSignedIn
		return s.signInWith(c, http.StatusUnprocessableEntity, p)
	}
	var a calendar.Account
	var stale bool
	ok, err := s.throttlePassword(c, typed, func() (ok bool, err error) {
		if a, err = s.cfg.Store.AccountByMail(ctx, typed); err != nil && !errors.Is(err, calendar.ErrNotFound) {
			return false, err
		}
		ok, stale, err = s.passwords.verify(a.Password, password)
		return ok, err
	})
	switch {
	case errors.Is(err, errWait):
		_, p.Fault = answer(err)
		return s.signInWith(c, http.StatusTooManyRequests, p)
	case err != nil:
		return err
	case !ok:
		s.cfg.Log.InfoContext(ctx, "sign-in refused")
		p.Fault = notSignedIn
		return s.signInWith(c, http.StatusUnprocessableEntity, p)
	}
	if stale {
		anew, err := s.passwords.hash(ctx, s.cfg.Random, password)
		if err == nil {
			err = s.cfg.Store.Rehash(ctx, a.Grower, a.Password, anew)
		}
		if err != nil {
			s.cfg.Log.ErrorContext(ctx, "the password keeps its old hash", "error", err)
		}
	}
	if err := s.signIn(c, a.Grower); err != nil {
		return err
	}
	if p.Form == "" {
		return c.Redirect(http.StatusSeeOther, p.Next)
	}
	form, err := url.ParseQuery(p.Form)
	if err != nil {
		return c.Redirect(http.StatusSeeOther, p.Next)
	}
	r := &pages.Resume{CSRF: csrfToken(c), Action: p.Next}
	for name, values := range form {
		for _, v := range values {
			r.Fields = append(r.Fields, pages.Field{Name: name, Value: v})
		}
	}
	slices.SortStableFunc(r.Fields, func(a, b pages.Field) int { return strings.Compare(a.Name, b.Name) })
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Resume(b, r) })
}
