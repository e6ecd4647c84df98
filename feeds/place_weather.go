package feeds

import (
	"bytes"
	"cmp"
	"errors"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/atlas"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

// The forms of the page of a place's weather.
const (
	byAtlas   = "atlas"
	byNormals = "normals"
	byFrost   = "frost"
	byStation = "station"
	bySources = "sources"
)

// band80 is half of the band about a mean in which 80 % lie, in standard errors.
const band80 = 1.28

// weatherForm is one of the forms, as it was sent.
type weatherForm struct {
	which string
	pages.Form
}

func (s *Server) weatherPage(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	return s.weatherWith(c, g, http.StatusOK, &p, &weatherForm{})
}

func (s *Server) weatherWith(c echo.Context, g calendar.Grower, status int, p *calendar.Place, sent *weatherForm) error {
	ctx := c.Request().Context()
	w := &p.Weather
	v := &pages.PlaceWeather{
		CSRF: csrfToken(c), ID: p.ID, Name: p.Site.Name, Said: s.sessions.PopString(ctx, sessionSaid),
		Sent: sent.which, Problem: sent.Whole(), Reads: s.cfg.ReadStation != nil,
	}
	sources, err := s.sourcesOf(ctx, g.ID, p.ID)
	if err != nil {
		return err
	}
	v.InUse = inUse(tongueOf(ctx), w, sources)
	v.OnlyThis = w.Record == nil && len(sources) == 0 && w.Normals != nil && w.Normals.Source == atlas.Source
	at, err := atlas.At(p.Site.Lat, p.Site.Lon, &p.Site.Elevation)
	if err != nil && !errors.Is(err, atlas.ErrNoClimate) {
		return err
	}
	if n := w.Normals; at != nil && n != nil && n.Source == atlas.Source {
		at.Normals, at.Error = *n, band80*n.Error // less sure where the elevation was not given
	}
	if at != nil {
		year, err := at.Normals.Typical(p.Site, 0, 5)
		if err != nil {
			return err
		}
		v.Atlas = pages.AtlasSaysOf(tongueOf(ctx), at, year)
	}
	for _, kind := range s.cfg.Services {
		o := pages.Offer{Kind: kind, Name: serviceName(tongueOf(ctx), kind), Picked: slices.ContainsFunc(sources, func(w calendar.WeatherSource) bool { return w.Kind == kind })}
		o.Credit, o.Terms = s.credit(calendar.WeatherSource{Kind: kind})
		v.Offers = append(v.Offers, o)
	}
	form := func(which string) *pages.Form {
		if sent.which == which {
			return &sent.Form
		}
		return &pages.Form{Typed: url.Values{}, In: tongueOf(ctx)}
	}
	v.Normals, v.Frost = normalsInputs(form(byNormals)), frostInputs(form(byFrost), at)
	if v.Steps, err = s.steps(ctx, g, stepWeather); err != nil {
		return err
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Weather(b, v) })
}

// inUse says what the weather of a place rests on.
func inUse(in *wording.Tongue, w *climate.Weather, sources []calendar.WeatherSource) []string {
	var out []string
	if r := w.Record; r != nil {
		out = append(out, in.Say("The station file {1}, {2} to {3}.", r.Source, in.Day(r.First), in.Day(r.Last())))
	}
	switch {
	case w.Normals != nil && w.Normals.Source != "":
		out = append(out, in.Say("The {1}.", w.Normals.Source))
	case w.Normals != nil:
		out = append(out, in.Say("Monthly means as typed."))
	case w.Frost != nil:
		out = append(out, in.Say("Frost dates as typed: the last usually on {1}, the first on {2}.", in.MonthDay(w.Frost.Last), in.MonthDay(w.Frost.First)))
	}
	for _, s := range sources {
		out = append(out, in.Say("What keeps coming from {1}.", serviceName(in, s.Kind)))
	}
	return out
}

