package feeds

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/labstack/echo/v4"
	"golang.org/x/text/language"
	"golang.org/x/text/language/display"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/atlas"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// mostFound is how many places of a name are offered.
const mostFound = 8

// noClimateHere is said of seas and ice caps.
const noClimateHere = "The climate atlas knows no land here: this is open water, or ice all year. " +
	"Look at the signs first: south and west have a minus, and latitude comes before longitude. " +
	"On a small island the coordinates of the coast nearby may do. If they are right, type the monthly means of the place below."

// place finds the place that a path names.
func (s *Server) place(c echo.Context, g calendar.Grower) (calendar.Place, error) {
	id, err := url.PathUnescape(c.Param("place"))
	if err != nil {
		return calendar.Place{}, calendar.ErrNotFound
	}
	return s.cfg.Store.Place(c.Request().Context(), g.ID, id)
}

// wherePage looks for places by name or coordinates, and asks about the one chosen.
func (s *Server) wherePage(c echo.Context, g calendar.Grower) error {
	p := &pages.Where{Query: strings.TrimSpace(c.QueryParam("q")), Credit: atlas.Attribution}
	in := tongueOf(c.Request().Context())
	form := &pages.Form{Typed: url.Values{}, In: in}
	for _, name := range []string{"name", "lat", "lon"} {
		form.Typed.Set(name, c.QueryParam(name))
	}
	chosen := form.Get("lat") != ""
	switch {
	case chosen || p.Query == "":
	case coordinates(p.Query):
		w, err := atlas.ParseWhere(p.Query)
		if err != nil {
			p.Fault = wording.Sentence(err.Error())
			break
		}
		form.Typed.Set("lat", number(w.Lat))
		form.Typed.Set("lon", number(w.Lon))
		if w.Elevation != nil {
			form.Typed.Set("elevation", number(*w.Elevation))
		}
		chosen = true
	default:
		if p.Found = found(in, p.Query); len(p.Found) == 0 {
			p.Fault = in.Say("No place of this name is known. Try it without what follows a comma, a larger place nearby, or coordinates such as 50.11, 8.68.")
		}
	}
	if !chosen {
		status := http.StatusOK
		if p.Fault != "" {
			status = http.StatusUnprocessableEntity
		}
		return s.whereWith(c, g, status, p)
	}
	lat, lon := degree(form.Get("lat"), 90), degree(form.Get("lon"), 180)
	if zone, err := atlas.Zone(lat, lon); err == nil {
		form.Typed.Set("tz", zone)
	}
	at, err := atlas.At(lat, lon, nil)
	if errors.Is(err, atlas.ErrNoClimate) {
		form.Fault("", noClimateHere)
	}
	return s.describe(c, g, http.StatusOK, p, form, at)
}

// describe asks about a place. What the atlas says of it is nil where that is nothing.
func (s *Server) describe(c echo.Context, g calendar.Grower, status int, p *pages.Where, f *pages.Form, at *atlas.Climate) error {
	p.Inputs, p.Problem = siteInputs(f, at), f.Whole()
	if at == nil {
		p.Inputs = append(p.Inputs, normalsInputs(f)...)
	}
	return s.whereWith(c, g, status, p)
}

func (s *Server) whereWith(c echo.Context, g calendar.Grower, status int, p *pages.Where) error {
	ctx := c.Request().Context()
	var err error
	if p.Steps, err = s.steps(ctx, g, stepWhere); err != nil {
		return err
	}
	p.CSRF, p.Said = csrfToken(c), s.sessions.PopString(ctx, sessionSaid)
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Where(b, p) })
}

// coordinates reports whether a search begins with a number, as no name does.
func coordinates(q string) bool { return strings.ContainsAny(q[:1], "+-.0123456789") }

