package source

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"budswell/climate"
)

// archive plays the documented answer of an Open-Meteo archive or forecast: every
// hour of the days asked for, temperature falling with the hour of the day.
func archive(t *testing.T, change func(map[string]any)) http.HandlerFunc {
	return plain(func(w http.ResponseWriter, r *http.Request) {
		q := r.URL.Query()
		first, last := noon.Truncate(24*time.Hour).AddDate(0, 0, -8), noon.Truncate(24*time.Hour).AddDate(0, 0, 15)
		switch r.URL.Path {
		case "/v1/archive":
			var err, err2 error
			first, err = time.Parse(time.DateOnly, q.Get("start_date"))
			last, err2 = time.Parse(time.DateOnly, q.Get("end_date"))
			if err != nil || err2 != nil || last.After(noon) {
				t.Errorf("dates %q to %q", q.Get("start_date"), q.Get("end_date"))
			}
		case "/v1/forecast":
			if q.Get("past_days") != "8" || q.Get("forecast_days") != "16" {
				t.Errorf("days %v", q)
			}
		default:
			t.Errorf("path %q", r.URL.Path)
		}
		if q.Get("latitude") != "47.1234" || q.Get("longitude") != "8.6543" || q.Get("elevation") != "500" ||
			q.Get("timezone") != "GMT" || q.Get("hourly") != "temperature_2m,precipitation" {
			t.Errorf("asked %v", q)
		}
		if r.UserAgent() != "budswell/1 keeper@trees.example" {
			t.Errorf("User-Agent %q", r.UserAgent())
		}
		var at []string
		var temp, rain []any
		for h := first; h.Before(last.AddDate(0, 0, 1)); h = h.Add(time.Hour) {
			at, temp, rain = append(at, h.Format("2006-01-02T15:04")), append(temp, 10-float64(h.Hour())/2), append(rain, 0.1)
			if r.URL.Path == "/v1/archive" && noon.Sub(h) < 5*24*time.Hour {
				temp[len(temp)-1], rain[len(rain)-1] = nil, nil // the archive lags
			}
		}
		v := map[string]any{
			"latitude": 47.12, "longitude": 8.65, "elevation": 512.0, "utc_offset_seconds": 0, "timezone": "GMT", "timezone_abbreviation": "GMT",
			"generationtime_ms": 0.1,
			"hourly_units":      map[string]string{"time": "iso8601", "temperature_2m": "°C", "precipitation": "mm"},
			"hourly":            map[string]any{"time": at, "temperature_2m": temp, "precipitation": rain},
		}
		if change != nil {
			change(v)
		}
		if err := json.NewEncoder(w).Encode(v); err != nil {
			t.Error(err)
		}
	})
}

func TestOpenMeteo(t *testing.T) {
	web, url := serving(t, archive(t, nil))
	p := &OpenMeteo{Web: web, Archive: url, Forecast: url + "/"}
	today := climate.DateOf(noon)
	got, err := p.Fetch(context.Background(), climate.Ask{Site: bench, First: today - 30, Last: today - 1, Ahead: true, Now: noon})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Series) != 2 || got.Whole || got.Unchanged {
		t.Fatalf("got %+v", got)
	}
	past, ahead := got.Series[0], got.Series[1]
	if past.Kind != climate.Analysis || *past.Elevation != 512 || past.Readings[0].On != today-30 || past.Readings[len(past.Readings)-1].On != today-6 || len(past.Readings) != 25 {
		t.Errorf("archive: %v %v, %d days, %v to %v", past.Kind, *past.Elevation, len(past.Readings), past.Readings[0].On, past.Readings[len(past.Readings)-1].On)
	}
	// A day of Zurich in winter is from 23 to 23 UTC: both ends have 10 - 23/2.
	if r := past.Readings[3]; r.Tmin != -1.5 || r.Tmax != 10 || math.Abs(r.Prcp-2.4) > 1e-9 {
		t.Errorf("a day: %+v", r)
	}
	// The first day asked for begins at 23 UTC of the day before the first hour, the last ends before the last.
	if ahead.Kind != climate.Foretold || ahead.Readings[0].On != today-7 || ahead.Readings[len(ahead.Readings)-1].On != today+15 {
		t.Errorf("forecast: %v, %v to %v", ahead.Kind, ahead.Readings[0].On, ahead.Readings[len(ahead.Readings)-1].On)
	}
	if got, err = p.Fetch(context.Background(), climate.Ask{Site: bench, First: today, Last: today - 1, Now: noon}); err != nil || len(got.Series) != 0 {
		t.Errorf("asked for nothing: %+v, %v", got, err)
	}
}