// serviceName is what a kind of source calls itself, or is called.
func serviceName(in *wording.Tongue, kind string) string {
	switch kind {
	case calendar.SourceOpenMeteo:
		return "Open-Meteo"
	case calendar.SourceMETNorway:
		return "MET Norway"
	case calendar.SourceStation:
		return in.Say("a station's file on the web")
	case calendar.SourceFolder:
		return in.Say("a folder of this service")
	}
	return in.Name(kind)
}

func normalsInputs(f *pages.Form) []pages.Input {
	in := f.Tongue()
	such := in.Say("Twelve numbers in {1}, January first, with blanks between: -2.1 -1 2 5.5 ...", in.Degree())
	return []pages.Input{
		f.Input(pages.Input{Name: "tmin", Label: "Mean of the nights (daily minimum)", Hint: such, Required: true}),
		f.Input(pages.Input{Name: "tmax", Label: "Mean of the days (daily maximum)", Hint: such, Required: true}),
	}
}

// normalsOf reads monthly means; nil with faults where they are none.
func normalsOf(f *pages.Form) *climate.Normals {
	in, n := f.Tongue(), &climate.Normals{}
	for _, v := range []struct {
		name string
		to   *[12]float64
	}{{"tmin", &n.Tmin}, {"tmax", &n.Tmax}} {
		fields := strings.FieldsFunc(f.Get(v.name), func(r rune) bool { return r == ' ' || r == ';' || r == '\t' || r == '\u00a0' || r == '\n' })
		if len(fields) == 1 {
			fields = strings.Split(fields[0], ",")
		}
		if len(fields) != 12 {
			f.Fault(v.name, in.Say("Want twelve numbers, one a month; these are {1}.", strconv.Itoa(len(fields))))
			continue
		}
		for m, text := range fields {
			text = strings.Replace(strings.TrimSuffix(text, ","), "\u2212", "-", 1)
			if v.to[m] = in.Celsius(degree(text, in.Degrees(70))); v.to[m] != v.to[m] {
				f.Fault(v.name, in.Say("{1}: “{2}” is no temperature in {3}; want one such as -2.1.", in.Month(time.Month(m+1)), text, in.Degree()))
			}
		}
	}
	if len(f.Faults) > 0 {
		return nil
	}
	if err := n.Validate(); err != nil {
		f.Fault("tmin", wording.Sentence(err.Error()))
		return nil
	}
	return n
}

// frostInputs asks for frost dates; the rest is proposed as the atlas has it.
func frostInputs(f *pages.Form, at *atlas.Climate) []pages.Input {
	in := f.Tongue()
	hint := in.Degree() + "."
	swing := in.Say("{1}, the mean of the warmest month less that of the coldest.", in.Degree())
	if at != nil {
		const taken = "Left empty, it is taken for {1}, as the atlas has it."
		year := atlasYear(at)
		hint += " " + in.Say(taken, in.Number(in.Degrees(year.Mean), 1))
		swing += " " + in.Say(taken, in.Number(in.DegreesApart(year.Range), 1))
	}
	const such = "As in 25 April, or 04-25."
	return []pages.Input{
		f.Input(pages.Input{Name: "last", Label: "Last frost of spring, in a usual year", Hint: such, Required: true, Most: 40}),
		f.Input(pages.Input{Name: "first", Label: "First frost of autumn, in a usual year", Hint: such, Required: true, Most: 40}),
		f.Input(pages.Input{Name: "mean", Label: "Mean of the year", Hint: hint, Required: at == nil, Most: 12}),
		f.Input(pages.Input{Name: "range", Label: "Summer above winter", Hint: swing, Required: at == nil, Most: 12}),
	}
}

// atlasYear returns the mean of the year and its range, as frost dates want them.
func atlasYear(at *atlas.Climate) climate.FrostNormal {
	lo, hi, sum := 100.0, -100.0, 0.0
	for m := range 12 {
		mean := (at.Normals.Tmin[m] + at.Normals.Tmax[m]) / 2
		lo, hi, sum = min(lo, mean), max(hi, mean), sum+mean
	}
	return climate.FrostNormal{Mean: sum / 12, Range: hi - lo}
}

