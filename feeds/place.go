package feeds

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/atlas"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// placePage shows a place, its trees and its benches.
func (s *Server) placePage(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	return s.placeWith(c, http.StatusOK, &p, siteForm(tongueOf(c.Request().Context()), p.Site), p.Benches, "")
}

func siteForm(in *wording.Tongue, site climate.Site) *pages.Form {
	return &pages.Form{In: in, Typed: url.Values{
		"name": {site.Name}, "lat": {number(site.Lat)}, "lon": {number(site.Lon)}, "elevation": {number(site.Elevation)}, "tz": {site.Zone},
	}}
}

func (s *Server) placeWith(c echo.Context, status int, p *calendar.Place, f *pages.Form, benches []calendar.Bench, benchFault string) error {
	ctx := c.Request().Context()
	today, err := s.dayAt(p.Site)
	if err != nil {
		return err
	}
	v := &pages.PlacePage{
		CSRF: csrfToken(c), ID: p.ID, Name: p.Site.Name, Said: s.sessions.PopString(ctx, sessionSaid), Inputs: siteInputs(f, nil), Problem: f.Whole(),
		Rests: strings.Join(inUse(tongueOf(ctx), &p.Weather, nil), " "), BenchFault: benchFault,
	}
	for i, b := range append(slices.Clone(benches), calendar.Bench{}) {
		row := pages.BenchRow{N: i + 1, ID: b.ID, Name: b.Name}
		for _, e := range climate.ExposureNames() {
			row.Exposure = append(row.Exposure, pages.Choice{Value: e, Label: tongueOf(ctx).Name(e), Picked: e == cmp.Or(b.Exposure, climate.Open)})
		}
		v.Benches = append(v.Benches, row)
	}
	trees, err := s.cfg.Store.Trees(ctx, p.Grower)
	if err != nil {
		return err
	}
	v.Trees, v.Gone = treeChoices(trees, p.ID, today)
	sites, err := s.cfg.Store.Sites(ctx)
	if err != nil {
		return err
	}
	for _, o := range sites {
		if o.Grower == p.Grower && o.ID != p.ID {
			v.Others = append(v.Others, pages.Choice{Value: o.ID, Label: o.Site.Name})
		}
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Place(b, v) })
}

// treeChoices lists the trees of a place, and those that are gone from it.
func treeChoices(trees []calendar.Kept, place string, today climate.Date) (here, gone []pages.Choice) {
	for i := range trees {
		t := &trees[i]
		v := pages.Choice{Value: t.ID, Label: t.Name + ", " + t.Species}
		switch {
		case t.Place != place:
		case t.GoneBy(today):
			gone = append(gone, v)
		default:
			here = append(here, v)
		}
	}
	return here, gone
}

// changePlace keeps what was changed of a place. Where its weather is the atlas's, that is
// looked up anew.
func (s *Server) changePlace(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	typed, err := c.FormParams()
	if err != nil {
		return err
	}
	f := &pages.Form{Typed: typed, In: tongueOf(c.Request().Context())}
	site, at := siteOf(f)
	if len(f.Faults) == 0 {
		changed := p
		changed.Site = site
		stays := site.Lat == p.Site.Lat && site.Lon == p.Site.Lon && site.Elevation == p.Site.Elevation
		switch n := p.Weather.Normals; {
		case stays: // and so does how sure the atlas is, which an elevation not given makes less
		case at != nil && (n == nil && p.Weather.Frost == nil || n != nil && n.Source == atlas.Source):
			changed.Weather.Normals = &at.Normals
		case at == nil && n != nil && n.Source == atlas.Source:
			f.Fault("", "The climate atlas knows no land there, and the weather of this place is from it. Look at the signs; or give the weather of the place first.")
		}
		if len(f.Faults) == 0 {
			s.mustHold(f, &changed)
		}
		if len(f.Faults) == 0 {
			return s.putPlace(c, changed, "The place is kept.")
		}
	}
	return s.placeWith(c, http.StatusUnprocessableEntity, &p, f, p.Benches, "")
}

// putPlace keeps a place and shows it.
func (s *Server) putPlace(c echo.Context, p calendar.Place, said string) error {
	ctx := c.Request().Context()
	if err := s.cfg.Store.PutPlace(ctx, p); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say(said))
	return c.Redirect(http.StatusSeeOther, placePath(p.ID, ""))
}

// changeBenches keeps the benches of a place.
func (s *Server) changeBenches(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	form, err := c.FormParams()
	if err != nil {
		return err
	}
	benches, err := s.benchesOf(c.Request().Context(), &p, form)
	if r, ok := errors.AsType[*refusal](err); ok {
		return s.placeWith(c, http.StatusUnprocessableEntity, &p, siteForm(tongueOf(c.Request().Context()), p.Site), benches, tongueOf(c.Request().Context()).Say(r.words))
	}
	if err != nil {
		return err
	}
	p.Benches = benches
	return s.putPlace(c, p, "The benches are kept.")
}

// benchesOf reads the rows of the form of benches; a [*refusal] says what is wrong with them.
func (s *Server) benchesOf(ctx context.Context, p *calendar.Place, form url.Values) ([]calendar.Bench, error) {
	in := tongueOf(ctx)
	ids, names, airs := form["id"], form["name"], form["exposure"]
	if len(ids) != len(names) || len(ids) != len(airs) {
		return p.Benches, refuse(calendar.ErrInvalid, "Nothing was changed: the form is not complete. Load the page again.")
	}
	var out []calendar.Bench
	for i, name := range names {
		if name = strings.Join(strings.Fields(name), " "); name == "" {
			continue
		}
		b := calendar.Bench{ID: cmp.Or(calendar.Slug(name), "bench")}
		if k := slices.IndexFunc(p.Benches, func(o calendar.Bench) bool { return ids[i] != "" && o.ID == ids[i] }); k >= 0 {
			b = p.Benches[k]
		}
		b.Name, b.Exposure = name, airs[i]
		out = append(out, b)
	}
	for i, b := range out {
		if slices.ContainsFunc(out[:i], func(o calendar.Bench) bool { return o.ID == b.ID || strings.EqualFold(o.Name, b.Name) }) {
			return out, refuse(calendar.ErrInvalid, in.Say("Not kept: two benches are called {1}. Give each a name of its own.", b.Name))
		}
	}
	if err := calendar.CheckBenches(out); err != nil {
		return out, refuse(calendar.ErrInvalid, in.Say("Not kept: {1}", strings.TrimSuffix(err.Error(), ": "+calendar.ErrInvalid.Error())+"."))
	}
	trees, err := s.cfg.Store.Trees(ctx, p.Grower)
	if err != nil {
		return out, err
	}
	today, err := s.dayAt(p.Site)
	if err != nil {
		return out, err
	}
	for i := range trees {
		t := &trees[i]
		on := t.BenchOn(today)
		stays := slices.ContainsFunc(out, func(b calendar.Bench) bool { return b.ID == on })
		if t.Place == p.ID && on != "" && !stays && !t.GoneBy(today) {
			return p.Benches, refuse(calendar.ErrInvalid, in.Say("Nothing was changed: {1} stands on a bench that you took away. Put it elsewhere first.", t.Name))
		}
	}
	return out, nil
}
