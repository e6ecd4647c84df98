package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"io"
	"net/http"
	"net/http/cookiejar"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"budswell/calendar/store"
	"budswell/feeds/ics/icstest"
)

// lockedBuffer may be written to while it is read.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// serve runs the service until stop is called, and returns the lines it printed.
func serve(t *testing.T, now time.Time, args ...string) (lines []string, stop func()) {
	t.Helper()
	p, stdout, stderr := testProgram(now)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan int, 1)
	go func() { ended <- p.run(ctx, append([]string{"serve", "--addr", "127.0.0.1:0"}, args...)) }()
	deadline := time.After(time.Minute)
	for !strings.Contains(stdout.String(), "page: ") {
		select {
		case status := <-ended:
			t.Fatalf("serve ended with %d: %s", status, stderr)
		case <-deadline:
			t.Fatalf("serve is not ready: %s", stderr)
		case <-time.After(10 * time.Millisecond):
		}
	}
	return strings.Split(strings.TrimSpace(stdout.String()), "\n"), func() {
		cancel()
		if status := <-ended; status != done {
			t.Errorf("serve ended with %d: %s", status, stderr)
		}
	}
}

func get(t *testing.T, client *http.Client, url string, header ...string) (*http.Response, string) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	resp, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return resp, string(body)
}

func TestServeDemo(t *testing.T) {
	lines, stop := serve(t, time.Date(2027, 4, 12, 8, 0, 0, 0, time.UTC), "--demo")
	defer stop()
	jar, _ := cookiejar.New(nil)
	client := &http.Client{Jar: jar}
	feeds := 0
	for _, line := range lines {
		kind, url, _ := strings.Cut(line, ": ")
		resp, body := get(t, client, url)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s answers %d: %s", line, resp.StatusCode, body)
		}
		switch kind {
		case "page":
			if !strings.Contains(body, "ridge maple") {
				t.Errorf("the page does not show the demo's trees")
			}
		case "feed":
			feeds++
			if !strings.HasPrefix(body, "BEGIN:VCALENDAR\r\n") || !strings.Contains(body, "BEGIN:VEVENT") {
				t.Errorf("%s is no feed with events", url)
			}
			if resp, _ := get(t, client, url, "If-None-Match", resp.Header.Get("ETag")); resp.StatusCode != http.StatusNotModified {
				t.Errorf("%s answers %d to its own ETag", url, resp.StatusCode)
			}
		default:
			t.Errorf("line %q is neither page nor feed", line)
		}
	}
	if feeds < 3 {
		t.Errorf("%d feeds", feeds)
	}
}

