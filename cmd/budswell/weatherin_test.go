package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
)

// openMeteo plays an archive and a forecast of mild days, until it is down.
func openMeteo(t *testing.T, down *atomic.Bool) *httptest.Server {
	t.Helper()
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if down.Load() {
			w.WriteHeader(http.StatusBadGateway)
			return
		}
		q := r.URL.Query()
		if r.UserAgent() != "budswell/1 keeper@trees.example" {
			t.Errorf("User-Agent %q", r.UserAgent())
		}
		today := time.Now().UTC().Truncate(24 * time.Hour)
		first, last := today.AddDate(0, 0, -8), today.AddDate(0, 0, 15)
		if r.URL.Path == "/v1/archive" {
			var err, err2 error
			first, err = time.Parse(time.DateOnly, q.Get("start_date"))
			if last, err2 = time.Parse(time.DateOnly, q.Get("end_date")); err != nil || err2 != nil {
				t.Errorf("asked %v", q)
			}
		}
		var at []string
		var temp, rain []any
		for h := first; h.Before(last.AddDate(0, 0, 1)); h = h.Add(time.Hour) {
			at, temp, rain = append(at, h.Format("2006-01-02T15:04")), append(temp, 5+float64(h.Hour())/4), append(rain, 0)
			if r.URL.Path == "/v1/archive" && h.After(today.AddDate(0, 0, -4)) {
				temp[len(temp)-1] = nil
			}
		}
		w.Header().Set("Content-Type", "application/json")
		err := json.NewEncoder(w).Encode(map[string]any{
			"latitude": 50.1, "longitude": 8.7, "elevation": 120, "utc_offset_seconds": 0, "timezone": "GMT",
			"hourly_units": map[string]string{"time": "iso8601", "temperature_2m": "°C", "precipitation": "mm"},
			"hourly":       map[string]any{"time": at, "temperature_2m": temp, "precipitation": rain},
		})
		if err != nil {
			t.Error(err)
		}
	}))
	t.Cleanup(s.Close)
	return s
}

// A grower imports a file that names a service and a folder; the service fetches
// both, and goes on with what it has when the one is down.
func TestServeFetchesWeather(t *testing.T) {
	dir := t.TempDir()
	now := time.Now()
	yesterday := now.UTC().AddDate(0, 0, -1).Format(time.DateOnly)
	for name, text := range map[string]string{
		"readings.csv": "date,tmin,tmax\n" + yesterday + ",-3,4\n",
		"trees.yaml": `version: 1
site: {name: north bench, lat: 50.1, lon: 8.7, elevation: 120, tz: Europe/Berlin}
weather: {provider: open-meteo, folder: readings.csv}
benches: [{name: frame, exposure: cold frame}]
trees: [{name: ridge maple, species: Acer campestre, origin: collected, bench: frame, log: [{on: 2020-03-20, did: collected}]}]
grower: {name: Ada}
`,
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	db := "sqlite:" + filepath.Join(dir, "b.db")
	p, stdout, stderr := testProgram(now)
	if status := p.run(t.Context(), []string{"import", filepath.Join(dir, "trees.yaml"), "--db", db}); status != done {
		t.Fatalf("import ended with %d: %s", status, stderr)
	}
	key := ""
	for _, line := range strings.Split(stdout.String(), "\n") {
		if _, link, ok := strings.Cut(line, "/enter/"); ok {
			key = link
		}
	}
	var down atomic.Bool
	api := openMeteo(t, &down)
	flags := []string{"--db", db, "--contact", "keeper@trees.example", "--open-meteo-archive", api.URL, "--open-meteo-forecast", api.URL}
	page := func(args ...string) string {
		lines, stop := serve(t, now, append(flags, args...)...)
		defer stop()
		jar, err := cookiejar.New(nil)
		if err != nil {
			t.Fatal(err)
		}
		client := &http.Client{Jar: jar}
		base := strings.TrimSuffix(strings.TrimPrefix(lines[0], "page: "), "/")
		if _, body := get(t, client, base+"/enter/"+key); !strings.Contains(body, "ridge maple") {
			t.Fatalf("page:\n%s", body)
		}
		text := ""
		for range 100 { // until both were asked, ten seconds at most
			if _, text = get(t, client, base+"/places"); !strings.Contains(text, "It was not asked yet.") {
				break
			}
			time.Sleep(100 * time.Millisecond)
		}
		return text
	}
	// Nothing of the own machine is asked unless that is allowed.
	if text := page(); !strings.Contains(text, "It has not answered yet.") || !strings.Contains(text, "1 day from readings.csv (own reading)") {
		t.Errorf("page without a service:\n%s", text)
	}
	// As if a while had passed since.
	if err := forget(t, db); err != nil {
		t.Fatal(err)
	}
	text := page("--allow-private-hosts")
	for _, want := range []string{"days from Open-Meteo archive (analysis)", "days from Open-Meteo forecast (forecast)", "1 day from readings.csv (own reading)", "Weather data by Open-Meteo.com (CC BY 4.0)"} {
		if !strings.Contains(text, want) {
			t.Errorf("page does not say %q:\n%s", want, text)
		}
	}
	down.Store(true)
	if err := forget(t, db); err != nil {
		t.Fatal(err)
	}
	later := page("--allow-private-hosts")
	if !strings.Contains(later, "It has not answered since") || !strings.Contains(later, "days from Open-Meteo archive (analysis)") {
		t.Errorf("page of a service that is down:\n%s", later)
	}
}

// forget lets all sources be asked again as if they never were.
func forget(t *testing.T, dsn string) error {
	t.Helper()
	db, err := store.Open(t.Context(), dsn)
	if err != nil {
		return err
	}
	defer db.Close()
	all, err := db.WeatherSources(t.Context())
	if err != nil {
		return err
	}
	for _, w := range all {
		w.State.NotYet, w.State.Tried = time.Time{}, time.Time{}
		if err := db.Asked(t.Context(), w); err != nil {
			return err
		}
	}
	if len(all) != 2 {
		return fmt.Errorf("%d sources", len(all))
	}
	return nil
}

func TestWeatherFlags(t *testing.T) {
	for _, args := range [][]string{
		{"--open-meteo-archive", "ftp://x.example"}, {"--open-meteo-forecast", "https://"}, {"--met-norway", "https://x.example/?a=b"}, {"--contact", "a\r\nb: c"},
	} {
		p, stdout, stderr := testProgram(time.Now())
		if status := p.run(t.Context(), append([]string{"serve", "--db", "sqlite::memory:", "--addr", "127.0.0.1:0"}, args...)); status != wrongUsage || stdout.String() != "" {
			t.Errorf("%q: status %d: %s%s", args, status, stdout, stderr)
		}
	}
	f := weatherFlags{}
	if f.agent() != "budswell/1" {
		t.Errorf("agent %q", f.agent())
	}
	for kind, want := range map[string]string{
		calendar.SourceOpenMeteo: "Open-Meteo.com (CC BY 4.0)", calendar.SourceMETNorway: "MET Norway", calendar.SourceStation: "Station weather from x.example",
		calendar.SourceFolder: "Own readings", "unheard-of": "unheard-of",
	} {
		if got, _ := f.credit(calendar.WeatherSource{Kind: kind, At: "https://x.example/y.dly"}); !strings.Contains(got, want) {
			t.Errorf("%s: %q", kind, got)
		}
	}
	if v := chance(strings.NewReader("\xff\xff\xff\xff")); !(v > 0.99 && v < 1) {
		t.Errorf("chance %v", v)
	}
	if v := chance(strings.NewReader("")); v != 0.5 {
		t.Errorf("chance without randomness %v", v)
	}
}
