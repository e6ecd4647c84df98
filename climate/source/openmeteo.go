package source

import (
	"context"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"
	"time"

	"budswell/climate"
)

// OpenMeteo asks a service that speaks the interface of Open-Meteo: an archive of
// reanalysis for days past, and a forecast. Sources: the interface's
// descriptions openapi/historical-weather.yml and openapi/forecast.yml in the
// repository github.com/open-meteo/open-meteo, https://open-meteo.com/en/docs and
// https://open-meteo.com/en/licence.
//
// Hours are asked for in GMT and made days here: with a time zone the service counts all
// of a request by the offset of the present day, so that days on the other side
// of a change of clocks begin an hour off (its issues 261, 488 and 1545).
type OpenMeteo struct {
	Web      Web
	Archive  string // base address
	Forecast string // base address
}

// Base addresses of the public service.
const (
	OpenMeteoArchive  = "https://archive-api.open-meteo.com"
	OpenMeteoForecast = "https://api.open-meteo.com"
)

const (
	openMeteoSize = 16 << 20 // a year of hours has some 300 kB
	openMeteoBack = 12       // years
	pastDays      = 8        // that the forecast is asked for as well: the archive lags by five
	aheadDays     = 16       // the most that the forecast has

	// wrongPlace is how many degrees from the place the service may answer for; the
	// coarsest of its grids has a quarter of one (from memory).
	wrongPlace = 1
)

// Credit implements [climate.Provider].
func (*OpenMeteo) Credit() (words, address string) {
	return "Weather data by Open-Meteo.com (CC BY 4.0), made into daily values here; reanalysis with information of the Copernicus Climate Change Service (ERA5)",
		"https://open-meteo.com/en/licence"
}

// Pause implements [climate.Provider]. Models run every six hours, and the free service wants few calls.
func (*OpenMeteo) Pause() time.Duration { return 6 * time.Hour }

// Back implements [climate.Provider].
func (*OpenMeteo) Back() int { return openMeteoBack }