// TestImportThenServe: a file goes into a database, is served, and keeps its
// links, UIDs and bytes over a restart and a second import; what was logged
// moves the feed.
func TestImportThenServe(t *testing.T) {
	now := time.Date(2027, 4, 12, 8, 0, 0, 0, time.UTC)
	dir := t.TempDir()
	db := "sqlite:" + filepath.Join(dir, "trees.db")
	file := func(name, log string) string {
		path := filepath.Join(dir, name)
		writeFile(t, path, `version: 1
site: {name: cool bench, lat: 55.5, lon: -3.2, elevation: 60}
weather: {normals: {tmin: [1.5,1.5,2.5,4,6.5,9.5,11.5,11.3,9.3,6.5,3.7,1.7], tmax: [7,7.5,9.5,12,15,17.5,19.3,19,16.5,13,9.5,7.2]}}
grower: {name: Test Grower}
feeds: [{name: everything}]
trees:
  - {name: one, species: Acer campestre, origin: nursery, log: [`+log+`]}
`)
		return path
	}
	put := func(path string) string {
		p, stdout, stderr := testProgram(now)
		if status := p.run(t.Context(), []string{"import", path, "--db", db, "--base", "http://test.example"}); status != done {
			t.Fatalf("import: status %d: %s", status, stderr)
		}
		return stdout.String()
	}
	first := put(file("first.yaml", "{on: 2025-04-01, did: repot}"))
	link := regexp.MustCompile(`feed: http://test\.example(/f/\S+)`).FindStringSubmatch(first)
	if link == nil {
		t.Fatalf("import printed %q", first)
	}
	read := func() string {
		lines, stop := serve(t, now, "--db", db)
		defer stop()
		resp, body := get(t, http.DefaultClient, strings.TrimSuffix(strings.TrimPrefix(lines[0], "page: "), "/")+link[1])
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("feed answers %d: %s", resp.StatusCode, body)
		}
		// The address of the page has the port of this run.
		return regexp.MustCompile(`(?m)^URL:.*\r\n`).ReplaceAllString(body, "")
	}
	before := read()
	if again := put(file("first.yaml", "{on: 2025-04-01, did: repot}")); strings.Contains(again, "/f/") || strings.Contains(again, "/enter/") {
		t.Errorf("a second import made new links: %s", again)
	}
	if !strings.Contains(before, "SUMMARY:") {
		t.Fatalf("no events: %s", before)
	}
	uids := func(s string) map[string]bool {
		out := map[string]bool{}
		for _, m := range regexp.MustCompile(`(?m)^UID:(\S+)`).FindAllStringSubmatch(s, -1) {
			out[m[1]] = true
		}
		return out
	}
	// The service sees what another process imports while it runs.
	lines, stop := serve(t, now, "--db", db)
	running := strings.TrimSuffix(strings.TrimPrefix(lines[0], "page: "), "/") + link[1]
	old, _ := get(t, http.DefaultClient, running)
	put(file("second.yaml", "{on: 2025-04-01, did: repot}, {on: 2027-04-11, saw: bud-swell}"))
	if resp, _ := get(t, http.DefaultClient, running, "If-None-Match", old.Header.Get("ETag")); resp.StatusCode != http.StatusOK {
		t.Errorf("after an import a running service answers %d to the ETag of before", resp.StatusCode)
	}
	stop()
	after := read()
	if after == before {
		t.Error("a sighting does not move the feed")
	}
	kept := 0
	for uid := range uids(before) {
		if uids(after)[uid] {
			kept++
		}
	}
	if kept*10 < len(uids(before))*8 {
		t.Errorf("only %d of %d UIDs stay", kept, len(uids(before)))
	}
}

// TestImportKeepsPeopleApart: a file does not take over another person's
// account, nor a region of another name, and a withdrawn feed stays withdrawn.
func TestImportKeepsPeopleApart(t *testing.T) {
	now := time.Date(2027, 4, 12, 8, 0, 0, 0, time.UTC)
	dir := t.TempDir()
	db := filepath.Join(dir, "trees.db")
	put := func(head string, flags ...string) (int, string, string) {
		path := filepath.Join(dir, "trees.yaml")
		writeFile(t, path, "version: 1\nsite: {name: bench, lat: 50, lon: 8}\nweather: {frost: {last: 04-25, first: 10-15, mean: 9.8, range: 18}}\n"+head+"\ntrees: []\n")
		p, stdout, stderr := testProgram(now)
		p.random = rand.Reader // links of two people differ
		status := p.run(t.Context(), append([]string{"import", path, "--db", "sqlite:" + db}, flags...))
		return status, stdout.String(), stderr.String()
	}
	first := "grower: {name: Same Name, email: one@example.org}\nregion: {id: valley, name: The Valley}\nfeeds: [{name: all}]"
	if status, out, errs := put(first); status != done || !strings.Contains(out, "/f/") {
		t.Fatalf("status %d: %s%s", status, out, errs)
	}
	if status, _, errs := put("grower: {name: Same Name, email: two@example.org}"); status != failed || !strings.Contains(errs, "another mail address") {
		t.Errorf("a second person of the same name: status %d: %s", status, errs)
	}
	if status, out, errs := put("grower: {name: Same Name, email: two@example.org}", "--grower", "second"); status != done || !strings.Contains(out, "/enter/") {
		t.Errorf("a second person under an id of their own: status %d: %s%s", status, out, errs)
	}
	if status, _, errs := put("grower: {name: Other}\nregion: {id: valley, name: Taken Over}"); status != failed || !strings.Contains(errs, "valley") {
		t.Errorf("a region of another name: status %d: %s", status, errs)
	}

	s, err := store.Open(t.Context(), "sqlite:"+db)
	if err != nil {
		t.Fatal(err)
	}
	feeds, err := s.Feeds(t.Context(), "same-name")
	if err != nil || len(feeds) != 1 {
		t.Fatalf("feeds %v, %v", feeds, err)
	}
	if err := errors.Join(s.RevokeFeed(t.Context(), "same-name", feeds[0].ID, now), s.Close()); err != nil {
		t.Fatal(err)
	}
	if status, out, errs := put(first); status != done || strings.Contains(out, "/f/") {
		t.Errorf("a withdrawn feed came back: status %d: %s%s", status, out, errs)
	}
	if status, out, errs := put(first, "--renew"); status != done || !strings.Contains(out, "/f/") {
		t.Errorf("renewed links: status %d: %s%s", status, out, errs)
	}
}

