package feeds

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// sessionChanged is what a sighting that was just logged changed, shown once; JSON
// of pages.Changed.
const sessionChanged = "changed"

// look logs that a sign was seen on a tree today, or not yet, and says on the page
// from which it was sent what that changed.
func (s *Server) look(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	what, kind := c.FormValue("saw"), "saw:"
	if what == "" {
		what, kind = c.FormValue("not-yet"), "not-yet:"
	}
	in := tongueOf(ctx)
	sign, tree, _ := strings.Cut(what, " ")
	before, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	t, at, _ := before.tree(tree)
	if t == nil {
		return refuse(calendar.ErrNotFound, "Nothing was logged: there is no such tree. Load the page again.")
	}
	e, words := entryOf(in, before.lore, &pages.Log{On: at.On.String(), What: kind + sign}, t, at)
	if words != "" {
		return refuse(calendar.ErrInvalid, in.Say("Nothing was logged on {1}: {2}", t.Tree.Name, words))
	}
	if err := s.cfg.Store.AddEntry(ctx, g.ID, t.Tree.ID, e); err != nil {
		return err
	}
	back := onward(c.FormValue("from"))
	if err := s.replan(ctx, g.ID, s.cfg.Now()); err != nil {
		s.cfg.Log.ErrorContext(ctx, "logged, but no new plan", "grower", g.ID, "error", err)
		s.sessions.Put(ctx, sessionSaid, in.Say("{1}: logged. A new plan could not be made and will be tried again.", t.Tree.Name))
		return c.Redirect(http.StatusSeeOther, back)
	}
	after, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	if changed := s.compare(in, before, after, tree, e); changed != nil {
		text, err := json.Marshal(changed)
		if err != nil {
			return err
		}
		s.sessions.Put(ctx, sessionChanged, string(text))
	}
	return c.Redirect(http.StatusSeeOther, back)
}

// compare says what an entry of a tree's log changed; nil where the tree is not in
// both plans.
func (s *Server) compare(in *wording.Tongue, before, after *garden, tree string, e calendar.Entry) *pages.Changed {
	others := 0
	var own []pages.Move
	var is *calendar.TreePlan
	for i := range after.plots {
		p := &after.plots[i]
		for k := range p.plan.Trees {
			t := &p.plan.Trees[k]
			was, _, _ := before.tree(t.Tree.ID)
			if was == nil {
				continue
			}
			moves := pages.MovesOf(in, before.seen(was), after.seen(t), p.plan.On)
			switch {
			case t.Tree.ID == tree:
				own, is = moves, t
			case len(moves) > 0:
				others++
			}
		}
	}
	if is == nil {
		return nil
	}
	return pages.ChangedBy(in, is, e, after.lore.Works, own, others)
}

// seen returns a tree with its forecasts.
func (g *garden) seen(t *calendar.TreePlan) pages.Seen {
	out := pages.Seen{Plan: t}
	if p := g.plotOf(t.Tree.ID); p != nil && p.seasons != nil {
		out.Season = p.seasons[t.Tree.ID]
	}
	return out
}

// changed returns what the last sighting changed, once; nil where there was none.
func (s *Server) changed(c echo.Context, from string) *pages.Changed {
	text := s.sessions.PopString(c.Request().Context(), sessionChanged)
	if text == "" {
		return nil
	}
	out := &pages.Changed{}
	if err := json.Unmarshal([]byte(text), out); err != nil {
		return nil // written by another version
	}
	out.CSRF, out.From = csrfToken(c), from
	return out
}

// treePath is the address of a tree's page.
func treePath(tree string) string { return "/trees/" + url.PathEscape(tree) }