// frostOf reads frost dates; nil with faults where they are none.
func frostOf(f *pages.Form, at *atlas.Climate) *climate.FrostNormal {
	in, n := f.Tongue(), &climate.FrostNormal{}
	if at != nil {
		*n = atlasYear(at)
	}
	for _, v := range []struct {
		name string
		to   *climate.MonthDay
	}{{"last", &n.Last}, {"first", &n.First}} {
		var ok bool
		if *v.to, ok = dayOfYear(f.Get(v.name)); !ok {
			f.Fault(v.name, "Want a day of the year, as in 25 April or 04-25.")
		}
	}
	for _, v := range []struct {
		name   string
		to     *float64
		lo, hi float64
		shown  func(celsius float64) float64
		kept   func(shown float64) float64
	}{{"mean", &n.Mean, -30, 35, in.Degrees, in.Celsius}, {"range", &n.Range, 0, 70, in.DegreesApart, in.CelsiusApart}} {
		text := f.Get(v.name)
		if text == "" && at != nil {
			continue
		}
		lo, hi := v.shown(v.lo), v.shown(v.hi)
		x := degree(text, 200)
		if !(x >= lo && x <= hi) {
			f.Fault(v.name, in.Say("Want {1} from {2} to {3}.", in.Degree(), in.Typed(lo), in.Typed(hi)))
		}
		*v.to = v.kept(x)
	}
	if len(f.Faults) > 0 {
		return nil
	}
	return n
}

// dayOfYear reads a day as people write it.
func dayOfYear(text string) (climate.MonthDay, bool) {
	text = strings.Join(strings.Fields(strings.TrimSuffix(text, ".")), " ")
	for _, layout := range []string{"2006-01-02", "2006-1-2", "2006-2 January", "2006-2 Jan", "2006-January 2", "2006-Jan 2", "2006-2. January"} {
		// Of a leap year, so that 29 February is a day.
		if t, err := time.Parse(layout, "2000-"+text); err == nil {
			return climate.MonthDay{Month: t.Month(), Day: t.Day()}, true
		}
	}
	return climate.MonthDay{}, false
}

// changeWeather takes what a grower knows of the weather of a place.
func (s *Server) changeWeather(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	typed, err := c.FormParams()
	if err != nil {
		return err
	}
	sent := &weatherForm{typed.Get("do"), pages.Form{Typed: typed, In: tongueOf(c.Request().Context())}}
	at, err := atlas.At(p.Site.Lat, p.Site.Lon, &p.Site.Elevation)
	if err != nil && !errors.Is(err, atlas.ErrNoClimate) {
		return err
	}
	changed, said := p, ""
	w := &changed.Weather
	switch sent.which {
	case bySources:
		return s.changeSources(c, g, &p, sent)
	case byNormals:
		w.Normals, w.Frost, said = normalsOf(&sent.Form), nil, "The plan goes by the monthly means that you typed."
	case byFrost:
		w.Normals, w.Frost, said = nil, frostOf(&sent.Form, at), "The plan goes by your frost dates."
	case byAtlas:
		if at == nil {
			sent.Fault("", noClimateHere)
			break
		}
		n := w.Normals
		if n == nil || n.Source != atlas.Source {
			n = &at.Normals
		}
		*w = climate.Weather{Normals: n, Seed: w.Seed}
		said = "The plan goes by the atlas."
	default:
		return refuse(calendar.ErrInvalid, "Nothing was changed: the form does not say what to do.")
	}
	return s.putWeather(c, g, &p, changed, sent, said)
}