// TestPlanFeedIsValid: the feed that the plan command prints passes the same
// strict checks as the service's.
func TestPlanFeedIsValid(t *testing.T) {
	path := filepath.Join(t.TempDir(), "trees.yaml")
	writeFile(t, path, `version: 1
site: {name: cool bench, lat: 55.5, lon: -3.2, elevation: 60}
weather: {frost: {last: 04-25, first: 10-15, mean: 9.8, range: 14}}
trees:
  - {name: "one, two; \"three\" \\ four", species: Acer campestre, origin: nursery}
  - {name: Föhre 🌲, species: Pinus sylvestris, origin: collected, log: [{on: 2024-04-10, did: collected}]}
`)
	p, stdout, stderr := testProgram(time.Date(2027, 3, 1, 8, 0, 0, 0, time.UTC))
	if status := p.run(t.Context(), []string{"plan", path, "--ics"}); status != done {
		t.Fatalf("status %d: %s", status, stderr)
	}
	icstest.Check(t, map[string][]byte{"plan": []byte(stdout.String())})
}

// TestServeMetricsApart: on their own address, and nowhere else.
func TestServeMetricsApart(t *testing.T) {
	lines, stop := serve(t, time.Date(2027, 4, 12, 8, 0, 0, 0, time.UTC), "--demo", "--metrics-addr", "127.0.0.1:0", "--trust-proxy", "127.0.0.1/32,10.0.0.0/8")
	defer stop()
	at := func(line int, name string) string {
		address, ok := strings.CutPrefix(lines[line], name+": ")
		if !ok {
			t.Fatalf("line %d is %q, want %s", line, lines[line], name)
		}
		return address
	}
	resp, body := get(t, http.DefaultClient, at(0, "metrics"))
	if resp.StatusCode != http.StatusOK || !strings.Contains(body, "budswell_store_up 1") || !strings.Contains(body, "budswell_weather_records 4") {
		t.Errorf("metrics: %s\n%s", resp.Status, body)
	}
	base, _, _ := strings.Cut(at(1, "page"), "/enter/")
	if resp, body := get(t, http.DefaultClient, base+"/readyz"); resp.StatusCode != http.StatusOK || !strings.Contains(body, "weather: 4 of 4 places have a record") {
		t.Errorf("readyz: %s\n%s", resp.Status, body)
	}
	if resp, _ := get(t, http.DefaultClient, base+"/metrics"); resp.StatusCode != http.StatusNotFound {
		t.Errorf("metrics at the public address: %s", resp.Status)
	}
}
