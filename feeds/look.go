package feeds

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/calendar/lore"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// lookWords shows what something that was typed would change, before it is kept; or the
// form again, where that was asked for or something is wrong.
func (s *Server) lookWords(c echo.Context, d *desk) error {
	v, err := s.drafted(c, d)
	switch {
	case err != nil:
		return err
	case v.form.Get("back") != "":
		v.form.Faults, v.faults = nil, nil
		return s.wordsWith(c, http.StatusOK, v)
	case len(v.form.Faults) > 0 || v.then == nil:
		return s.wordsWith(c, http.StatusUnprocessableEntity, v)
	}
	ctx := c.Request().Context()
	p := &pages.Preview{
		CSRF: csrfToken(c), Path: d.path, Club: d.club.Name, Title: pages.SubjectWords(tongueOf(ctx), v.subject, v.written.now.lore), Text: v.text, Withdraw: v.mode == modeWithdraw,
		Hidden: pages.HiddenOf(v.form.Typed, "_csrf", "back"),
	}
	if a, ok := v.written.stands(v.subject); ok && p.Withdraw {
		p.Text = a.Text
	}
	for _, l := range v.then.left {
		if !slices.ContainsFunc(v.written.now.left, func(o lore.Left) bool { return o.File.Name == l.File.Name }) && l.File.Name != v.subject {
			p.Lost = append(p.Lost, wording.Capital(l.File.Name)+": "+wording.Sentence(l.Faults[0].Wrong))
		}
	}
	if p.Without, err = s.unplannable(ctx, v); err != nil {
		return err
	}
	if d.whose.Club == "" {
		err = s.lookAtTrees(ctx, v, p)
	} else {
		err = s.lookAtRegions(ctx, v, p)
	}
	if err != nil {
		return err
	}
	p.Nothing = len(p.Trees) == 0
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Preview(b, p) })
}

// lookAtTrees plans a grower's trees without what was typed and with it.
func (s *Server) lookAtTrees(ctx context.Context, v *words, p *pages.Preview) error {
	grower := v.desk.who.ID
	before, err := s.garden(ctx, grower)
	if err != nil {
		return err
	}
	w, err := s.wishesOf(ctx, grower)
	if err != nil {
		return err
	}
	trees, err := s.cfg.Store.Trees(ctx, grower)
	if err != nil {
		return err
	}
	after, _, err := s.planBy(ctx, grower, s.cfg.Now(), v.then, &w, trees)
	if err != nil {
		return err
	}
	p.NoTrees = len(trees) == 0
	for i := range after.plots {
		if i < len(before.plots) && before.plots[i].place == after.plots[i].place {
			p.Trees = append(p.Trees, pages.LookTreesOf(tongueOf(ctx), calendar.Differ(before.plots[i].plan, after.plots[i].plan), "")...)
		}
	}
	for i := range p.Trees {
		p.Trees[i].ID = strconv.Itoa(i)
	}
	return nil
}

// lookAtRegions plans the regions of a club, as they are published, without what was typed
// and with it.
func (s *Server) lookAtRegions(ctx context.Context, v *words, p *pages.Preview) error {
	regions, err := s.cfg.Store.Regions(ctx)
	if err != nil {
		return err
	}
	pool, err := s.poolOf(ctx, v.desk.club.ID)
	if err != nil {
		return err
	}
	p.NoTrees = true
	for i := range regions {
		if regions[i].Club != v.desk.club.ID {
			continue
		}
		known, err := s.cfg.Store.Region(ctx, regions[i].ID) // with its bands
		if err != nil {
			return err
		}
		r := &known
		r.Pool = pool
		if _, err := s.lend(ctx, r); err != nil {
			return err
		}
		p.NoTrees = false
		zone, err := r.Bands[0].Site.Location()
		if err != nil {
			return err
		}
		on := climate.DateOf(s.cfg.Now().In(zone))
		var plans [2]*calendar.RegionPlan
		for i, k := range []*knowing{v.written.now, v.then} {
			here, err := s.regional(ctx, r, k)
			if err != nil {
				return err
			}
			if plans[i], err = s.planner.groups(here.lore, r, on); err != nil {
				return err
			}
		}
		before, after := plans[0], plans[1]
		p.Trees = append(p.Trees, pages.LookTreesOf(tongueOf(ctx), calendar.Differ(before.Whole, after.Whole), r.Name)...)
	}
	return nil
}