// found lists the places of a name with what tells them apart.
func found(in *wording.Tongue, name string) []pages.Found {
	var out []pages.Found
	regions := display.Regions(language.Make(in.Lang()))
	for _, n := range atlas.Search(name, mostFound) {
		country := n.Country
		if r, err := language.ParseRegion(country); err == nil {
			country = cmp.Or(regions.Name(r), country)
		}
		about := country
		if n.Region != "" && n.Region != n.Name {
			about = n.Region + ", " + country
		}
		if at, err := atlas.At(n.Lat, n.Lon, nil); err == nil {
			about += in.Say("; weather stations around are at {1} m", in.Number(at.Elevation, 0))
		}
		q := url.Values{"name": {n.Name}, "lat": {number(n.Lat)}, "lon": {number(n.Lon)}}
		out = append(out, pages.Found{Name: n.Name, About: about, Link: "/start/place?" + q.Encode()})
	}
	return out
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// degree reads degrees up to a limit; NaN for anything else.
func degree(text string, most float64) float64 {
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil || !(math.Abs(v) <= most) {
		return math.NaN()
	}
	return v
}

func siteInputs(f *pages.Form, at *atlas.Climate) []pages.Input {
	in := f.Tongue()
	hint := in.Say("Metres above the sea. It cools by about {1} a kilometre.", in.TemperatureApart(6, 0))
	if at != nil && at.Assumed {
		hint += " " + in.Say("Left empty, it is taken for {1} m, as the weather stations around are, and the climate is less sure. Any map tells it.", in.Number(at.Elevation, 0))
	}
	return []pages.Input{
		f.Input(pages.Input{Name: "name", Label: "What you call it", Required: true, Most: 100}),
		f.Input(pages.Input{Name: "elevation", Label: "Elevation", Hint: hint, Mode: "decimal", Most: 12}),
		f.Input(pages.Input{Name: "lat", Label: "Latitude", Hint: "Degrees north, -90 to 90; south has a minus.", Required: true, Most: 20}),
		f.Input(pages.Input{Name: "lon", Label: "Longitude", Hint: "Degrees east, -180 to 180; west has a minus.", Required: true, Most: 20}),
		f.Input(pages.Input{Name: "tz", Label: "Time zone", Hint: "As in Europe/Zurich. Left empty, it is found from the place.", Most: 60}),
	}
}

// siteOf reads the form of a place, and asks the atlas about it: nil where that knows
// nothing of it.
func siteOf(f *pages.Form) (climate.Site, *atlas.Climate) {
	site := climate.Site{
		Name: strings.Join(strings.Fields(f.Get("name")), " "), Zone: f.Get("tz"),
		Lat: degree(f.Get("lat"), 90), Lon: degree(f.Get("lon"), 180),
	}
	if n := utf8.RuneCountInString(site.Name); n == 0 || n > longestName || !utf8.ValidString(site.Name) || strings.ContainsRune(site.Name, 0) {
		f.Fault("name", "Want a name of 1 to 100 letters, such as “by the shed”.")
	}
	if math.IsNaN(site.Lat) {
		f.Fault("lat", "Want degrees north from -90 to 90, as in 50.11.")
	}
	if math.IsNaN(site.Lon) {
		f.Fault("lon", "Want degrees east from -180 to 180, as in 8.68.")
	}
	var up *float64
	if t := f.Get("elevation"); t != "" {
		v := degree(t, 6000)
		if !(v >= -430) {
			f.Fault("elevation", "Want metres from -430 to 6000, as in 120, or nothing.")
		}
		up, site.Elevation = &v, v
	}
	if len(f.Faults) > 0 {
		return site, nil
	}
	if site.Zone == "" {
		site.Zone, _ = atlas.Zone(site.Lat, site.Lon)
	}
	if _, err := time.LoadLocation(site.Zone); err != nil || site.Zone == "" || site.Zone == "Local" {
		f.Fault("tz", "Want a time zone of the IANA list, such as Europe/Zurich, or nothing.")
	}
	at, err := atlas.At(site.Lat, site.Lon, up)
	if err != nil {
		return site, nil
	}
	site.Elevation = at.Elevation
	return site, at
}

// makePlace adds a place, with the atlas for its weather.
func (s *Server) makePlace(c echo.Context, g calendar.Grower) error {
	ctx := c.Request().Context()
	typed, err := c.FormParams()
	if err != nil {
		return err
	}
	f := &pages.Form{Typed: typed, In: tongueOf(c.Request().Context())}
	p := calendar.Place{Grower: g.ID}
	var at *atlas.Climate
	if p.Site, at = siteOf(f); at != nil {
		p.Weather.Normals = &at.Normals
	} else if len(f.Faults) == 0 {
		if p.Weather.Normals = normalsOf(f); p.Weather.Normals == nil && f.Get("tmin")+f.Get("tmax") == "" {
			f.Faults = map[string]string{"": f.Tongue().Say(noClimateHere)}
		}
	}
	if len(f.Faults) == 0 {
		s.mustHold(f, &p)
	}
	if len(f.Faults) > 0 {
		if near := degree(f.Get("lat"), 90); at == nil && !math.IsNaN(near) {
			at, _ = atlas.At(near, degree(f.Get("lon"), 180), nil) // for what is taken where nothing is typed
		}
		return s.describe(c, g, http.StatusUnprocessableEntity, &pages.Where{}, f, at)
	}
	places, err := s.cfg.Store.Places(ctx, g.ID)
	if err != nil {
		return err
	}
	slug := cmp.Or(calendar.Slug(p.Site.Name), "place")
	p.ID = slug
	for n := 2; slices.ContainsFunc(places, func(o calendar.Place) bool { return o.ID == p.ID }); n++ {
		p.ID = fmt.Sprintf("%s-%d", slug, n)
	}
	if err := s.cfg.Store.PutPlace(ctx, p); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("{1} is kept.", p.Site.Name))
	return c.Redirect(http.StatusSeeOther, placePath(p.ID, "/weather"))
}

// mustHold tells a form's fault where no plan could be made with the weather of a place.
func (s *Server) mustHold(f *pages.Form, p *calendar.Place) {
	today, err := s.dayAt(p.Site)
	if err == nil {
		_, err = p.Weather.Outlook(p.Site, today)
	}
	if err != nil {
		f.Fault("", wording.Sentence(err.Error()))
	}
}
