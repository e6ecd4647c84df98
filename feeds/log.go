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
	"budswell/climate/phenology"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

const (
	longestNote = 500
	oldestEntry = 40 * 366 // days before today
)

// logPage shows a tree's log and the form that adds to it.
func (s *Server) logPage(c echo.Context, g calendar.Grower) error {
	t, at, err := s.tree(c, g)
	if err != nil {
		return err
	}
	in := tongueOf(c.Request().Context())
	form := pages.LogOf(in, t, at.On, s.knownTo(c.Request().Context(), g.ID).Works)
	form.Benches(in, at.Benches)
	return s.logWith(c, http.StatusOK, form)
}

func (s *Server) logWith(c echo.Context, status int, l *pages.Log) error {
	l.CSRF = csrfToken(c)
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Log(b, l) })
}

// tree finds the tree that a path names, with its plan and that of its place.
func (s *Server) tree(c echo.Context, g calendar.Grower) (*calendar.TreePlan, *calendar.Plan, error) {
	all, err := s.garden(c.Request().Context(), g.ID)
	if err != nil {
		return nil, nil, err
	}
	id, err := url.PathUnescape(c.Param("id"))
	if err != nil {
		return nil, nil, calendar.ErrNotFound
	}
	for i := range all.plots {
		p := all.plots[i].plan
		for k := range p.Trees {
			if p.Trees[k].Tree.ID == id {
				return &p.Trees[k], p, nil
			}
		}
	}
	return nil, nil, calendar.ErrNotFound
}

// logEntry adds what a grower saw on a tree or did to it, and plans anew.
func (s *Server) logEntry(c echo.Context, g calendar.Grower) error {
	t, at, err := s.tree(c, g)
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	in := tongueOf(ctx)
	known := s.knownTo(ctx, g.ID)
	form := pages.LogOf(in, t, at.On, known.Works)
	form.Benches(in, at.Benches)
	form.On, form.What, form.Note = c.FormValue("on"), c.FormValue("what"), strings.TrimSpace(c.FormValue("note"))
	e, words := entryOf(in, known, form, t, at)
	if words != "" {
		form.Fault = in.Say("Not logged: {1}", words)
		return s.logWith(c, http.StatusUnprocessableEntity, form)
	}
	if err := s.cfg.Store.AddEntry(ctx, g.ID, t.Tree.ID, e); err != nil {
		return err
	}
	said := in.Say("{1}: logged, and planned anew.", t.Tree.Name)
	if err := s.replan(ctx, g.ID, s.cfg.Now()); err != nil {
		s.cfg.Log.ErrorContext(ctx, "logged, but no new plan", "grower", g.ID, "error", err)
		said = in.Say("{1}: logged. The plan below is the one from before; a new one could not be made and will be tried again tomorrow.", t.Tree.Name)
	} else {
		said += s.flagged(ctx, g.ID, t.Tree.ID, e)
	}
	s.sessions.Put(ctx, sessionSaid, said)
	return c.Redirect(http.StatusSeeOther, treePath(t.Tree.ID))
}

// entryOf reads a form; words say what would be right where it is not.
func entryOf(in *wording.Tongue, known *calendar.Lore, f *pages.Log, t *calendar.TreePlan, at *calendar.Plan) (e calendar.Entry, words string) {
	today := at.On
	on, err := climate.ParseDate(f.On)
	switch {
	case err != nil:
		return e, in.Say("the day must be one that exists, written YYYY-MM-DD; {1} is today.", today.String())
	case on > today:
		return e, in.Say("the day must not be after today, {1}.", today.String())
	case on < today-oldestEntry:
		return e, in.Say("the day must not be more than forty years ago.")
	case utf8.RuneCountInString(f.Note) > longestNote || !utf8.ValidString(f.Note):
		return e, in.Say("the note must not be longer than 500 letters.")
	}
	e = calendar.Entry{On: on, Note: f.Note}
	kind, id, _ := strings.Cut(f.What, ":")
	switch kind {
	case "saw", "not-yet":
		sign := phenology.Phase(id)
		if t.Species == nil || !slices.Contains(t.Species.Group.Phases(), sign) {
			return e, in.Say("trees of this kind show no such sign; choose one from the list.")
		}
		if kind == "saw" {
			e.Saw = sign
		} else {
			e.NotYet = sign
		}
	case "did":
		w, ok := known.WorkByID(id)
		if !ok {
			return e, in.Say("there is no such work; choose one from the list.")
		}
		e.Did = w.ID
	case "moved":
		if !slices.ContainsFunc(at.Benches, func(b calendar.Bench) bool { return b.ID == id }) {
			return e, in.Say("there is no such bench here; choose one from the list.")
		}
		e.Moved = id
	default:
		return e, in.Say("choose what you saw or did.")
	}
	return e, against(in, known, e, t, at)
}

// against says what of a tree's log an entry contradicts, or nothing. A log is
// only ever added to, so what contradicts it must not get in.
func against(in *wording.Tongue, known *calendar.Lore, e calendar.Entry, t *calendar.TreePlan, at *calendar.Plan) string {
	with := *t.Tree
	with.Log = append(slices.Clone(with.Log), e)
	before := t.Tree.Check(known, at.Site, at.On)
	for _, f := range with.Check(known, at.Site, at.On) {
		if !slices.Contains(before, f) {
			return in.Say("{1} on {2} cannot be: {3}.", in.Name(f.Value), in.Day(e.On), f.Want)
		}
	}
	return ""
}
