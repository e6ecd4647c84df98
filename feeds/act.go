package feeds

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/nudge"
	"budswell/feeds/pages"
)

// actRoute is that of links in messages. To open one shows what it does, for
// programs that look at mail open links too; only POST does it. The secret in the
// path is all that is needed, and no other site can know it, so there is neither
// a sign-in nor a token against forged forms.
const actRoute = nudge.ActPath + ":token"

// actLink finds the link of a path.
func (s *Server) actLink(c echo.Context) (l calendar.Link, path string, err error) {
	token := c.Param("token")
	if !secretForm.MatchString(token) {
		return l, "", calendar.ErrNotFound
	}
	l, err = s.cfg.Store.LinkByHash(c.Request().Context(), HashSecret(token), s.cfg.Now())
	if errors.Is(err, calendar.ErrGone) {
		return l, "", refuse(calendar.ErrGone, "This link worked for three weeks and has expired. On your page you can log it still.")
	}
	if err != nil {
		return l, "", err
	}
	reads, err := s.cfg.Store.Locale(c.Request().Context(), l.Grower)
	if err != nil {
		return l, "", err
	}
	speak(c, reads)
	return l, nudge.ActPath + token, nil
}

// actPage shows what a link does, and what it did.
func (s *Server) actPage(c echo.Context) error {
	l, path, err := s.actLink(c)
	if err != nil {
		return err
	}
	if l.Does == calendar.StopMail {
		return s.actWith(c, http.StatusOK, &pages.Act{Path: path, Label: l.Label, Stop: true})
	}
	a, _, err := s.actOf(c.Request().Context(), &l, path)
	if err != nil {
		return err
	}
	return s.actWith(c, http.StatusOK, a)
}

func (s *Server) actWith(c echo.Context, status int, a *pages.Act) error {
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Act(b, a) })
}

// standing is a tree of a link as it is planned now.
type standing struct {
	tree *calendar.TreePlan
	at   *calendar.Plan
}

// actOf lays out a link that logs something, and returns its trees that are still
// there, in the order of the link.
func (s *Server) actOf(ctx context.Context, l *calendar.Link, path string) (*pages.Act, []standing, error) {
	g, err := s.garden(ctx, l.Grower)
	if err != nil {
		return nil, nil, err
	}
	a := &pages.Act{Path: path, Label: l.Label}
	var trees []standing
	for _, id := range l.Trees {
		for i := range g.plots {
			p := g.plots[i].plan
			k := slices.IndexFunc(p.Trees, func(t calendar.TreePlan) bool { return t.Tree.ID == id })
			if k < 0 {
				continue
			}
			t := &p.Trees[k]
			trees = append(trees, standing{t, p})
			a.Today = max(a.Today, p.On.String())
			if !l.Used(id) {
				a.Trees = append(a.Trees, pages.Choice{Value: id, Label: t.Tree.Name, Picked: true})
			}
			for _, u := range l.Uses {
				switch {
				case u.Tree != id:
				case u.Back.IsZero():
					a.Logged = append(a.Logged, pages.LoggedBy(tongueOf(ctx), u, t.Tree.Name, l.Label))
				default:
					a.Back = append(a.Back, pages.LoggedBy(tongueOf(ctx), u, t.Tree.Name, l.Label))
				}
			}
		}
	}
	a.On = a.Today
	return a, trees, nil
}

// act does what a link does: it ends the mail, or logs something on the trees
// that were picked. A form without trees, as a program may send it, means all of
// them, today.
func (s *Server) act(c echo.Context) error {
	l, path, err := s.actLink(c)
	if err != nil {
		return err
	}
	if l.Does == calendar.StopMail {
		return s.stopMail(c, &l, path)
	}
	ctx := c.Request().Context()
	a, trees, err := s.actOf(ctx, &l, path)
	if err != nil {
		return err
	}
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	if form.Get("on") != "" {
		a.On = form.Get("on")
	}
	all := form.Get("form") == "" && len(form["tree"]) == 0
	known := s.knownTo(ctx, l.Grower)
	var uses []calendar.LinkUse
	for i := range a.Trees {
		choice := &a.Trees[i]
		choice.Picked = all || slices.Contains(form["tree"], choice.Value)
		k := slices.IndexFunc(trees, func(t standing) bool { return t.tree.Tree.ID == choice.Value })
		if !choice.Picked {
			continue
		}
		e, words := entryOf(tongueOf(ctx), known, &pages.Log{On: a.On, What: l.Does}, trees[k].tree, trees[k].at)
		if words != "" {
			a.Fault = tongueOf(ctx).Say("Nothing was logged. {1}: {2}", choice.Label, words)
			continue
		}
		uses = append(uses, calendar.LinkUse{Tree: choice.Value, Entry: e})
	}
	switch {
	case len(a.Trees) == 0:
		return refuse(calendar.ErrConflict, "This was logged with this link already. On your page you can log more.")
	case a.Fault == "" && len(uses) == 0:
		a.Fault = tongueOf(ctx).Say("Nothing was logged: pick a tree.")
	}
	if a.Fault != "" {
		return s.actWith(c, http.StatusUnprocessableEntity, a)
	}
	err = s.cfg.Store.UseLink(ctx, l.Hash, uses, s.cfg.Now())
	if errors.Is(err, calendar.ErrConflict) {
		return refuse(calendar.ErrConflict, "This was logged with this link already. Open it again to see what.")
	}
	if err != nil {
		return err
	}
	s.replanAfter(ctx, l.Grower)
	return c.Redirect(http.StatusSeeOther, path)
}

// actBack takes back what was logged by a link.
func (s *Server) actBack(c echo.Context) error {
	l, path, err := s.actLink(c)
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	if _, err := s.cfg.Store.TakeBack(ctx, l.Hash, s.cfg.Now()); err != nil {
		return err
	}
	s.replanAfter(ctx, l.Grower)
	return c.Redirect(http.StatusSeeOther, path)
}

// replanAfter plans anew after a log was changed. That it cannot be done now
// does not undo the change: it is done with the next look at the page, or in the morning.
func (s *Server) replanAfter(ctx context.Context, grower string) {
	if err := s.replan(ctx, grower, s.cfg.Now()); err != nil {
		s.cfg.Log.ErrorContext(ctx, "logged, but no new plan", "grower", grower, "error", err)
	}
}

// stopMail ends the mail to a grower, on the button of the page or by the
// one click of RFC 8058. To do it again changes nothing.
func (s *Server) stopMail(c echo.Context, l *calendar.Link, path string) error {
	ctx := c.Request().Context()
	p, err := s.cfg.Store.Preferences(ctx, l.Grower)
	if err != nil {
		return err
	}
	if p.Mail {
		p.Mail = false
		if err := s.cfg.Store.PutPreferences(ctx, l.Grower, p); err != nil {
			return err
		}
		s.cfg.Log.InfoContext(ctx, "mail ended by a link", "grower", l.Grower)
	}
	return s.actWith(c, http.StatusOK, &pages.Act{Path: path, Label: strings.TrimSpace(l.Label), Stop: true, Done: true})
}