// putWeather keeps the weather of a place if a plan can be made with it.
func (s *Server) putWeather(c echo.Context, g calendar.Grower, was *calendar.Place, p calendar.Place, sent *weatherForm, said string) error {
	if len(sent.Faults) == 0 {
		s.mustHold(&sent.Form, &p)
	}
	if len(sent.Faults) > 0 {
		return s.weatherWith(c, g, http.StatusUnprocessableEntity, was, sent)
	}
	ctx := c.Request().Context()
	if err := s.cfg.Store.PutPlace(ctx, p); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say(said))
	return c.Redirect(http.StatusSeeOther, placePath(p.ID, "/weather"))
}

// changeSources turns services on and off; other sources of the place stay.
func (s *Server) changeSources(c echo.Context, g calendar.Grower, p *calendar.Place, sent *weatherForm) error {
	ctx := c.Request().Context()
	sources, err := s.sourcesOf(ctx, g.ID, p.ID)
	if err != nil {
		return err
	}
	offered := func(kind string) bool { return slices.Contains(s.cfg.Services, kind) }
	picked := sent.Typed["source"]
	sources = slices.DeleteFunc(sources, func(w calendar.WeatherSource) bool { return offered(w.Kind) && !slices.Contains(picked, w.Kind) })
	said := "Services are not asked."
	for _, kind := range picked {
		if !offered(kind) {
			return refuse(calendar.ErrInvalid, "Nothing was changed: there is no such service. Load the page again, and pick once more.")
		}
		if !slices.ContainsFunc(sources, func(w calendar.WeatherSource) bool { return w.Kind == kind }) {
			sources = append(sources, calendar.WeatherSource{Grower: g.ID, Place: p.ID, Kind: kind})
		}
		said = "Kept. The first weather comes within some minutes; the plan goes by it from then on."
	}
	if err := s.cfg.Store.PutWeatherSources(ctx, g.ID, p.ID, sources); err != nil {
		return err
	}
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say(said))
	return c.Redirect(http.StatusSeeOther, placePath(p.ID, "/weather"))
}

// takeStation reads a file of daily weather. What was looked up or typed stays beside it.
func (s *Server) takeStation(c echo.Context, g calendar.Grower) error {
	p, err := s.place(c, g)
	if err != nil {
		return err
	}
	if s.cfg.ReadStation == nil {
		return calendar.ErrNotFound
	}
	in := tongueOf(c.Request().Context())
	sent := &weatherForm{which: byStation, Form: pages.Form{In: in}}
	name, text, err := fileOf(c)
	if err != nil {
		return err
	}
	changed := p
	if text == nil {
		sent.Fault("", "Pick a file first.")
	} else if changed.Weather.Record, err = s.cfg.ReadStation(name, bytes.NewReader(text)); err != nil {
		sent.Fault("", in.Say("The file was not taken. {1}", wording.Sentence(err.Error())))
	}
	said := ""
	if r := changed.Weather.Record; r != nil && len(sent.Faults) == 0 {
		said = in.Say("{1} was read: {2}, from {3} to {4}.", name, wording.Amount{N: len(r.Days), Thing: "day"}, in.Day(r.First), in.Day(r.Last()))
	}
	return s.putWeather(c, g, &p, changed, sent, said)
}

// fileOf returns a file that was sent; no text where there was none.
func fileOf(c echo.Context) (name string, text []byte, err error) {
	h, err := c.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		return "", nil, nil
	}
	if err != nil {
		return "", nil, err
	}
	f, err := h.Open()
	if err != nil {
		return "", nil, err
	}
	text, err = io.ReadAll(io.LimitReader(f, longestUpload+1))
	if len(text) > longestUpload {
		err = echo.ErrStatusRequestEntityTooLarge
	}
	name = strings.ToValidUTF8(filepath.Base(h.Filename), "?")
	if r := []rune(name); len(r) > longestName {
		name = string(r[:longestName])
	}
	return cmp.Or(name, "the file"), append([]byte{}, text...), errors.Join(err, f.Close())
}
