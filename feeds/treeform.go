package feeds

import (
	"bytes"
	"cmp"
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

// grove is a tree with all that its form needs.
type grove struct {
	tree   calendar.Kept
	others []calendar.Kept
	places []calendar.Place
	at     *calendar.Place // of the tree
	today  climate.Date
}

// grove finds the tree that a path names, gone or not.
func (s *Server) grove(c echo.Context, g calendar.Grower) (*grove, error) {
	ctx := c.Request().Context()
	id, err := url.PathUnescape(c.Param("id"))
	if err != nil {
		return nil, calendar.ErrNotFound
	}
	trees, err := s.cfg.Store.Trees(ctx, g.ID)
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(trees, func(t calendar.Kept) bool { return t.ID == id })
	if i < 0 {
		return nil, calendar.ErrNotFound
	}
	out := &grove{tree: trees[i], others: slices.Delete(slices.Clone(trees), i, i+1)}
	if out.places, err = s.cfg.Store.Places(ctx, g.ID); err != nil {
		return nil, err
	}
	for k := range out.places {
		if out.places[k].ID == out.tree.Place {
			out.at = &out.places[k]
		}
	}
	if out.at == nil {
		return nil, calendar.ErrNotFound
	}
	out.today, err = s.dayAt(out.at.Site)
	return out, err
}

func (s *Server) treeForm(c echo.Context, g calendar.Grower) error {
	v, err := s.grove(c, g)
	if err != nil {
		return err
	}
	return s.treeFormWith(c, http.StatusOK, v, v.form(tongueOf(c.Request().Context())), &pages.TreeChange{})
}

// form holds the tree as it is.
func (v *grove) form(in *wording.Tongue) *pages.Form {
	t := &v.tree
	f := &pages.Form{In: in, Typed: url.Values{
		"name": {t.Name}, "species": {t.Species}, "origin": {string(t.Origin)}, "container": {t.Container.Kind}, "note": {t.Note},
		"place": {t.Place}, "bench": {t.BenchOn(v.today)},
	}}
	if t.Container.Litres > 0 {
		f.Typed.Set("litres", in.Typed(in.Volume(t.Container.Litres)))
	}
	return f
}

func (s *Server) treeFormWith(c echo.Context, status int, v *grove, f *pages.Form, p *pages.TreeChange) error {
	t := &v.tree
	p.CSRF, p.ID, p.Name, p.Place, p.Problem = csrfToken(c), t.ID, t.Name, t.Place, f.Whole()
	p.Said = s.sessions.PopString(c.Request().Context(), sessionSaid)
	p.Today, p.Gone, p.Species = v.today.String(), t.GoneBy(v.today), speciesKnown(f.Tongue(), s.knownTo(c.Request().Context(), t.Grower))
	p.GoneOn = cmp.Or(p.GoneOn, p.Today)
	for _, in := range draftInputs(f, v.at.Benches) {
		switch in.Name {
		case "had since", "last repot", "strength", "stage": // these are of the log
			continue
		case "bench":
			in.Hint = f.Tongue().Say("It counts as moved today.")
			if in.Value != "" {
				in.Choices = in.Choices[1:] // no entry of the log says that a tree left its bench for none
			}
		}
		p.Inputs = append(p.Inputs, in)
	}
	if len(v.places) > 1 {
		in := pages.Input{Name: "place", Label: "Place", Required: true}
		for _, o := range v.places {
			in.Choices = append(in.Choices, pages.Choice{Value: o.ID, Label: o.Site.Name})
		}
		p.Inputs = append(p.Inputs, f.Input(in))
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).TreeForm(b, p) })
}