// TestOpenMeteoWithGaps leaves hours out of an answer, each in its own way: the days with them are
// missing, or without precipitation, and all others are as they were.
func TestOpenMeteoWithGaps(t *testing.T) {
	today := climate.DateOf(noon)
	days := func(change func(map[string]any)) map[climate.Date]climate.Reading {
		t.Helper()
		web, url := serving(t, archive(t, change))
		got, err := (&OpenMeteo{Web: web, Archive: url}).Fetch(context.Background(), climate.Ask{Site: bench, First: today - 30, Last: today - 20, Now: noon})
		if err != nil {
			t.Fatal(err)
		}
		out := map[climate.Date]climate.Reading{}
		for _, r := range got.Series[0].Readings {
			out[r.On] = r
		}
		return out
	}
	const at = 24*4 + 12 // an hour in the middle of a day
	whole := days(nil)
	hours := func(m map[string]any) map[string]any { return m["hourly"].(map[string]any) }
	without := func(from, to int) func(map[string]any) {
		return func(m map[string]any) {
			h := hours(m)
			h["time"] = slices.Delete(slices.Clone(h["time"].([]string)), from, to)
			for _, list := range []string{"temperature_2m", "precipitation"} {
				h[list] = slices.Delete(slices.Clone(h[list].([]any)), from, to)
			}
		}
	}
	for name, c := range map[string]struct {
		change  func(map[string]any)
		missing int
		dry     int // days without precipitation
	}{
		"a temperature is null":     {set("temperature_2m", at, nil), 1, 0},
		"all values of an hour are": {func(m map[string]any) { set("temperature_2m", at, nil)(m); set("precipitation", at, nil)(m) }, 1, 0},
		"a precipitation is null":   {set("precipitation", at, nil), 0, 1},
		"an hour is left out":       {without(at, at+1), 1, 0},
		"its time is null": {func(m map[string]any) {
			var times []any
			for _, v := range hours(m)["time"].([]string) {
				times = append(times, v)
			}
			times[at] = nil
			hours(m)["time"] = times
		}, 1, 0},
		"two days are left out":   {without(at, at+24), 2, 0},
		"the last hour of a day":  {without(24*4+22, 24*4+23), 1, 0},
		"the first hour of a day": {without(24*4+23, 24*4+24), 1, 1}, // and the rain before it
	} {
		got, dry := days(c.change), 0
		for d, r := range got {
			w := whole[d]
			if math.IsNaN(r.Prcp) {
				dry++
				r.Prcp, w.Prcp = 0, 0
			}
			// The day before a gap at midnight lacks the temperature of its end.
			if r.Tmin != w.Tmin && c.dry == 0 || r.Tmax != w.Tmax || r.Prcp != w.Prcp {
				t.Errorf("%s: %v is %+v, was %+v", name, d, r, whole[d])
			}
		}
		if len(whole)-len(got) != c.missing || dry != c.dry {
			t.Errorf("%s: %d of %d days, %d of them without precipitation; want %d missing and %d", name, len(got), len(whole), dry, c.missing, c.dry)
		}
	}
}

// set changes one hour of one of the lists.
func set(list string, i int, v any) func(map[string]any) {
	return func(m map[string]any) {
		switch l := m["hourly"].(map[string]any)[list].(type) {
		case []string:
			l[i] = fmt.Sprint(v)
		case []any:
			l[i] = v
		}
	}
}

