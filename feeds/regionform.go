package feeds

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// The routes on which a club's editors say what it publishes. That of a band takes a
// station's file.
const (
	clubRegionsRoute = "/clubs/:club/regions"
	clubRegionRoute  = clubRegionsRoute + "/:region"
	clubBandRoute    = clubRegionRoute + "/bands/:band"
	firstBandRoute   = clubRegionsRoute + "/new"
)

// newBand and newRegion stand in the place of an id in the path of what is to be added.
const (
	newBand   = "new"
	newRegion = "new"
)

// mostRegions is how many regions a club publishes at most: each is planned every day, and
// once more when its club looks at what a rule would change.
const mostRegions = 24

// regionFormRoutes are for editors and keepers of a club.
func (s *Server) regionFormRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	read := func(path string, h func(echo.Context, calendar.Grower, seat) error) {
		e.Match([]string{http.MethodGet, http.MethodHead}, path, s.clubbed(calendar.Editor, h), person...)
	}
	take := func(path string, h func(echo.Context, calendar.Grower, seat) error) {
		e.POST(path, s.clubbed(calendar.Editor, func(c echo.Context, g calendar.Grower, at seat) error {
			return s.inTurn(c, g.ID, func() error { return h(c, g, at) })
		}), person...)
	}
	read(clubRegionsRoute, s.clubRegions)
	read(firstBandRoute, s.newRegionPage)
	take(firstBandRoute, s.makeRegion)
	read(clubRegionRoute, s.regionFormPage)
	take(clubRegionRoute, s.changeRegion)
	take(clubRegionRoute+"/end", s.endRegion)
	read(clubBandRoute, s.bandFormPage)
	take(clubBandRoute, s.changeBand)
	take(clubBandRoute+"/end", s.endBand)
}

func clubRegionPath(club, region, rest string) string {
	return "/clubs/" + url.PathEscape(club) + "/regions/" + url.PathEscape(region) + rest
}

// clubRegions lists the regions of a club.
func (s *Server) clubRegions(c echo.Context, _ calendar.Grower, at seat) error {
	ctx := c.Request().Context()
	all, err := s.cfg.Store.Regions(ctx)
	if err != nil {
		return err
	}
	v := &pages.ClubRegions{Club: at.Club.ID, Name: at.Club.Name, Said: s.sessions.PopString(ctx, sessionSaid)}
	for _, r := range all {
		if r.Club == at.Club.ID {
			v.Regions = append(v.Regions, pages.Choice{Value: r.ID, Label: r.Name})
		}
	}
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).ClubRegions(b, v) })
}

// ofClub finds the region of the club that a path names.
func (s *Server) ofClub(c echo.Context, at seat) (calendar.Region, error) {
	r, err := s.cfg.Store.Region(c.Request().Context(), c.Param("region"))
	if err == nil && r.Club != at.Club.ID {
		err = calendar.ErrNotFound
	}
	return r, err
}

func (s *Server) regionFormPage(c echo.Context, g calendar.Grower, at seat) error {
	r, err := s.ofClub(c, at)
	if err != nil {
		return err
	}
	f := &pages.Form{In: tongueOf(c.Request().Context()), Typed: url.Values{"name": {r.Name}, "group": r.Groups, "species": r.Species}}
	return s.regionFormWith(c, g, http.StatusOK, at, &r, f)
}

func (s *Server) regionFormWith(c echo.Context, g calendar.Grower, status int, at seat, r *calendar.Region, f *pages.Form) error {
	ctx := c.Request().Context()
	known, err := s.loreOfRegion(ctx, r)
	if err != nil {
		return err
	}
	v := &pages.RegionForm{
		CSRF: csrfToken(c), Club: at.Club.ID, ID: r.ID, Name: r.Name, Said: s.sessions.PopString(ctx, sessionSaid), Problem: f.Whole(),
		Title: f.Input(pages.Input{Name: "name", Label: "Name", Required: true, Most: 100}), Known: speciesKnown(f.Tongue(), known.lore), Room: len(r.Bands) < calendar.MostBands,
	}
	for _, g := range phenology.Groups() {
		v.Groups = append(v.Groups, pages.Choice{Value: string(g), Label: f.Tongue().Group(string(g)), Picked: slices.Contains(f.Typed["group"], string(g))})
	}
	v.Species, v.SpeciesFault = speciesRows(f), f.Faults["species"]
	for i := range r.Bands {
		b := &r.Bands[i]
		rests, err := s.bandRests(ctx, f.Tongue(), g, at.Club.ID, b)
		if err != nil {
			return err
		}
		v.Bands = append(v.Bands, pages.BandRow{ID: b.ID, Name: b.Name, Metres: fmt.Sprintf("%.0f m", b.Site.Elevation), Rests: rests})
	}
	if v.Changes, err = s.cfg.Store.RegionChanges(ctx, r.ID); err != nil {
		return err
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).RegionForm(b, v) })
}

