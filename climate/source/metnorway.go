package source

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/url"
	"strings"
	"time"

	"budswell/climate"
)

// METNorway asks MET Norway's Locationforecast 2.0. Sources:
// https://api.met.no/doc/TermsOfService, https://api.met.no/doc/ForecastJSON,
// https://api.met.no/doc/locationforecast/HowTO and .../datamodel,
// https://api.met.no/doc/StatusCodes and https://api.met.no/doc/License.
//
// Its terms want the program and whom to write to in User-Agent, coordinates of four decimals
// at most, no question before Expires, If-Modified-Since with the
// Last-Modified that was sent, gzip, and calls spread over the hour.
type METNorway struct {
	Web  Web
	Base string // address
}

// METNorwayBase is the address of the public service.
const METNorwayBase = "https://api.met.no/weatherapi/locationforecast/2.0"

// metNorwaySize bounds an answer; those met with have some 100 kB.
const metNorwaySize = 8 << 20

// Credit implements [climate.Provider].
func (*METNorway) Credit() (words, address string) {
	return "Based on data from MET Norway (NLOD 2.0 and CC BY 4.0), made into daily values here", "https://api.met.no/doc/License"
}

// Pause implements [climate.Provider].
func (*METNorway) Pause() time.Duration { return 2 * time.Hour }

// Back implements [climate.Provider]: there are no days past.
func (*METNorway) Back() int { return 0 }

// Fetch implements [climate.Provider].
func (m *METNorway) Fetch(ctx context.Context, a climate.Ask) (*climate.Answer, error) {
	loc, err := a.Site.Location()
	if err != nil {
		return nil, err
	}
	if m.Web.Agent == "" || !strings.Contains(m.Web.Agent, " ") {
		return nil, errors.New("MET Norway wants to know whom to write to: start the service with --contact ADDRESS")
	}
	// The minima and maxima of six hours are in the complete form only.
	q := url.Values{"lat": {coordinate(a.Site.Lat)}, "lon": {coordinate(a.Site.Lon)}, "altitude": {fmt.Sprintf("%.0f", a.Site.Elevation)}}
	r, err := m.Web.get(ctx, strings.TrimRight(m.Base, "/")+"/complete?"+q.Encode(), a.Now, a.Was.Modified, metNorwaySize, "application/json", "application/geo+json")
	if err != nil {
		return nil, fmt.Errorf("MET Norway: %w", err)
	}
	out := &climate.Answer{Unchanged: r.same, Memory: climate.Memory{Modified: r.modified}, Expires: r.expires, Notes: r.notes}
	if r.same {
		return out, nil
	}
	steps, elevation, err := readMETNorway(r.body, a.Site)
	if err != nil {
		return nil, fmt.Errorf("MET Norway: %w", err)
	}
	out.Series = []climate.Series{{Source: "MET Norway", Kind: climate.Foretold, Elevation: elevation, Readings: daily(steps, loc, a.Now)}}
	return out, nil
}

// metNorwayJSON is what is read of an answer.
type metNorwayJSON struct {
	Type     string `json:"type"`
	Geometry struct {
		Coordinates []float64 `json:"coordinates"` // longitude, latitude, altitude
	} `json:"geometry"`
	Properties struct {
		Meta struct {
			Units struct {
				Temp    string `json:"air_temperature"`
				TempMin string `json:"air_temperature_min"`
				TempMax string `json:"air_temperature_max"`
				Prcp    string `json:"precipitation_amount"`
			} `json:"units"`
		} `json:"meta"`
		Series []struct {
			Time string `json:"time"`
			Data struct {
				Instant   metNorwayPart `json:"instant"`
				NextHour  metNorwayPart `json:"next_1_hours"`
				NextSix   metNorwayPart `json:"next_6_hours"`
				NextDozen metNorwayPart `json:"next_12_hours"`
			} `json:"data"`
		} `json:"timeseries"`
	} `json:"properties"`
}