func unit(name, v string) func(map[string]any) {
	return func(m map[string]any) { m["hourly_units"].(map[string]string)[name] = v }
}

func TestOpenMeteoThatLies(t *testing.T) {
	today := climate.DateOf(noon)
	for says, change := range map[string]func(map[string]any){
		"want °C":                              unit("temperature_2m", "°F"),
		"want mm":                              unit("precipitation", "inch"),
		"want iso8601":                         unit("time", "unixtime"),
		"want GMT":                             func(m map[string]any) { m["timezone"] = "Europe/Zurich" },
		"utc_offset_seconds":                   func(m map[string]any) { m["utc_offset_seconds"] = 3600 },
		"want a place within 1 degree of 47.1": func(m map[string]any) { m["latitude"] = 8.65; m["longitude"] = 47.12 },
		"latitude, longitude: NaN, 8.65":       func(m map[string]any) { delete(m, "latitude") },
		"elevation: 90000":                     func(m map[string]any) { m["elevation"] = 90000 },
		"hourly[3], 2026-02-":                  set("temperature_2m", 3, 70.5),
		"precipitation -1":                     set("precipitation", 3, -1),
		"want an hour after":                   set("time", 3, "2026-02-19T01:00"),
		`T01:30": want a full hour`: func(m map[string]any) {
			l := m["hourly"].(map[string]any)["time"].([]string)
			l[1] = strings.Replace(l[1], ":00", ":30", 1)
		},
		`hourly.time[3]: "soon": want a full`: set("time", 3, "soon"),
		`hourly.time[0]: "1999-01-01T00:00"`:  set("time", 0, "1999-01-01T00:00"),
		"want as many of each":                func(m map[string]any) { m["hourly"].(map[string]any)["temperature_2m"] = []any{1, 2, 3} },
		"hourly.time: empty": func(m map[string]any) {
			m["hourly"] = map[string]any{"time": []any{}, "temperature_2m": []any{}, "precipitation": []any{}}
		},
		"cannot unmarshal string": set("temperature_2m", 3, "NaN"),
	} {
		web, url := serving(t, archive(t, change))
		p := &OpenMeteo{Web: web, Archive: url, Forecast: url}
		got, err := p.Fetch(context.Background(), climate.Ask{Site: bench, First: today - 30, Last: today - 20, Now: noon})
		if err == nil || got != nil || !strings.Contains(err.Error(), says) || !strings.HasPrefix(err.Error(), "Open-Meteo archive: ") {
			t.Errorf("%q: %v, %v", says, got, err)
		}
	}
	for body, says := range map[string]string{
		`{"hourly": {"time": [`: "cut off", "": "cut off", `{} {}`: "something follows", `{"latitude": NaN}`: "invalid character", `{"latitude": 1e999}`: "cannot unmarshal",
		"[]": "cannot unmarshal", "null": "latitude, longitude: NaN",
	} {
		web, url := serving(t, answers(body))
		if _, err := (&OpenMeteo{Web: web, Archive: url}).Fetch(context.Background(), climate.Ask{Site: bench, First: today - 30, Last: today - 20, Now: noon}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", body, err, says)
		}
	}
	web, url := serving(t, plain(func(w http.ResponseWriter, _ *http.Request) {
		w.WriteHeader(400)
		fmt.Fprint(w, `{"error":true,"reason":"Parameter 'start_date' is out of allowed range"}`)
	}))
	var refused *climate.Refused
	if _, err := (&OpenMeteo{Web: web, Archive: url}).Fetch(context.Background(), climate.Ask{Site: bench, First: today - 30, Last: today - 20, Now: noon}); !errors.As(err, &refused) || !strings.Contains(err.Error(), "out of allowed range") {
		t.Errorf("refused: %v", err)
	}
}

