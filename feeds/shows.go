package feeds

import (
	"bytes"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// showsPage lists the shows, and takes another.
func (s *Server) showsPage(c echo.Context, g calendar.Grower) error {
	return s.showsWith(c, g, http.StatusOK, &calendar.Show{On: climate.NoDate}, &pages.Shows{})
}

// showsWith shows the page with a form filled in as typed.
func (s *Server) showsWith(c echo.Context, g calendar.Grower, status int, typed *calendar.Show, page *pages.Shows) error {
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	kept, err := s.cfg.Store.Shows(ctx, g.ID)
	if err != nil {
		return err
	}
	page.CSRF, page.Said = csrfToken(c), s.sessions.PopString(ctx, sessionSaid)
	today, in := s.today(all), tongueOf(ctx)
	page.Today = today.String()
	for _, l := range calendar.Looks() {
		page.Looks = append(page.Looks, pages.Choice{Value: string(l), Label: in.Lower(string(l)), Picked: l == typed.Look})
	}
	names := map[string]string{}
	var ways []calendar.ShowPlan
	for i := range all.plots {
		p := all.plots[i].plan
		ways = append(ways, p.Shows...)
		for k := range p.Trees {
			t := p.Trees[k].Tree
			names[t.ID] = t.Name
			page.Trees = append(page.Trees, pages.Choice{Value: t.ID, Label: t.Name, Picked: slices.Contains(typed.Trees, t.ID)})
		}
	}
	page.Shows = pages.ShowsOf(in, kept, names, ways, today)
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).ShowsPage(b, page) })
}

// entered counts the shows to come that trees are entered for; empty where there is none.
func (g *garden) entered(in *wording.Tongue) string {
	n := 0
	for i := range g.shows {
		if len(g.plots) > 0 && g.shows[i].On >= g.plots[0].plan.On {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return in.Count(n, "show")
}

// today is the day at the grower's first place.
func (s *Server) today(g *garden) climate.Date {
	if len(g.plots) == 0 {
		return climate.DateOf(s.cfg.Now().UTC())
	}
	return g.plots[0].plan.On
}

// addShow enters trees for a show and plans anew.
func (s *Server) addShow(c echo.Context, g calendar.Grower) error {
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	kept, err := s.cfg.Store.Shows(ctx, g.ID)
	if err != nil {
		return err
	}
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	show := calendar.Show{Name: strings.TrimSpace(form.Get("name")), On: climate.NoDate, Look: calendar.Look(form.Get("look")), Trees: form["tree"]}
	if d, err := climate.ParseDate(form.Get("on")); err == nil {
		show.On = d
	}
	in := tongueOf(ctx)
	if fault := s.showFault(in, &show, kept, all); fault != "" {
		return s.showsWith(c, g, http.StatusUnprocessableEntity, &show, &pages.Shows{Fault: in.Say("Not entered: {1}", fault), Name: show.Name, On: form.Get("on")})
	}
	if err := s.cfg.Store.PutShows(ctx, g.ID, append(kept, show)); err != nil {
		return err
	}
	return s.afresh(c, g.ID, in.Say("{1}: entered, and planned anew.", show.Name), "/shows")
}

// showFault says what of a show cannot be, in a sentence; empty where all can.
func (s *Server) showFault(in *wording.Tongue, show *calendar.Show, kept []calendar.Show, g *garden) string {
	if !utf8.ValidString(show.Name) || strings.ContainsRune(show.Name, 0) {
		return in.Say("the name must be readable text.")
	}
	if slices.ContainsFunc(kept, func(k calendar.Show) bool { return calendar.Slug(k.Name) == calendar.Slug(show.Name) }) {
		return in.Say("there is a show of that name already; take it out first, or give another name.")
	}
	var trees []calendar.Tree
	for i := range g.plots {
		for k := range g.plots[i].plan.Trees {
			trees = append(trees, *g.plots[i].plan.Trees[k].Tree)
		}
	}
	if show.On.Valid() && show.On < s.today(g) {
		return in.Say("the day lies before today; that a tree was shown is logged on its page.")
	}
	faults := append(show.CheckDay(s.today(g)), show.Check(g.lore, trees)...)
	if len(faults) == 0 {
		return ""
	}
	f := faults[0]
	switch at := slices.IndexFunc(trees, func(t calendar.Tree) bool { return t.ID == f.Value }); {
	case f.Field == "trees" && at >= 0:
		return trees[at].Name + ": " + f.Want + "."
	case f.Field == "trees" && f.Item < 0:
		return in.Say("choose the trees that are to be shown.")
	case f.Field == "look":
		return in.Say("choose how they are shown from the list.")
	case f.Field == "on":
		return "the day " + f.Want + "."
	}
	return f.Error() + "."
}

// removeShow takes a show out and plans anew.
func (s *Server) removeShow(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	kept, err := s.cfg.Store.Shows(ctx, g.ID)
	if err != nil {
		return err
	}
	id, err := url.PathUnescape(c.Param("show"))
	if err != nil {
		return calendar.ErrNotFound
	}
	at := slices.IndexFunc(kept, func(k calendar.Show) bool { return calendar.Slug(k.Name) == id })
	if at < 0 {
		return calendar.ErrNotFound
	}
	name := kept[at].Name
	if err := s.cfg.Store.PutShows(ctx, g.ID, slices.Delete(kept, at, at+1)); err != nil {
		return err
	}
	return s.afresh(c, g.ID, tongueOf(ctx).Say("{1}: taken out, and planned anew.", name), "/shows")
}
