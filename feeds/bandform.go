package feeds

import (
	"bytes"
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

// byKept is the choice of a band's weather that leaves it as it is.
const byKept = "kept"

// bandForm holds a band as it is.
func bandForm(in *wording.Tongue, g calendar.Grower, b *calendar.Band) *pages.Form {
	return &pages.Form{In: in, Typed: url.Values{
		"name": {b.Name}, "where": {number(b.Site.Lat) + ", " + number(b.Site.Lon)}, "elevation": {number(b.Site.Elevation)}, "weather": {byKept}, "lent": {lentTyped(g, b)},
	}}
}

func (s *Server) bandFormPage(c echo.Context, g calendar.Grower, at seat) error {
	r, i, err := s.bandOfClub(c, at)
	if err != nil {
		return err
	}
	f := &pages.Form{In: tongueOf(c.Request().Context()), Typed: url.Values{"weather": {byAtlas}, "where": {number(r.Bands[0].Site.Lat) + ", " + number(r.Bands[0].Site.Lon)}}}
	if i < len(r.Bands) {
		f = bandForm(tongueOf(c.Request().Context()), g, &r.Bands[i])
	}
	return s.bandFormWith(c, g, http.StatusOK, at, &r, i, f)
}

// bandOfClub finds the region of the club and the place of its band that a path names,
// that after the last for a new one.
func (s *Server) bandOfClub(c echo.Context, at seat) (calendar.Region, int, error) {
	r, err := s.ofClub(c, at)
	if err != nil {
		return r, 0, err
	}
	id := c.Param("band")
	i := slices.IndexFunc(r.Bands, func(b calendar.Band) bool { return b.ID == id })
	if i < 0 && id == newBand && len(r.Bands) < calendar.MostBands {
		return r, len(r.Bands), nil
	}
	if i < 0 {
		err = calendar.ErrNotFound
	}
	return r, i, err
}

func (s *Server) bandFormWith(c echo.Context, g calendar.Grower, status int, at seat, r *calendar.Region, i int, f *pages.Form) error {
	v := &pages.BandForm{CSRF: csrfToken(c), Club: at.Club.ID, RegionID: r.ID, RegionName: r.Name, Problem: f.Whole(), Action: clubRegionPath(at.Club.ID, r.ID, "/bands/"+newBand)}
	var err error
	var b *calendar.Band
	if i < len(r.Bands) {
		b = &r.Bands[i]
		v.ID, v.Band, v.Last = b.ID, b.Name, len(r.Bands) == 1
		v.Action = clubRegionPath(at.Club.ID, r.ID, "/bands/"+b.ID)
		if v.Rests, err = s.bandRests(c.Request().Context(), f.Tongue(), g, at.Club.ID, b); err != nil {
			return err
		}
	}
	if v.Changes, err = s.cfg.Store.RegionChanges(c.Request().Context(), r.ID); err != nil {
		return err
	}
	return s.bandWith(c, g, status, b, v, f)
}

// bandWith shows the form of a band, nil for a new one, with what was typed.
func (s *Server) bandWith(c echo.Context, g calendar.Grower, status int, b *calendar.Band, v *pages.BandForm, f *pages.Form) error {
	v.Inputs = []pages.Input{
		f.Input(pages.Input{Name: "name", Label: "Name of the band", Hint: "An elevation band or a site: Valley floor, Upper slopes.", Required: true, Most: 100}),
		f.Input(pages.Input{Name: "where", Label: "Town or village nearby, or coordinates", Hint: "A region or country may follow after a comma. Coordinates: degrees north and east, such as 50.11, 8.68; south and west have a minus. Take a place in the band, and not somebody's garden.", Required: true}),
		f.Input(pages.Input{Name: "elevation", Label: "Elevation", Hint: "Metres above the sea, of the middle of the band.", Required: true, Mode: "decimal", Most: 12}),
	}
	in := f.Tongue()
	weather := []pages.Choice{
		{Value: byAtlas, Label: in.Say("The climate atlas, at this elevation")},
		{Value: byFrost, Label: in.Say("The two frost dates, below")},
		{Value: byNormals, Label: in.Say("Monthly means, below")},
	}
	if s.cfg.ReadStation != nil {
		v.Reads = true
		weather = append(weather, pages.Choice{Value: byStation, Label: in.Say("A weather station's file, below")})
	}
	if v.ID != "" {
		weather = append([]pages.Choice{{Value: byKept, Label: in.Say("As it is")}}, weather...)
	}
	v.Weather = f.Input(pages.Input{Name: "weather", Label: "Its weather", Required: true, Choices: weather})
	var err error
	if v.Lent, err = s.lentInput(c.Request().Context(), g, f, b); err != nil {
		return err
	}
	v.Frost, v.Normals = frostInputs(f, nil), normalsInputs(f)
	for _, list := range [][]pages.Input{v.Frost, v.Normals} {
		for i := range list {
			list[i].Required = false // only one of them is
		}
	}
	v.Station = f.Input(pages.Input{Name: "station", Label: "Elevation of the station", Hint: "Metres, where it is not that of the band: the temperatures are then adjusted.", Mode: "decimal", Most: 12})
	v.FileFault = f.Faults["file"]
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).BandForm(b, v) })
}