// A place on the other side of the date line is near all the same.
func TestFar(t *testing.T) {
	for _, c := range []struct {
		lat, lon, siteLat, siteLon float64
		far                        bool
	}{
		{0, 179.9, 0, -179.9, false}, {0, 2, 0, 0, true}, {2, 0, 0, 0, true}, {89.5, 90, 89.9, -90, false}, {math.NaN(), 0, 0, 0, true}, {0, math.NaN(), 0, 0, true},
	} {
		if got := far(c.lat, c.lon, climate.Site{Lat: c.siteLat, Lon: c.siteLon}, 1); got != c.far {
			t.Errorf("%+v: %v", c, got)
		}
	}
	for v, want := range map[float64]string{8.654399: "8.6543", -8.654399: "-8.6543", 47: "47", 0.00001: "0"} {
		if got := coordinate(v); got != want {
			t.Errorf("%v: %s, want %s", v, got, want)
		}
	}
}

// forecast is the documented answer of Locationforecast: hours at first, six hours later.
func forecast() map[string]any {
	var series []any
	add := func(at time.Time, hours int) {
		data := map[string]any{"instant": map[string]any{"details": map[string]any{"air_temperature": float64(at.Hour()), "wind_speed": 2.5}}}
		summary := map[string]any{"symbol_code": "fog"}
		if hours == 1 {
			data["next_1_hours"] = map[string]any{"summary": summary, "details": map[string]any{"precipitation_amount": 0.5}}
		}
		if hours > 0 {
			data["next_6_hours"] = map[string]any{"summary": summary, "details": map[string]any{"air_temperature_max": 25.0, "air_temperature_min": -3.0, "precipitation_amount": 2.0}}
			data["next_12_hours"] = map[string]any{"summary": summary, "details": map[string]any{}}
		}
		series = append(series, map[string]any{"time": at.Format(time.RFC3339), "data": data})
	}
	for h := range 60 {
		add(noon.Add(time.Duration(h)*time.Hour), 1)
	}
	for h := 60; h < 200; h += 6 {
		add(noon.Add(time.Duration(h)*time.Hour), 6)
	}
	add(noon.Add(204*time.Hour), 0)
	return map[string]any{
		"type": "Feature", "geometry": map[string]any{"type": "Point", "coordinates": []any{8.6543, 47.1234, 520.0}},
		"properties": map[string]any{
			"meta": map[string]any{
				"updated_at": noon.Format(time.RFC3339),
				"units": map[string]any{
					"air_temperature": "celsius", "air_temperature_max": "celsius", "air_temperature_min": "celsius",
					"air_temperature_percentile_10": "celsius", "precipitation_amount": "mm",
				},
			},
			"timeseries": series,
		},
	}
}