// unplannable names the trees of a grower that can be planned now and no longer could be
// with what was typed, and why.
func (s *Server) unplannable(ctx context.Context, v *words) ([]string, error) {
	if v.desk.whose.Club != "" {
		return nil, nil // of members who follow, their pages tell
	}
	places, err := s.cfg.Store.Places(ctx, v.desk.who.ID)
	if err != nil {
		return nil, err
	}
	trees, err := s.cfg.Store.Trees(ctx, v.desk.who.ID)
	if err != nil {
		return nil, err
	}
	var out []string
	for i := range places {
		p := &places[i]
		can, _ := plannable(v.written.now.lore, p, treesAt(trees, p.ID))
		_, cannot := plannable(v.then.lore, p, can)
		out = append(out, cannot...)
	}
	return out, nil
}

// notKept shows the form again, with why what was typed was not kept.
func (s *Server) notKept(c echo.Context, v *words, err error) error {
	switch {
	case errors.Is(err, calendar.ErrConflict):
		versions, e := s.cfg.Store.Versions(c.Request().Context(), v.desk.whose)
		if e != nil {
			return e
		}
		v.after = newestOf(versions, v.subject)
		v.form.Fault("", v.form.Tongue().Say("Not kept: it was changed meanwhile, by version {1}. Look at that first; what you wrote stands below, and takes its place if you send it again.", v.after))
	case errors.Is(err, calendar.ErrInvalid):
		_, wrong, _ := strings.Cut(strings.TrimSuffix(err.Error(), ": "+calendar.ErrInvalid.Error()), ": ") // without whose they are
		v.form.Fault("", v.form.Tongue().Say("Not kept: {1}", wording.Sentence(wrong)))
	default:
		return err
	}
	if v.mode == modeWithdraw {
		return refuse(calendar.ErrConflict, v.form.Whole())
	}
	return s.wordsWith(c, http.StatusConflict, v)
}

// deskPage lists what stands at a desk, and its history.
func (s *Server) deskPage(c echo.Context, d *desk) error {
	ctx := c.Request().Context()
	w, err := s.deskWords(ctx, d)
	if err != nil {
		return err
	}
	p := &pages.Desk{CSRF: csrfToken(c), Said: s.sessions.PopString(ctx, sessionSaid), Path: d.path, Club: d.club.Name, ClubPath: "/clubs/" + d.club.ID, Editor: d.editor}
	if d.whose.Club != "" {
		followed, err := s.cfg.Store.Followed(ctx, d.who.ID)
		if err != nil {
			return err
		}
		p.Follows = slices.Contains(followed, d.whose.Club)
	} else if g, err := s.garden(ctx, d.who.ID); err == nil {
		p.Without = g.without
	}
	for i := range w.all {
		a := &w.all[i]
		by, err := s.nameOf(ctx, a.Who)
		if err != nil {
			return err
		}
		st := pages.StandingOf(tongueOf(ctx), a, w.now.lore, by)
		if d.whose.Club == "" {
			st.By = ""
		} else {
			st.Link = "" // the page there is that of the reader's own lore
		}
		for _, l := range w.now.left {
			if l.File.Name == a.Subject && l.File.From.Layer == layerOf(d) {
				st.Faults, st.Link, st.Opens = pages.FaultsOf(tongueOf(ctx), l.Faults, a.Subject), "", ""
			}
		}
		p.Standing = append(p.Standing, st)
	}
	versions, err := s.cfg.Store.Versions(ctx, d.whose)
	if err != nil {
		return err
	}
	for i := range slices.Backward(versions) {
		v, err := s.versionOf(ctx, d, &versions[i], versions)
		if err != nil {
			return err
		}
		if p.Versions = append(p.Versions, v); len(p.Versions) == shownVersions {
			break
		}
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Desk(b, p) })
}

// shownVersions is how many versions the page of a desk lists, the newest.
const shownVersions = 200

func layerOf(d *desk) calendar.Layer {
	if d.whose.Club != "" {
		return calendar.LayerClub
	}
	return calendar.LayerGrower
}

func (s *Server) versionOf(ctx context.Context, d *desk, a *calendar.Amendment, all []calendar.Amendment) (pages.Version, error) {
	by, err := s.nameOf(ctx, a.Who)
	if err != nil {
		return pages.Version{}, err
	}
	if d.whose.Club == "" {
		by = ""
	}
	return pages.VersionOf(tongueOf(ctx), a, s.cfg.Lore, by, newestOf(all, a.Subject) == a.Number), nil
}

// versionPage shows a version as it was written.
func (s *Server) versionPage(c echo.Context, d *desk) error {
	n, err := numbered(c)
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	a, err := s.version(ctx, d, n)
	if err != nil {
		return err
	}
	all, err := s.cfg.Store.Versions(ctx, d.whose)
	if err != nil {
		return err
	}
	v, err := s.versionOf(ctx, d, &a, all)
	if err != nil {
		return err
	}
	p := &pages.VersionPage{Path: d.path, Editor: d.editor, Version: v, Newest: newestOf(all, a.Subject) == n, Withdraw: a.Withdrawn}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Version(b, p) })
}