// multipart reads a form that may bring a file.
func (s *Server) multipart(c echo.Context) (*pages.Form, error) {
	typed, err := c.FormParams()
	return &pages.Form{Typed: typed, In: tongueOf(c.Request().Context())}, err
}

// bandOf reads the form of a band; was is the band as it is, without an id where it is
// new, and others are those beside it. Faults are told in the form; with any, the band is nil.
func (s *Server) bandOf(c echo.Context, g calendar.Grower, f *pages.Form, was *calendar.Band, others []calendar.Band) (*calendar.Band, error) {
	b := *was
	b.Site = bandSite(f, was.Site)
	b.Name = b.Site.Name
	where, err := atlas.ParseWhere(f.Get("where"))
	switch {
	case f.Get("where") == "":
		f.Fault("where", "Want a town, or coordinates such as 50.11, 8.68.")
	case err != nil:
		f.Fault("where", wording.Sentence(wording.Capital(err.Error())))
	case was.ID == "" || where.Lat != was.Site.Lat || where.Lon != was.Site.Lon:
		b.Site.Lat, b.Site.Lon = where.Lat, where.Lon
		if b.Site.Zone, err = atlas.Zone(where.Lat, where.Lon); err != nil {
			f.Fault("where", wording.Sentence(wording.Capital(err.Error())))
		}
	}
	if slices.ContainsFunc(others, func(o calendar.Band) bool { return o.Name == b.Name }) {
		f.Fault("name", "Another band of the region has this name; want one of its own.")
	}
	if b.ID == "" {
		b.ID = calendar.BandID(b.Name, append(slices.Clone(others), calendar.Band{ID: newBand}))
	}
	if len(f.Faults) > 0 {
		return nil, nil
	}
	s.bandWeather(c, f, was, &b)
	if len(f.Faults) > 0 {
		return nil, nil
	}
	err = calendar.CheckBands(append(slices.Clone(others), b))
	if err == nil {
		var today climate.Date
		if today, err = s.dayAt(b.Site); err == nil {
			_, err = b.Weather.Outlook(b.Site, today)
		}
	}
	if err != nil {
		f.Fault("", wording.Sentence(wording.Capital(strings.TrimSuffix(err.Error(), ": "+calendar.ErrInvalid.Error()))))
		return nil, nil
	}
	if err := s.lentOf(c.Request().Context(), g, f, was, &b); err != nil || len(f.Faults) > 0 {
		return nil, err
	}
	return &b, nil
}

