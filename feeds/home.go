package feeds

import (
	"bytes"
	"context"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"budswell/calendar"
	"budswell/climate/phenology"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// shownNudges is how many messages the page shows, the newest.
const shownNudges = 6

// home shows the signed-in grower's page; to others, where to go.
func (s *Server) home(c echo.Context) error {
	g, ok, err := s.grower(c)
	if err != nil {
		return err
	}
	if !ok {
		return s.lobby(c)
	}
	if all, err := s.garden(c.Request().Context(), g.ID); err != nil {
		return err
	} else if len(all.plots) == 0 {
		return c.Redirect(http.StatusSeeOther, "/start/place")
	}
	return s.homeWith(c, g, nil, calendar.Filter{})
}

// lobby is the front page for those who are not signed in.
func (s *Server) lobby(c echo.Context) error {
	regions, err := s.cfg.Store.Regions(c.Request().Context())
	if err != nil {
		return err
	}
	in := tongueOf(c.Request().Context())
	m := &pages.Message{
		Title: in.Say("The right fortnight for each tree"),
		Text:  in.Say("Your own page opens with the secret link that you were given, or with your mail address and password."), SignIn: true,
	}
	for _, r := range regions {
		m.Regions = append(m.Regions, pages.Choice{Value: r.ID, Label: r.Name})
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Message(b, m) })
}

// homeWith shows the page with a form that was not taken, when there is one, and
// the picks that were made in it.
func (s *Server) homeWith(c echo.Context, g calendar.Grower, fault *pages.Fault, picked calendar.Filter) error {
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	in := tongueOf(ctx)
	h := &pages.Home{CSRF: csrfToken(c), Grower: g.Name, Fault: fault, Said: s.sessions.PopString(ctx, sessionSaid)}
	if secret := s.sessions.PopString(ctx, sessionMade); secret != "" {
		h.Made = pages.NewLink(s.sessions.PopString(ctx, sessionNamed), FeedLink(s.base.String(), secret))
		if s.sessions.PopString(ctx, sessionYears) == "" {
			h.Made.Tasks = TaskLink(s.base.String(), secret)
		}
	}
	names := map[string]string{}
	for i := range all.plots {
		p := &all.plots[i]
		h.Places = append(h.Places, pages.PlaceOf(in, p.plan, p.known))
		h.Places[i].ID = p.place
		for k := range p.plan.Trees {
			t := p.plan.Trees[k].Tree
			names[t.ID] = t.Name
			h.Trees = append(h.Trees, pages.Choice{Value: t.ID, Label: t.Name, Picked: slices.Contains(picked.Trees, t.ID)})
		}
	}
	if err := s.addSources(ctx, all, h); err != nil {
		return err
	}
	for _, v := range phenology.Groups() {
		h.Groups = append(h.Groups, choice(in, string(v), picked.Groups))
	}
	for _, v := range calendar.Classes() {
		h.Classes = append(h.Classes, choice(in, string(v), picked.Classes))
	}
	for i := range s.cfg.Lore.Works {
		w := &s.cfg.Lore.Works[i]
		if w.ID == calendar.WorkGone {
			continue // no feed shows it
		}
		h.Works = append(h.Works, pages.Choice{Value: w.ID, Label: in.Title(w.Title), Picked: slices.Contains(picked.Works, w.ID)})
	}
	feeds, err := s.cfg.Store.Feeds(ctx, g.ID)
	if err != nil {
		return err
	}
	for _, f := range feeds {
		h.Feeds = append(h.Feeds, pages.FeedOf(in, f, names))
	}
	if h.Programs, err = s.programsOf(ctx, g); err != nil {
		return err
	}
	nudges, err := s.cfg.Store.Nudges(ctx, g.ID, shownNudges)
	if err != nil {
		return err
	}
	for _, n := range nudges {
		h.Nudges = append(h.Nudges, pages.NudgeOf(in, n, s.cfg.Now()))
	}
	h.Hours, h.Entered, h.Ahead = all.agenda != nil, all.entered(in), picked.Years
	status := http.StatusOK
	if fault != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Home(b, h) })
}

func choice(in *wording.Tongue, id string, picked []string) pages.Choice {
	return pages.Choice{Value: id, Label: in.Name(id), Picked: slices.Contains(picked, id)}
}

func csrfToken(c echo.Context) string {
	token, _ := c.Get(middleware.DefaultCSRFConfig.ContextKey).(string)
	return token
}

// unknown returns the first value of a filter that names nothing.
func (s *Server) unknown(ctx context.Context, grower string, f calendar.Filter) (string, error) {
	trees, err := s.cfg.Store.Trees(ctx, grower)
	if err != nil {
		return "", err
	}
	for _, id := range f.Trees {
		if !slices.ContainsFunc(trees, func(t calendar.Kept) bool { return t.ID == id }) {
			return "the tree " + id, nil
		}
	}
	for _, id := range f.Groups {
		if phenology.Group(id).Phases() == nil {
			return "the group " + id, nil
		}
	}
	for _, id := range f.Classes {
		if !slices.Contains(calendar.Classes(), calendar.Class(id)) {
			return "the class " + id, nil
		}
	}
	for _, id := range f.Works {
		if _, ok := s.cfg.Lore.WorkByID(id); !ok {
			return "the work " + id, nil
		}
	}
	return "", nil
}