func TestMETNorway(t *testing.T) {
	const modified = "Fri, 20 Mar 2026 11:58:31 GMT"
	asked := 0
	web, url := serving(t, func(w http.ResponseWriter, r *http.Request) {
		asked++
		q := r.URL.Query()
		if r.URL.Path != "/complete" || q.Get("lat") != "47.1234" || q.Get("lon") != "8.6543" || q.Get("altitude") != "500" || r.UserAgent() != "budswell/1 keeper@trees.example" {
			t.Errorf("asked %v by %q", r.URL, r.UserAgent())
		}
		w.Header().Set("Expires", "Fri, 20 Mar 2026 12:31:14 GMT")
		w.Header().Set("Last-Modified", modified)
		if r.Header.Get("If-Modified-Since") == modified {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		w.Header().Set("Content-Type", "application/geo+json")
		w.WriteHeader(203)
		if err := json.NewEncoder(w).Encode(forecast()); err != nil {
			t.Error(err)
		}
	})
	p := &METNorway{Web: web, Base: url}
	a := climate.Ask{Site: bench, Ahead: true, Now: noon}
	got, err := p.Fetch(context.Background(), a)
	if err != nil {
		t.Fatal(err)
	}
	if got.Memory.Modified != modified || !got.Expires.Equal(noon.Add(31*time.Minute+14*time.Second)) || len(got.Notes) != 1 || !strings.Contains(got.Notes[0], "about to end") {
		t.Errorf("got %+v", got)
	}
	s, today := got.Series[0], climate.DateOf(noon)
	if s.Kind != climate.Foretold || *s.Elevation != 520 || s.Source != "MET Norway" {
		t.Errorf("series %+v", s)
	}
	// Today has begun; the last whole day is that which ends before the last hour.
	if len(s.Readings) != 8 || s.Readings[0].On != today+1 || s.Readings[7].On != today+8 {
		t.Fatalf("%d days, %v to %v", len(s.Readings), s.Readings[0].On, s.Readings[len(s.Readings)-1].On)
	}
	if r := s.Readings[0]; r.Tmin != 0 || r.Tmax != 23 || r.Prcp != 12 {
		t.Errorf("a day of hours: %+v", r)
	}
	if r := s.Readings[4]; r.Tmin != -3 || r.Tmax != 25 || r.Prcp != 8 {
		t.Errorf("a day of six hours: %+v", r)
	}
	a.Was = got.Memory
	if got, err = p.Fetch(context.Background(), a); err != nil || !got.Unchanged || got.Memory.Modified != modified || got.Expires.IsZero() {
		t.Errorf("asked again: %+v, %v", got, err)
	}
	p.Web.Agent = "budswell/1"
	if _, err := p.Fetch(context.Background(), a); err == nil || !strings.Contains(err.Error(), "--contact ADDRESS") || asked != 2 {
		t.Errorf("without a contact: %v, asked %d times", err, asked)
	}
}

func TestMETNorwayThatLies(t *testing.T) {
	entry := func(v map[string]any, i int) map[string]any {
		return v["properties"].(map[string]any)["timeseries"].([]any)[i].(map[string]any)
	}
	details := func(v map[string]any, i int, part string) map[string]any {
		return entry(v, i)["data"].(map[string]any)[part].(map[string]any)["details"].(map[string]any)
	}
	units := func(v map[string]any) map[string]any {
		return v["properties"].(map[string]any)["meta"].(map[string]any)["units"].(map[string]any)
	}
	for says, change := range map[string]func(map[string]any){
		"want Feature":                        func(v map[string]any) { v["type"] = "FeatureCollection" },
		"want a place":                        func(v map[string]any) { v["geometry"] = map[string]any{"coordinates": []any{47.1, 8.6}} },
		"geometry.coordinates: []":            func(v map[string]any) { v["geometry"] = nil },
		"altitude 12345":                      func(v map[string]any) { v["geometry"] = map[string]any{"coordinates": []any{8.6, 47.1, 12345}} },
		"want celsius":                        func(v map[string]any) { units(v)["air_temperature"] = "fahrenheit" },
		`"celsius", "celsius", "kelvin"`:      func(v map[string]any) { units(v)["air_temperature_max"] = "kelvin" },
		`precipitation_amount: ""`:            func(v map[string]any) { delete(units(v), "precipitation_amount") },
		"timeseries: empty":                   func(v map[string]any) { v["properties"].(map[string]any)["timeseries"] = nil },
		`timeseries[2], "yesterday"`:          func(v map[string]any) { entry(v, 2)["time"] = "yesterday" },
		`+01:00": want a time in UTC`:         func(v map[string]any) { entry(v, 2)["time"] = "2026-03-20T14:00:00+01:00" },
		"twelve hours after 2026-03-20T13":    func(v map[string]any) { entry(v, 2)["time"] = "2026-03-20T13:00:00Z" },
		"twelve hours after 2026-03-20T13:00": func(v map[string]any) { entry(v, 2)["time"] = "2027-03-20T13:00:00Z" },
		"air_temperature is missing":          func(v map[string]any) { delete(details(v, 4, "instant"), "air_temperature") },
		"temperature 99":                      func(v map[string]any) { details(v, 4, "instant")["air_temperature"] = 99 },
		"temperature -99":                     func(v map[string]any) { details(v, 65, "next_6_hours")["air_temperature_min"] = -99 },
		"air_temperature_min 26":              func(v map[string]any) { details(v, 65, "next_6_hours")["air_temperature_min"] = 26 },
		"precipitation -2":                    func(v map[string]any) { details(v, 65, "next_6_hours")["precipitation_amount"] = -2 },
		"cannot unmarshal":                    func(v map[string]any) { details(v, 65, "next_6_hours")["precipitation_amount"] = "much" },
	} {
		v := forecast()
		change(v)
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		web, url := serving(t, answers(string(text)))
		got, err := (&METNorway{Web: web, Base: url}).Fetch(context.Background(), climate.Ask{Site: bench, Now: noon})
		if err == nil || got != nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, %v", says, got, err)
		}
	}
}