// Fetch implements [climate.Provider].
func (o *OpenMeteo) Fetch(ctx context.Context, a climate.Ask) (*climate.Answer, error) {
	loc, err := a.Site.Location()
	if err != nil {
		return nil, err
	}
	out := &climate.Answer{}
	today := a.Now.UTC().Truncate(24 * time.Hour)
	add := func(base, path, source string, kind climate.Kind, from, to time.Time, q url.Values) error {
		for k, v := range map[string]string{
			"latitude": coordinate(a.Site.Lat), "longitude": coordinate(a.Site.Lon), "elevation": coordinate(a.Site.Elevation),
			"hourly": "temperature_2m,precipitation", "timezone": "GMT",
		} {
			q.Set(k, v)
		}
		r, err := o.Web.get(ctx, strings.TrimRight(base, "/")+path+"?"+q.Encode(), a.Now, "", openMeteoSize, "application/json")
		if err != nil {
			return fmt.Errorf("%s: %w", source, err)
		}
		steps, elevation, err := readOpenMeteo(r.body, a.Site, from, to)
		if err != nil {
			return fmt.Errorf("%s: %w", source, err)
		}
		out.Notes = append(out.Notes, r.notes...)
		if r.expires.After(out.Expires) {
			out.Expires = r.expires
		}
		out.Series = append(out.Series, climate.Series{Source: source, Kind: kind, Elevation: elevation, Readings: daily(steps, loc, a.Now)})
		return nil
	}
	if a.First.Valid() && a.First <= a.Last {
		from, to := dayStart(a.First, loc).Truncate(24*time.Hour), dayStart(a.Last+1, loc).Truncate(24*time.Hour)
		if to.After(today) {
			to = today
		}
		if !from.After(to) {
			err := add(o.Archive, "/v1/archive", "Open-Meteo archive", climate.Analysis, from, to.Add(23*time.Hour),
				url.Values{"start_date": {from.Format(time.DateOnly)}, "end_date": {to.Format(time.DateOnly)}})
			if err != nil {
				return nil, err
			}
		}
	}
	if a.Ahead {
		from, to := today.AddDate(0, 0, -pastDays), today.AddDate(0, 0, aheadDays)
		err := add(o.Forecast, "/v1/forecast", "Open-Meteo forecast", climate.Foretold, from, to,
			url.Values{"past_days": {fmt.Sprint(pastDays)}, "forecast_days": {fmt.Sprint(aheadDays)}})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// openMeteoJSON is what is read of an answer.
type openMeteoJSON struct {
	Lat       *float64 `json:"latitude"`
	Lon       *float64 `json:"longitude"`
	Elevation *float64 `json:"elevation"`
	Offset    *int     `json:"utc_offset_seconds"`
	Zone      string   `json:"timezone"`
	Units     struct {
		Time string `json:"time"`
		Temp string `json:"temperature_2m"`
		Prcp string `json:"precipitation"`
	} `json:"hourly_units"`
	Hourly struct {
		Time []*string  `json:"time"`
		Temp []*float64 `json:"temperature_2m"`
		Prcp []*float64 `json:"precipitation"`
	} `json:"hourly"`
}

// readOpenMeteo reads the hours from from to to. Temperatures are those of the
// full hour, precipitation is the sum of the hour before it. Hours that are left out, or null, are
// gaps: days with one are not taken, and the others are.
func readOpenMeteo(body []byte, site climate.Site, from, to time.Time) ([]step, *float64, error) {
	var v openMeteoJSON
	if err := strict(body, &v); err != nil {
		return nil, nil, err
	}
	switch h := v.Hourly; {
	case v.Lat == nil || v.Lon == nil || far(*v.Lat, *v.Lon, site, wrongPlace):
		return nil, nil, fmt.Errorf("latitude, longitude: %v, %v: want a place within %d degree of %v, %v", orNaN(v.Lat), orNaN(v.Lon), wrongPlace, site.Lat, site.Lon)
	case v.Offset == nil || *v.Offset != 0 || !slices.Contains([]string{"GMT", "UTC", "Etc/GMT", "Etc/UTC"}, v.Zone):
		return nil, nil, fmt.Errorf("timezone: %.40q: want GMT, as asked for, with utc_offset_seconds 0", v.Zone)
	case v.Units.Time != "iso8601":
		return nil, nil, fmt.Errorf("hourly_units.time: %.40q: want iso8601", v.Units.Time)
	case v.Units.Temp != "°C":
		return nil, nil, fmt.Errorf("hourly_units.temperature_2m: %.40q: want °C", v.Units.Temp)
	case v.Units.Prcp != "mm":
		return nil, nil, fmt.Errorf("hourly_units.precipitation: %.40q: want mm", v.Units.Prcp)
	case len(h.Temp) != len(h.Time) || len(h.Prcp) != len(h.Time):
		return nil, nil, fmt.Errorf("hourly: %d times, %d temperature_2m, %d precipitation: want as many of each", len(h.Time), len(h.Temp), len(h.Prcp))
	case len(h.Time) == 0:
		return nil, nil, fmt.Errorf("hourly.time: empty: want hours from %s on", from.Format(time.DateOnly))
	}
	steps := make([]step, 0, len(v.Hourly.Time))
	for i, text := range v.Hourly.Time {
		temp, rain := orNaN(v.Hourly.Temp[i]), orNaN(v.Hourly.Prcp[i])
		if err := plausible(temp, rain); err != nil {
			return nil, nil, fmt.Errorf("hourly[%d], %.40s: %w", i, orNull(text), err)
		}
		if text == nil {
			continue
		}
		at, err := time.Parse("2006-01-02T15:04", *text)
		if err != nil || at.Before(from) || at.After(to) || at.Minute() != 0 {
			return nil, nil, fmt.Errorf("hourly.time[%d]: %.40q: want a full hour from %s to %s", i, *text, from.Format(time.RFC3339), to.Format(time.RFC3339))
		}
		if n := len(steps); n > 0 {
			if at.Before(steps[n-1].end()) {
				return nil, nil, fmt.Errorf("hourly.time[%d]: %.40q: want an hour after %s", i, *text, steps[n-1].at.Format(time.RFC3339))
			}
			if at.Equal(steps[n-1].end()) {
				steps[n-1].prcp = rain
			}
		}
		steps = append(steps, step{at: at, length: time.Hour, temp: temp, lo: math.NaN(), hi: math.NaN(), prcp: math.NaN()})
	}
	if e := v.Elevation; e != nil && !(*e >= -500 && *e <= 9000) {
		return nil, nil, fmt.Errorf("elevation: %v: want -500 to 9000 m", *e)
	}
	return steps, v.Elevation, nil
}

func orNull(text *string) string {
	if text == nil {
		return "null"
	}
	return *text
}

// plausible reports a value out of range; NaN is none. No hour or day has had more
// than 2000 mm.
func plausible(temp, rain float64) error {
	if r := ranges[tmin]; temp < r.lo || temp > r.hi {
		return fmt.Errorf("temperature %v: want %v to %v %s", temp, r.lo, r.hi, r.unit)
	}
	if r := ranges[prcp]; rain < r.lo || rain > r.hi {
		return fmt.Errorf("precipitation %v: want %v to %v %s", rain, r.lo, r.hi, r.unit)
	}
	return nil
}

// far reports whether a place is more than so many degrees from the site, by
// longitude only where meridians are not close together.
func far(lat, lon float64, site climate.Site, degrees float64) bool {
	if !(math.Abs(lat-site.Lat) <= degrees) {
		return true
	}
	around := math.Abs(math.Remainder(lon-site.Lon, 360))
	return !(around*math.Cos(site.Lat*math.Pi/180) <= degrees)
}
