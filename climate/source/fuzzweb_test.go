package source

import (
	"encoding/json"
	"errors"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"budswell/climate"
)

// usable asserts what is true of all that comes of steps.
func usable(t *testing.T, steps []step, elevation *float64) {
	t.Helper()
	if elevation != nil && !(*elevation >= -500 && *elevation <= 9000) {
		t.Fatalf("elevation %v", *elevation)
	}
	for i, s := range steps {
		if i > 0 && !s.at.After(steps[i-1].at) {
			t.Fatalf("steps %v, %v", steps[i-1].at, s.at)
		}
	}
	for _, name := range []string{"UTC", "Europe/Zurich", "Asia/Kathmandu"} {
		loc, err := time.LoadLocation(name)
		if err != nil {
			t.Skip(err)
		}
		before := climate.NoDate
		for _, r := range daily(steps, loc, noon) {
			if err := r.Validate(); err != nil || r.On <= before {
				t.Fatalf("%+v after %v: %v", r, before, err)
			}
			before = r.On
		}
	}
}

func FuzzOpenMeteo(f *testing.F) {
	t := &testing.T{}
	w := httptest.NewRecorder()
	archive(t, nil)(w, httptest.NewRequest("GET", "/v1/archive?start_date=2026-03-01&end_date=2026-03-03", nil))
	f.Add(w.Body.Bytes())
	f.Add([]byte(`{"latitude":47,"longitude":8,"utc_offset_seconds":0,"timezone":"GMT","hourly_units":{"time":"iso8601","temperature_2m":"°C","precipitation":"mm"},"hourly":{"time":["2026-03-01T00:00"],"temperature_2m":[null],"precipitation":[0.1]}}`))
	gaps := `{"latitude":47,"longitude":8,"utc_offset_seconds":0,"timezone":"GMT","hourly_units":{"time":"iso8601","temperature_2m":"°C","precipitation":"mm"},"hourly":{"time":["2026-03-01T00:00",null,"2026-03-01T05:00","2026-03-02T01:00"],"temperature_2m":[1,null,2.5,null],"precipitation":[0.1,null,null,0]}}`
	f.Add([]byte(gaps))
	f.Add([]byte(strings.Replace(gaps, "T05:00", "T00:00", 1)))
	f.Add([]byte(`{"error":true,"reason":"no"}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		from := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
		if steps, elevation, err := readOpenMeteo(body, bench, from, from.AddDate(0, 0, 20)); err == nil {
			usable(t, steps, elevation)
		}
	})
}

func FuzzMETNorway(f *testing.F) {
	v := forecast()
	properties := v["properties"].(map[string]any)
	properties["timeseries"] = properties["timeseries"].([]any)[50:66] // a long one is slow to change
	text, err := json.Marshal(v)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte(`{"type":"Feature","geometry":{"coordinates":[8.6,47.1]},"properties":{"meta":{"units":{"air_temperature":"celsius","precipitation_amount":"mm"}},"timeseries":[{"time":"2026-03-20T12:00:00Z","data":{"instant":{"details":{"air_temperature":1}}}}]}}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		if steps, elevation, err := readMETNorway(body, bench); err == nil {
			usable(t, steps, elevation)
		}
	})
}

// FuzzPacked reads station files as they come from the web.
func FuzzPacked(f *testing.F) {
	f.Add(stationFile())
	f.Add(packed(f, stationFile()))
	f.Add(packed(f, stationFile())[:40])
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := readPacked("fuzz", data)
		if err == nil {
			check(t, r, nil)
		} else if e := (*Error)(nil); errors.As(err, &e) && e.File != "fuzz" {
			t.Fatal(err)
		}
	})
}
