package feeds

import (
	"bytes"
	"context"
	"errors"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
	"budswell/feeds/pages"
	"budswell/feeds/wording"
)

const (
	readingsRoute = "/places/:id/readings"

	// typedReadings is the source of what growers type, as plans name it.
	typedReadings = "readings typed by hand"

	shownReadings = 31
)

func (s *Server) readingRoutes(e *echo.Echo, person []echo.MiddlewareFunc) {
	e.Match([]string{"GET", "HEAD"}, readingsRoute, s.own(s.readingsPage), person...)
	e.POST(readingsRoute, s.own(s.putReading), person...)
	e.POST(readingsRoute+"/out", s.own(s.dropReading), person...)
}

// readingsPath is the page of what was read at a place.
func readingsPath(place string) string { return "/places/" + url.PathEscape(place) + "/readings" }

// readAt is a place with what its grower typed of its weather.
type readAt struct {
	place calendar.Place
	today climate.Date
	days  []climate.Reading // in their order
}

// readAt reads what was typed at the place that a path names.
func (s *Server) readAt(c echo.Context, g calendar.Grower) (*readAt, error) {
	id, err := url.PathUnescape(c.Param("id"))
	if err != nil {
		return nil, calendar.ErrNotFound
	}
	return s.typedAt(c.Request().Context(), g.ID, id)
}

func (s *Server) typedAt(ctx context.Context, grower, id string) (*readAt, error) {
	p, err := s.cfg.Store.Place(ctx, grower, id)
	if err != nil {
		return nil, err
	}
	zone, err := p.Site.Location()
	if err != nil {
		return nil, err
	}
	r := &readAt{place: p, today: climate.DateOf(s.cfg.Now().In(zone))}
	series, err := s.cfg.Store.Readings(ctx, grower, id)
	for _, v := range series {
		if v.Source == typedReadings && v.Kind == climate.OwnReading {
			r.days = v.Readings
		}
	}
	return r, err
}

// on returns what was typed of a day; all NaN where nothing was.
func (r *readAt) on(day climate.Date) climate.Reading {
	if i := slices.IndexFunc(r.days, func(v climate.Reading) bool { return v.On == day }); i >= 0 {
		return r.days[i]
	}
	return climate.Reading{On: day, Tmin: math.NaN(), Tmax: math.NaN(), Prcp: math.NaN()}
}

// readingsPage shows the days typed last, and the form for one more, or for one that
// is to be corrected.
func (s *Server) readingsPage(c echo.Context, g calendar.Grower) error {
	r, err := s.readAt(c, g)
	if err != nil {
		return err
	}
	day := r.today
	if d, err := climate.ParseDate(c.QueryParam("on")); err == nil && d <= r.today {
		day = d
	}
	v := r.on(day)
	in := tongueOf(c.Request().Context())
	return s.readingsWith(c, r, &pages.Readings{On: day.String(), Tmin: in.Typed(in.Degrees(v.Tmin)), Tmax: in.Typed(in.Degrees(v.Tmax)), Prcp: in.Typed(v.Prcp)})
}

func (s *Server) readingsWith(c echo.Context, r *readAt, p *pages.Readings) error {
	in := tongueOf(c.Request().Context())
	p.Unit = in.Degree()
	p.CSRF, p.Path, p.Place, p.Today = csrfToken(c), readingsPath(r.place.ID), r.place.Site.Name, r.today.String()
	p.Said, p.Count = s.sessions.PopString(c.Request().Context(), sessionSaid), len(r.days)
	for _, v := range r.days[max(0, len(r.days)-shownReadings):] {
		p.Days = append(p.Days, pages.ReadingOf(in, v))
	}
	slices.Reverse(p.Days)
	status := http.StatusOK
	if p.Fault != "" {
		status = http.StatusUnprocessableEntity
	}
	return s.page(c, status, func(b *bytes.Buffer) error { return s.in(c).Readings(b, p) })
}

// putReading keeps what was typed of a day, and plans anew. A field that is left empty
// leaves what is there.
func (s *Server) putReading(c echo.Context, g calendar.Grower) error {
	r, err := s.readAt(c, g)
	if err != nil {
		return err
	}
	form := &pages.Readings{
		On: strings.TrimSpace(c.FormValue("on")), Tmin: strings.TrimSpace(c.FormValue("tmin")),
		Tmax: strings.TrimSpace(c.FormValue("tmax")), Prcp: strings.TrimSpace(c.FormValue("prcp")),
	}
	in := tongueOf(c.Request().Context())
	v, words := r.reading(in, form)
	if words != "" {
		form.Fault = in.Say("Not kept: {1}", words)
		return s.readingsWith(c, r, form)
	}
	v.Got = s.cfg.Now()
	ctx := c.Request().Context()
	s.typing.Lock()
	_, err = s.cfg.Store.PutReadings(ctx, g.ID, r.place.ID, typedSeries([]climate.Reading{v}), false)
	s.typing.Unlock()
	if errors.Is(err, calendar.ErrInvalid) {
		form.Fault = in.Say("Not kept: {1}", err.Error())
		return s.readingsWith(c, r, form)
	}
	if err != nil {
		return err
	}
	s.replanAfter(ctx, g.ID)
	s.sessions.Put(ctx, sessionSaid, in.Say("{1}: kept, and planned anew.", in.Day(v.On)))
	return c.Redirect(http.StatusSeeOther, readingsPath(r.place.ID))
}