// changeTree keeps what was changed of a tree; its log is only ever added to.
func (s *Server) changeTree(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	v, err := s.grove(c, g)
	if err != nil {
		return err
	}
	typed, err := c.FormParams()
	if err != nil {
		return err
	}
	f := &pages.Form{Typed: typed, In: tongueOf(c.Request().Context())}
	d, in := draftOf(f), f.Tongue()
	if pot := v.tree.Container; pot.Litres > 0 && f.Get("litres") == in.Typed(in.Volume(pot.Litres)) {
		d.Litres = number(pot.Litres) // as it was, to the last digit
	}
	d.HadSince, d.Repotted, d.Strength, d.Stage = "", "", "", ""
	read, faults := d.Tree(s.knownTo(ctx, g.ID), v.at, v.others, v.today)
	mark(f, faults)
	t, to := v.tree, v.at
	if id := f.Get("place"); id != "" && id != t.Place {
		k := slices.IndexFunc(v.places, func(p calendar.Place) bool { return p.ID == id })
		if k < 0 {
			f.Fault("place", "Want one of your places.")
		} else {
			to = &v.places[k]
		}
	}
	if read != nil && len(f.Faults) == 0 {
		if pot := t.Container; read.Container.Kind == pot.Kind && read.Container.Litres == pot.Litres {
			read.Container = pot // with its measures, which the form does not have
		}
		t.Name, t.Species, t.Origin, t.Container, t.Note, t.Place = read.Name, read.Species, read.Origin, read.Container, read.Note, to.ID
		switch on := t.BenchOn(v.today); {
		case to != v.at:
			t.Bench = ""
		case read.Bench != on && read.Bench != "":
			t.Log = append(slices.Clone(t.Log), calendar.Entry{On: v.today, Moved: read.Bench})
		}
		before := v.tree.Check(s.knownTo(ctx, g.ID), v.at.Site, v.today)
		for _, fault := range t.Check(s.knownTo(ctx, g.ID), to.Site, v.today) {
			if !slices.Contains(before, fault) {
				f.Fault("", in.Say("Not kept: what was logged does not go with it. {1}", wording.Sentence(fault.Error())))
			}
		}
	}
	if len(f.Faults) > 0 {
		return s.treeFormWith(c, http.StatusUnprocessableEntity, v, f, &pages.TreeChange{})
	}
	if err := s.cfg.Store.PutTree(ctx, t); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("{1} is kept.", t.Name))
	return c.Redirect(http.StatusSeeOther, "/trees/"+url.PathEscape(t.ID)+"/edit")
}

// goneTree logs that a tree is gone, and lets it out of plan and feeds.
func (s *Server) goneTree(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	v, err := s.grove(c, g)
	if err != nil {
		return err
	}
	p := &pages.TreeChange{GoneOn: c.FormValue("on"), GoneNote: strings.TrimSpace(c.FormValue("note"))}
	in := tongueOf(ctx)
	on, err := climate.ParseDate(p.GoneOn)
	switch {
	case err != nil || on > v.today || on < v.today-oldestEntry:
		p.GoneFault = in.Say("Not kept: want the day since which it is gone, up to today, written as {1}.", v.today.String())
	case utf8.RuneCountInString(p.GoneNote) > longestNote || !utf8.ValidString(p.GoneNote):
		p.GoneFault = in.Say("Not kept: the reason must not be longer than 500 letters.")
	}
	if p.GoneFault != "" {
		return s.treeFormWith(c, http.StatusUnprocessableEntity, v, v.form(tongueOf(c.Request().Context())), p)
	}
	if err := s.cfg.Store.AddEntry(ctx, g.ID, v.tree.ID, calendar.Entry{On: on, Did: calendar.WorkGone, Note: p.GoneNote}); err != nil {
		return err
	}
	s.replanAfter(ctx, g.ID)
	s.sessions.Put(ctx, sessionSaid, in.Say("{1} is gone from plan and calendars. What was logged of it is kept.", v.tree.Name))
	return c.Redirect(http.StatusSeeOther, placePath(v.tree.Place, ""))
}

// hereTree takes back that a tree is gone.
func (s *Server) hereTree(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	v, err := s.grove(c, g)
	if err != nil {
		return err
	}
	for _, e := range v.tree.Log {
		if e.Did != calendar.WorkGone {
			continue
		}
		if err := s.cfg.Store.Withdraw(ctx, g.ID, v.tree.ID, e, s.cfg.Now()); err != nil {
			return err
		}
	}
	s.replanAfter(ctx, g.ID)
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("{1} is in the plan again.", v.tree.Name))
	return c.Redirect(http.StatusSeeOther, placePath(v.tree.Place, ""))
}