type metNorwayPart struct {
	Details struct {
		Temp *float64 `json:"air_temperature"`
		Min  *float64 `json:"air_temperature_min"`
		Max  *float64 `json:"air_temperature_max"`
		Prcp *float64 `json:"precipitation_amount"`
	} `json:"details"`
}

// readMETNorway reads a forecast. Each step lasts to the next, an hour at first
// and six later, and what is told of the time after it is taken where it is of that length.
// Of the last step only its beginning is known.
func readMETNorway(body []byte, site climate.Site) ([]step, *float64, error) {
	var v metNorwayJSON
	if err := strict(body, &v); err != nil {
		return nil, nil, err
	}
	units, at := v.Properties.Meta.Units, v.Geometry.Coordinates
	const celsius = "celsius"
	switch {
	case v.Type != "Feature":
		return nil, nil, fmt.Errorf("type: %.40q: want Feature", v.Type)
	case len(at) < 2 || len(at) > 3 || far(at[1], at[0], site, wrongPlace):
		return nil, nil, fmt.Errorf("geometry.coordinates: %v: want a place within %d degree of %v, %v", at[:min(len(at), 3)], wrongPlace, site.Lon, site.Lat)
	case units.Temp != celsius, units.TempMin != "" && units.TempMin != celsius, units.TempMax != "" && units.TempMax != celsius:
		return nil, nil, fmt.Errorf("units of air_temperature, _min and _max: %.40q, %.40q, %.40q: want celsius", units.Temp, units.TempMin, units.TempMax)
	case units.Prcp != "mm":
		return nil, nil, fmt.Errorf("units.precipitation_amount: %.40q: want mm", units.Prcp)
	case len(v.Properties.Series) == 0:
		return nil, nil, errors.New("timeseries: empty: want hours")
	}
	var elevation *float64
	if len(at) == 3 {
		if elevation = &at[2]; !(*elevation >= -500 && *elevation <= 9000) {
			return nil, nil, fmt.Errorf("geometry.coordinates: altitude %v: want -500 to 9000 m", *elevation)
		}
	}
	steps := make([]step, len(v.Properties.Series))
	for i, p := range v.Properties.Series {
		t, err := time.Parse(time.RFC3339, p.Time)
		where := fmt.Sprintf("timeseries[%d], %.40q", i, p.Time)
		switch {
		case err != nil || !strings.HasSuffix(p.Time, "Z"):
			return nil, nil, fmt.Errorf("%s: want a time in UTC such as 2026-03-01T06:00:00Z", where)
		case i > 0 && !t.After(steps[i-1].at), i > 0 && t.Sub(steps[i-1].at) > 12*time.Hour:
			return nil, nil, fmt.Errorf("%s: want a time up to twelve hours after %s", where, steps[i-1].at.Format(time.RFC3339))
		case p.Data.Instant.Details.Temp == nil:
			return nil, nil, fmt.Errorf("%s: instant.details.air_temperature is missing", where)
		}
		s := step{at: t, temp: *p.Data.Instant.Details.Temp, lo: math.NaN(), hi: math.NaN(), prcp: math.NaN()}
		if i+1 < len(v.Properties.Series) {
			next, err := time.Parse(time.RFC3339, v.Properties.Series[i+1].Time)
			if err == nil { // else it is told of at its turn
				s.length = next.Sub(t)
			}
		}
		part := map[time.Duration]metNorwayPart{time.Hour: p.Data.NextHour, 6 * time.Hour: p.Data.NextSix, 12 * time.Hour: p.Data.NextDozen}[s.length].Details
		s.lo, s.hi, s.prcp = orNaN(part.Min), orNaN(part.Max), orNaN(part.Prcp)
		for _, temp := range []float64{s.temp, s.lo, s.hi} {
			if err := plausible(temp, s.prcp); err != nil {
				return nil, nil, fmt.Errorf("%s: %w", where, err)
			}
		}
		if s.lo > s.hi {
			return nil, nil, fmt.Errorf("%s: air_temperature_min %v: want no more than air_temperature_max, %v", where, s.lo, s.hi)
		}
		steps[i] = s
	}
	return steps, elevation, nil
}