// reading reads a form; words say what would be right where it is not.
func (r *readAt) reading(in *wording.Tongue, f *pages.Readings) (v climate.Reading, words string) {
	on, err := climate.ParseDate(f.On)
	switch {
	case err != nil:
		return v, in.Say("the day must be one that exists, written YYYY-MM-DD; {1} is today.", r.today.String())
	case on > r.today:
		return v, in.Say("the day must not be after today, {1}.", r.today.String())
	case on < r.today-oldestEntry:
		return v, in.Say("the day must not be more than forty years ago.")
	case f.Tmin == "" && f.Tmax == "" && f.Prcp == "":
		return v, in.Say("type the lowest or the highest temperature of the day, or the rain.")
	}
	v = climate.Reading{On: on}
	cold, hot := in.Degrees(-90), in.Degrees(60)
	for _, n := range []struct {
		to     *float64
		text   string
		lo, hi float64
		kept   func(shown float64) float64
		words  string
	}{
		{&v.Tmin, f.Tmin, cold, hot, in.Celsius, in.Say("the lowest temperature must be a number from {1} to {2}, such as {3}", in.Typed(cold), in.Typed(hot)+" "+in.Degree(), in.Typed(in.Degrees(-3.5)))},
		{&v.Tmax, f.Tmax, cold, hot, in.Celsius, in.Say("the highest temperature must be a number from {1} to {2}, such as {3}", in.Typed(cold), in.Typed(hot)+" "+in.Degree(), in.Typed(in.Degrees(12.5)))},
		{&v.Prcp, f.Prcp, 0, 2000, func(mm float64) float64 { return mm }, in.Say("the rain must be a number from 0 to 2000 mm, such as {1}", in.Typed(4.5))},
	} {
		if *n.to = math.NaN(); n.text == "" {
			continue
		}
		x, err := wording.Read(n.text)
		if err != nil || !(x >= n.lo && x <= n.hi) {
			return v, n.words + "."
		}
		*n.to = n.kept(x)
	}
	// With what is there of the day already, which an empty field leaves.
	low, high := v.Tmin, v.Tmax
	if was := r.on(on); math.IsNaN(low) {
		low = was.Tmin
	} else if math.IsNaN(high) {
		high = was.Tmax
	}
	if low > high {
		return v, in.Say("the lowest temperature, {1}, must not be above the highest of the day, {2}.", in.Typed(in.Degrees(low))+" "+in.Degree(), in.Typed(in.Degrees(high))+" "+in.Degree())
	}
	return v, ""
}

// dropReading takes a day out that was typed by mistake.
func (s *Server) dropReading(c echo.Context, g calendar.Grower) error {
	r, on, err := s.dropped(c, g)
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	s.replanAfter(ctx, g.ID)
	s.sessions.Put(ctx, sessionSaid, tongueOf(ctx).Say("{1}: taken out, and planned anew.", tongueOf(ctx).Day(on)))
	return c.Redirect(http.StatusSeeOther, readingsPath(r.place.ID))
}

// dropped takes the day of a form out. Between reading the series and writing the
// whole of it, no other day may come in.
func (s *Server) dropped(c echo.Context, g calendar.Grower) (*readAt, climate.Date, error) {
	s.typing.Lock()
	defer s.typing.Unlock()
	r, err := s.readAt(c, g)
	if err != nil {
		return nil, climate.NoDate, err
	}
	on, err := climate.ParseDate(c.FormValue("on"))
	left := slices.DeleteFunc(slices.Clone(r.days), func(v climate.Reading) bool { return v.On == on })
	if err != nil || len(left) == len(r.days) {
		return nil, on, refuse(calendar.ErrNotFound, "Nothing was taken out: of this day nothing is kept any more.")
	}
	_, err = s.cfg.Store.PutReadings(c.Request().Context(), g.ID, r.place.ID, typedSeries(left), true)
	return r, on, err
}

func typedSeries(days []climate.Reading) climate.Series {
	return climate.Series{Source: typedReadings, Kind: climate.OwnReading, Readings: days}
}