// bandWeather reads what the weather of a band is to rest on.
func (s *Server) bandWeather(c echo.Context, f *pages.Form, was, b *calendar.Band) {
	at, err := atlas.At(b.Site.Lat, b.Site.Lon, &b.Site.Elevation)
	if err != nil && !errors.Is(err, atlas.ErrNoClimate) {
		f.Fault("where", wording.Sentence(wording.Capital(err.Error())))
		return
	}
	which, moved := f.Get("weather"), was.ID != "" && b.Site != was.Site && (b.Site.Lat != was.Site.Lat || b.Site.Lon != was.Site.Lon || b.Site.Elevation != was.Site.Elevation)
	w := &b.Weather
	switch {
	case which == byKept && was.ID != "":
		if n := w.Normals; moved && n != nil && n.Source == atlas.Source {
			if at == nil {
				f.Fault("where", "The climate atlas knows no land there, and the weather of this band rests on it: choose another below.")
				return
			}
			w.Normals = &at.Normals
		}
	case which == byAtlas && at == nil:
		f.Fault("where", "The climate atlas knows no land here: this is open water, or ice all year. Look at the signs, or choose other weather below.")
	case which == byAtlas:
		*w = climate.Weather{Normals: &at.Normals, Seed: w.Seed}
	case which == byFrost:
		*w = climate.Weather{Frost: frostOf(f, at), Seed: w.Seed}
	case which == byNormals:
		*w = climate.Weather{Normals: normalsOf(f), Seed: w.Seed}
	case which == byStation && s.cfg.ReadStation != nil:
		s.bandStation(c, f, at, b)
	default:
		f.Fault("weather", "Want one of these.")
	}
}

// bandStation reads a station's file for a band. What the atlas says stays beside it.
func (s *Server) bandStation(c echo.Context, f *pages.Form, at *atlas.Climate, b *calendar.Band) {
	name, text, err := fileOf(c)
	if err != nil || text == nil {
		f.Fault("file", "Pick a file of 4 MB at most first. One that was picked before must be picked again.")
		return
	}
	r, err := s.cfg.ReadStation(name, bytes.NewReader(text))
	if err != nil {
		f.Fault("file", f.Tongue().Say("The file was not taken. {1}", wording.Sentence(err.Error())))
		return
	}
	var up *float64
	if t := f.Get("station"); t != "" {
		v := degree(t, 6000)
		if !(v >= -430) {
			f.Fault("station", "Want metres from -430 to 6000, as in 480, or nothing.")
			return
		}
		up = &v
	}
	if at != nil {
		b.Weather = climate.Weather{Normals: &at.Normals, Seed: b.Weather.Seed}
	}
	b.Measured(r, up)
	if b.Weather.Record == nil {
		f.Fault("file", "The file was not taken: there is not one day with temperatures in it.")
	}
}

// changeBand keeps, adds, or only shows what was changed of a band.
func (s *Server) changeBand(c echo.Context, g calendar.Grower, at seat) error {
	r, i, err := s.bandOfClub(c, at)
	if err != nil {
		return err
	}
	f, err := s.multipart(c)
	if err != nil {
		return err
	}
	was, others := &calendar.Band{}, slices.Clone(r.Bands)
	if i < len(r.Bands) {
		was, others = &r.Bands[i], slices.Delete(others, i, i+1)
	}
	b, err := s.bandOf(c, g, f, was, others)
	if err != nil {
		return err
	}
	if err := s.unchanged(c.Request().Context(), f, r.ID); err != nil {
		return err
	}
	if len(f.Faults) > 0 {
		return s.bandFormWith(c, g, http.StatusUnprocessableEntity, at, &r, i, f)
	}
	changed := r
	if changed.Bands = slices.Clone(r.Bands); i < len(r.Bands) {
		changed.Bands[i] = *b
	} else {
		changed.Bands = append(changed.Bands, *b)
	}
	if f.Get("do") == "preview" {
		return s.preview(c, &changed)
	}
	rests, err := s.bandRests(c.Request().Context(), f.Tongue(), g, at.Club.ID, b)
	if err != nil {
		return err
	}
	said := f.Tongue().Say("{1} is kept, and published. {2}", b.Name, rests)
	return s.putRegion(c, changed, at, said, "")
}

// endBand takes a band out of its region.
func (s *Server) endBand(c echo.Context, _ calendar.Grower, at seat) error {
	r, i, err := s.bandOfClub(c, at)
	switch {
	case err != nil:
		return err
	case i == len(r.Bands):
		return calendar.ErrNotFound
	case len(r.Bands) == 1:
		return refuse(calendar.ErrInvalid, "Nothing was changed: a region wants one band at least. End the region, or add another band first.")
	}
	name := r.Bands[i].Name
	r.Bands = slices.Delete(slices.Clone(r.Bands), i, i+1)
	return s.putRegion(c, r, at, tongueOf(c.Request().Context()).Say("{1} is taken out of the region.", name), "")
}