// speciesRows are lines for the species typed, and some more.
func speciesRows(f *pages.Form) []string {
	var out []string
	for _, name := range f.Typed["species"] {
		if strings.TrimSpace(name) != "" {
			out = append(out, name)
		}
	}
	const more = 3
	for range min(more, max(0, calendar.MostSpecies-len(out))) {
		out = append(out, "")
	}
	return out
}

// regionOf reads the form of a region into it; its species are those of the lore.
func regionOf(f *pages.Form, l *calendar.Lore, r *calendar.Region) {
	r.Name = strings.Join(strings.Fields(f.Get("name")), " ")
	if !calendar.ValidName(r.Name, longestName) {
		f.Fault("name", "Want a name of 1 to 100 letters, as people will see it.")
	}
	r.Groups, r.Species = nil, nil
	for _, g := range f.Typed["group"] {
		if phenology.Group(g).Phases() == nil {
			f.Fault("", "There is no such group. Load the page again, and pick once more.")
		} else if !slices.Contains(r.Groups, g) {
			r.Groups = append(r.Groups, g)
		}
	}
	for _, name := range f.Typed["species"] {
		if name = strings.TrimSpace(name); name == "" {
			continue
		}
		sp, err := l.SpeciesNamed(f.Tongue().Botanical(name))
		switch {
		case err != nil:
			f.Fault("species", wording.Sentence(strings.Replace(wording.Capital(err.Error()), ": "+calendar.ErrNotFound.Error(), "", 1)))
		case !slices.Contains(r.Species, sp.Name):
			r.Species = append(r.Species, sp.Name)
		}
	}
	if len(r.Species) > calendar.MostSpecies {
		f.Fault("species", f.Tongue().Say("These are {1} species; want {2} at most.", len(r.Species), calendar.MostSpecies))
	}
}

// changeRegion keeps, or only shows, what was changed of a region.
func (s *Server) changeRegion(c echo.Context, g calendar.Grower, at seat) error {
	r, err := s.ofClub(c, at)
	if err != nil {
		return err
	}
	typed, err := c.FormParams()
	if err != nil {
		return err
	}
	f, changed := &pages.Form{Typed: typed, In: tongueOf(c.Request().Context())}, r
	known, err := s.loreOfRegion(c.Request().Context(), &r)
	if err != nil {
		return err
	}
	regionOf(f, known.lore, &changed)
	if err := s.unchanged(c.Request().Context(), f, r.ID); err != nil {
		return err
	}
	if len(f.Faults) == 0 && typed.Get("do") == "preview" {
		return s.preview(c, &changed)
	}
	if len(f.Faults) > 0 {
		return s.regionFormWith(c, g, http.StatusUnprocessableEntity, at, &r, f)
	}
	return s.putRegion(c, changed, at, tongueOf(c.Request().Context()).Say("Kept, and published."), "")
}

// unchanged tells a fault where a region was changed since its form was shown.
func (s *Server) unchanged(ctx context.Context, f *pages.Form, region string) error {
	now, err := s.cfg.Store.RegionChanges(ctx, region)
	if err == nil && f.Get("changes") != strconv.Itoa(now) {
		f.Fault("", "Not kept yet: the region was changed by somebody else since you opened this form. Look at it again in another window; what you typed stands below, and is kept when you send it once more.")
	}
	return err
}

// putRegion keeps a region and goes on to a page of its forms.
func (s *Server) putRegion(c echo.Context, r calendar.Region, at seat, said, page string) error {
	ctx := c.Request().Context()
	r.Club = at.Club.ID
	if err := s.cfg.Store.PutRegion(ctx, r); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, said)
	return c.Redirect(http.StatusSeeOther, clubRegionPath(at.Club.ID, r.ID, page))
}

// preview shows a region as it would be published.
func (s *Server) preview(c echo.Context, r *calendar.Region) error {
	on, err := s.dayAt(r.Bands[0].Site)
	if err != nil {
		return err
	}
	planned := *r
	planned.Club = c.Param("club")
	ctx := c.Request().Context()
	if planned.Pool, err = s.poolOf(ctx, planned.Club); err != nil {
		return err
	}
	known, err := s.loreOfRegion(ctx, &planned)
	if err != nil {
		return err
	}
	lent, err := s.lend(ctx, &planned)
	if err != nil {
		return err
	}
	plan, err := s.planner.groups(known.lore, &planned, on)
	if err != nil {
		return err
	}
	v := pages.RegionOf(tongueOf(ctx), s.regionAt(), r, plan)
	v.Preview, v.Credits = true, lent.all(&planned)
	return s.page(c, http.StatusOK, func(b *bytes.Buffer) error { return s.in(c).Region(b, v) })
}