const dly = "TEST0000001202603TMAX" + "  150  S   80  S-9999   " // and 28 days more

func stationFile() []byte {
	text := dly + strings.Repeat("-9999   ", 28) + "\n"
	return []byte(text + strings.Replace(strings.Replace(text, "TMAX", "TMIN", 1), "  150  S   80", "   10  S  -20", 1))
}

func TestStation(t *testing.T) {
	const modified = "Fri, 20 Mar 2026 03:00:00 GMT"
	for kind, body := range map[string][]byte{"text/plain": stationFile(), "application/x-gzip": packed(t, stationFile())} {
		web, url := serving(t, func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Last-Modified", modified)
			w.Header().Set("Content-Type", kind)
			if r.Header.Get("If-Modified-Since") == modified {
				w.WriteHeader(http.StatusNotModified)
				return
			}
			_, _ = w.Write(body)
		})
		height := 700.0
		p := &Station{Web: web, Address: url + "/pub/TEST0000001.dly", Elevation: &height}
		got, err := p.Fetch(context.Background(), climate.Ask{Site: bench, Now: noon})
		if err != nil {
			t.Fatalf("%s: %v", kind, err)
		}
		s := got.Series[0]
		if !got.Whole || s.Source != "GHCN-Daily TEST0000001" || s.Kind != climate.FromStation || s.Elevation != &height || len(s.Readings) != 2 {
			t.Fatalf("%s: %+v", kind, got)
		}
		if r := s.Readings[1]; r.On != climate.NewDate(2026, 3, 2) || r.Tmin != -2 || r.Tmax != 8 || !math.IsNaN(r.Prcp) || !r.Got.Equal(noon) {
			t.Errorf("%s: %+v", kind, r)
		}
		if got, err = p.Fetch(context.Background(), climate.Ask{Site: bench, Now: noon, Was: got.Memory}); err != nil || !got.Unchanged || got.Series != nil {
			t.Errorf("%s, again: %+v, %v", kind, got, err)
		}
	}
	for name, c := range map[string]struct {
		body []byte
		says string
	}{
		"cut off":        {stationFile()[:300], "is the file cut off?"},
		"packed and cut": {packed(t, stationFile())[:60], "is the file cut off?"},
		"a bomb":         {packed(t, make([]byte, MaxSize+1000)), "at most 64 MB unpacked"},
		"nothing":        {nil, "want a header"},
	} {
		web, url := serving(t, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", "application/octet-stream")
			_, _ = w.Write(c.body)
		})
		web.Client.Timeout = 20 * time.Second
		if _, err := (&Station{Web: web, Address: url + "/x.csv.gz"}).Fetch(context.Background(), climate.Ask{Site: bench, Now: noon}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, address := range []string{"", "x.dly", "file:///etc/passwd", "https://"} {
		var refused *climate.Refused
		if _, err := (&Station{Address: address}).Fetch(context.Background(), climate.Ask{Site: bench, Now: noon}); !errors.As(err, &refused) {
			t.Errorf("%q: %v", address, err)
		}
	}
}
