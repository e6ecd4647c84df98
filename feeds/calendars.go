package feeds

import (
	"bytes"
	"context"
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate/phenology"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// calendarsPage shows the feeds, and the programs that connect.
func (s *Server) calendarsPage(c echo.Context, g calendar.Grower) error {
	return s.calendarsWith(c, g, nil, calendar.Filter{})
}

// calendarsWith shows the page with a form that was not taken, when there is one, and
// the picks that were made in it.
func (s *Server) calendarsWith(c echo.Context, g calendar.Grower, fault *pages.Fault, picked calendar.Filter) error {
	ctx := c.Request().Context()
	all, err := s.garden(ctx, g.ID)
	if err != nil {
		return err
	}
	in := tongueOf(ctx)
	p := &pages.Calendars{CSRF: csrfToken(c), Fault: fault, Ahead: picked.Years, Said: s.sessions.PopString(ctx, sessionSaid)}
	if secret := s.sessions.PopString(ctx, sessionMade); secret != "" {
		p.Made = pages.NewLink(s.sessions.PopString(ctx, sessionNamed), FeedLink(s.base.String(), secret))
		if s.sessions.PopString(ctx, sessionYears) == "" {
			p.Made.Tasks = TaskLink(s.base.String(), secret)
		}
	}
	names := map[string]string{}
	for i := range all.plots {
		for k := range all.plots[i].plan.Trees {
			t := all.plots[i].plan.Trees[k].Tree
			names[t.ID] = t.Name
			p.Trees = append(p.Trees, pages.Choice{Value: t.ID, Label: t.Name, Picked: slices.Contains(picked.Trees, t.ID)})
		}
	}
	for _, v := range phenology.Groups() {
		p.Groups = append(p.Groups, choice(in, string(v), picked.Groups))
	}
	for _, v := range calendar.Classes() {
		p.Classes = append(p.Classes, choice(in, string(v), picked.Classes))
	}
	works := s.knownTo(ctx, g.ID).Works
	for i := range works {
		w := &works[i]
		if w.ID == calendar.WorkGone {
			continue // no feed shows it
		}
		p.Works = append(p.Works, pages.Choice{Value: w.ID, Label: in.Title(w.Title), Picked: slices.Contains(picked.Works, w.ID)})
	}
	feeds, err := s.cfg.Store.Feeds(ctx, g.ID)
	if err != nil {
		return err
	}
	for _, f := range feeds {
		p.Feeds = append(p.Feeds, pages.FeedOf(in, f, names))
	}
	if p.Programs, err = s.programsOf(ctx, g); err != nil {
		return err
	}
	status := http.StatusOK
	if fault != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Calendars(b, p) })
}

func choice(in *wording.Tongue, id string, picked []string) pages.Choice {
	return pages.Choice{Value: id, Label: in.Name(id), Picked: slices.Contains(picked, id)}
}

// unknown returns the first value of a filter that names nothing.
func (s *Server) unknown(ctx context.Context, grower string, f calendar.Filter) (string, error) {
	trees, err := s.cfg.Store.Trees(ctx, grower)
	if err != nil {
		return "", err
	}
	for _, id := range f.Trees {
		if !slices.ContainsFunc(trees, func(t calendar.Kept) bool { return t.ID == id }) {
			return tongueOf(ctx).Say("the tree {1}", id), nil
		}
	}
	for _, id := range f.Groups {
		if phenology.Group(id).Phases() == nil {
			return tongueOf(ctx).Say("the group {1}", id), nil
		}
	}
	for _, id := range f.Classes {
		if !slices.Contains(calendar.Classes(), calendar.Class(id)) {
			return tongueOf(ctx).Say("the class {1}", id), nil
		}
	}
	for _, id := range f.Works {
		if _, ok := s.knownTo(ctx, grower).WorkByID(id); !ok {
			return tongueOf(ctx).Say("the work {1}", id), nil
		}
	}
	return "", nil
}