// endRegion takes a region back, once its name was typed.
func (s *Server) endRegion(c echo.Context, g calendar.Grower, at seat) error {
	r, err := s.ofClub(c, at)
	if err != nil {
		return err
	}
	f := &pages.Form{In: tongueOf(c.Request().Context()), Typed: url.Values{"name": {r.Name}, "group": r.Groups, "species": r.Species}}
	if c.FormValue("sure") != "yes" {
		f.Fault("", "Not ended: tick the box first. Its links end for everyone who follows them.")
		return s.regionFormWith(c, g, http.StatusUnprocessableEntity, at, &r, f)
	}
	ctx := c.Request().Context()
	if err := s.cfg.Store.EndRegion(ctx, r.ID); err != nil {
		return err
	}
	s.editions.drop("region " + r.ID)
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("{1} is published no more.", r.Name))
	return c.Redirect(http.StatusSeeOther, "/clubs/"+url.PathEscape(at.Club.ID)+"/regions")
}

// newRegionPage asks for a region with its first band.
func (s *Server) newRegionPage(c echo.Context, g calendar.Grower, at seat) error {
	return s.newRegionWith(c, g, http.StatusOK, at, &pages.Form{In: tongueOf(c.Request().Context()), Typed: url.Values{"weather": {byAtlas}}})
}

func (s *Server) newRegionWith(c echo.Context, g calendar.Grower, status int, at seat, f *pages.Form) error {
	v := &pages.BandForm{
		CSRF: csrfToken(c), Club: at.Club.ID, ClubName: at.Club.Name, First: true, Problem: f.Whole(), Action: "/clubs/" + url.PathEscape(at.Club.ID) + "/regions/new",
		Region: f.Input(pages.Input{Name: "region", Label: "Name of the region", Hint: "As people will see it, such as that of the valley.", Required: true, Most: 100}),
	}
	return s.bandWith(c, g, status, nil, v, f)
}

// makeRegion adds a region with its first band.
func (s *Server) makeRegion(c echo.Context, g calendar.Grower, at seat) error {
	ctx := c.Request().Context()
	f, err := s.multipart(c)
	if err != nil {
		return err
	}
	r := calendar.Region{Name: strings.Join(strings.Fields(f.Get("region")), " ")}
	if !calendar.ValidName(r.Name, longestName) {
		f.Fault("region", "Want a name of 1 to 100 letters, as people will see it.")
	}
	b, err := s.bandOf(c, g, f, &calendar.Band{}, nil)
	if err != nil {
		return err
	}
	all, err := s.cfg.Store.Regions(ctx)
	if err != nil {
		return err
	}
	if len(slices.DeleteFunc(all, func(o calendar.Region) bool { return o.Club != at.Club.ID })) >= mostRegions {
		f.Fault("", fmt.Sprintf("A club publishes %d regions at most. End one first, or add bands to one.", mostRegions))
	}
	if len(f.Faults) > 0 {
		return s.newRegionWith(c, g, http.StatusUnprocessableEntity, at, f)
	}
	r.Bands = []calendar.Band{*b}
	slug := calendar.BandID(r.Name, nil)
	r.ID = slug
	for n := 2; ; n++ {
		// A name that was ever another region's is not taken again: people follow its links.
		// Nor is that of the form for a new one, which would stand in its place.
		if r.ID == newRegion {
			r.ID = fmt.Sprintf("%s-%d", slug, n)
			continue
		}
		changes, err := s.cfg.Store.RegionChanges(ctx, r.ID)
		if err != nil {
			return err
		}
		if _, err = s.cfg.Store.Region(ctx, r.ID); errors.Is(err, calendar.ErrNotFound) && changes == 0 {
			break
		}
		r.ID = fmt.Sprintf("%s-%d", slug, n)
	}
	return s.putRegion(c, r, at, f.Tongue().Say("{1} is published. Pick what it shows, and add bands for other elevations.", r.Name), "")
}

// bandSite reads where a band is: a town or coordinates, and its elevation.
func bandSite(f *pages.Form, was climate.Site) climate.Site {
	site := was
	site.Name = strings.Join(strings.Fields(f.Get("name")), " ")
	if !calendar.ValidName(site.Name, longestName) {
		f.Fault("name", "Want a name of 1 to 100 letters, such as “Valley floor”.")
	}
	site.Elevation = degree(f.Get("elevation"), 6000)
	if !(site.Elevation >= -430) {
		f.Fault("elevation", "Want metres above the sea from -430 to 6000, as in 480.")
	}
	return site
}
