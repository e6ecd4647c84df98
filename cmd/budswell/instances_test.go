package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"budswell/calendar"
	"budswell/calendar/store"
	"budswell/calendar/store/storetest"
	"budswell/climate"
	"budswell/feeds"
)

// balancer is a proxy that hands requests to instances in turn.
type balancer struct {
	*httptest.Server
	mu     sync.Mutex
	behind []string // host:port
	next   int
	failed atomic.Int32
}

func newBalancer(t *testing.T) *balancer {
	b := &balancer{}
	proxy := &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			r.SetURL(&url.URL{Scheme: "http", Host: b.turn()})
			r.Out.Host = r.In.Host
		},
		ErrorHandler: func(w http.ResponseWriter, _ *http.Request, _ error) {
			b.failed.Add(1)
			w.WriteHeader(http.StatusBadGateway)
		},
	}
	b.Server = httptest.NewServer(proxy)
	t.Cleanup(b.Close)
	return b
}

func (b *balancer) turn() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.next++
	return b.behind[b.next%len(b.behind)]
}

func (b *balancer) use(addresses ...string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.behind = addresses
}

// instance is a process of its own that serves.
type instance struct {
	*exec.Cmd
	addr   string
	stderr *lockedBuffer
}

// present is this version of the command, which testscript.Main has put on the path.
const present = "budswell"

// launch starts a version of the command as a process.
func launch(t *testing.T, program, dsn, base string) *instance {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	i := &instance{addr: l.Addr().String(), stderr: &lockedBuffer{}}
	l.Close()
	i.Cmd = exec.Command(program, "serve", "--db", dsn, "--addr", i.addr, "--base", base, "--job-lease", "4s", "--webhooks", "none")
	stdout := &lockedBuffer{}
	i.Stdout, i.Stderr = stdout, i.stderr
	if err := i.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if i.ProcessState == nil {
			i.Process.Kill()
			i.Wait()
		}
	})
	until(t, time.Minute, "the instance serves", func() bool { return strings.Contains(stdout.String(), "page: ") })
	return i
}

func until(t *testing.T, most time.Duration, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(most); !is(); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("not in %v: %s", most, what)
		}
	}
}

// club fills a database with growers, each with a place and trees, and returns the
// secrets of the page and the feed of the first, and of the feed of the last.
func club(t *testing.T, s *store.Store, growers int) (key, feed, other string) {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	for i := range growers {
		id := fmt.Sprintf("grower-%03d", i)
		secret, hash, err := feeds.NewSecret(rand.Reader)
		must(err)
		must(s.PutGrower(t.Context(), calendar.Grower{ID: id, Name: id, KeyHash: hash}))
		// Each at a site of its own, or the morning would be over before another instance is up.
		site := climate.Site{Name: "bench", Lat: 50.1 + float64(i)/100, Lon: 8.7, Elevation: 120, Zone: "Europe/Berlin"}
		frost := &climate.FrostNormal{Last: climate.MonthDay{Month: 4, Day: 25}, First: climate.MonthDay{Month: 10, Day: 15}, Mean: 9, Range: 18}
		must(s.PutPlace(t.Context(), calendar.Place{ID: "north", Grower: id, Site: site, Weather: climate.Weather{Frost: frost}}))
		for _, name := range []string{"maple", "ash"} {
			must(s.PutTree(t.Context(), calendar.Kept{Grower: id, Place: "north", Tree: calendar.Tree{
				ID: name, Name: name, Species: map[string]string{"maple": "Acer campestre", "ash": "Fraxinus excelsior"}[name], Origin: calendar.Collected,
			}}))
		}
		token, tokenHash, err := feeds.NewSecret(rand.Reader)
		must(err)
		must(s.PutFeed(t.Context(), calendar.Feed{ID: "f", Grower: id, Name: "all", TokenHash: tokenHash, Created: time.Now()}))
		if i == 0 {
			key, feed = secret, token
		}
		other = token
	}
	return key, feed, other
}

// TestInstances runs two processes over one PostgreSQL database behind a proxy:
// they share a morning and each grower's is done once, also where a process is killed; who
// signs in or withdraws a link does so on both; feeds are the same bytes; and no
// request fails while a later version, with a migration, takes their place.
func TestInstances(t *testing.T) {
	dsn := storetest.Postgres(t)
	s, err := store.Open(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	db, err := sql.Open("pgx", dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	const growers = 48
	key, token, other := club(t, s, growers)
	// Each time that a morning is written down is noted.
	for _, q := range []string{
		"create table noted (job text, at timestamptz default clock_timestamp())",
		`create function note() returns trigger language plpgsql as $$ begin insert into noted (job) values (new.job); return new; end; $$`,
		"create trigger note after insert or update on jobs for each row execute function note()",
	} {
		if _, err := db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	recorded := func() (n int) {
		if err := db.QueryRow("select count(*) from noted").Scan(&n); err != nil {
			t.Error(err)
		}
		return n
	}
	b := newBalancer(t)
	began := time.Now()
	first := launch(t, present, dsn, b.URL)
	b.use(first.addr)
	until(t, time.Minute, "the first has done some mornings", func() bool { return recorded() >= 3 })
	second := launch(t, present, dsn, b.URL)
	if err := first.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	first.Wait()
	killed, at := recorded(), time.Now()
	if killed >= growers {
		t.Fatalf("all %d mornings were done before it was killed: more growers are needed", killed)
	}
	until(t, 2*time.Minute, "the second takes over", func() bool { return recorded() > killed })
	taken := time.Since(at)
	until(t, 2*time.Minute, "the second does the rest", func() bool { return recorded() >= growers })
	var jobs, most, overtaken, left int
	until(t, time.Minute, "all slices are given back", func() bool {
		err := db.QueryRow("select count(*) filter (where fence > 1), count(*) filter (where not done) from leases where job like 'mornings %'").Scan(&overtaken, &left)
		return err != nil || left == 0
	})
	if err := db.QueryRow("select count(*), max(n) from (select count(*) n from noted group by job) x").Scan(&jobs, &most); err != nil {
		t.Fatal(err)
	}
	if jobs != growers || most != 1 || overtaken > 1 || left > 0 {
		t.Errorf("%d mornings, one of them %d times, %d slices taken over, %d not done; want %d, each once, no more than that of the one killed taken over", jobs, most, overtaken, left, growers)
	}
	t.Logf("measured: instances: killed after %d of %d mornings, the other went on after %.1f s, each done once, all within %.1f s", killed, growers, taken.Seconds(), time.Since(began).Seconds())

	third := launch(t, present, dsn, b.URL)
	b.use(second.addr, third.addr)
	sameForAll(t, b, []string{second.addr, third.addr}, key, token)

	// Load that goes on while a later version takes the place of this one, instance
	// by instance; the first of them migrates.
	later := laterVersion(t)
	stop := load(t, b, key, other)
	time.Sleep(500 * time.Millisecond)
	fourth := launch(t, later, dsn, b.URL)
	b.use(third.addr, fourth.addr)
	second.retire(t)
	time.Sleep(2 * time.Second) // the two versions side by side
	for _, i := range []*instance{third, fourth} {
		if resp, body := get(t, http.DefaultClient, "http://"+i.addr+"/readyz"); !strings.Contains(body, "store: reachable") {
			t.Errorf("after the migration: %s %s", resp.Status, body)
		}
	}
	fifth := launch(t, later, dsn, b.URL)
	b.use(fourth.addr, fifth.addr)
	third.retire(t)
	time.Sleep(time.Second)
	requests, bad := stop()
	if len(bad) > 0 || b.failed.Load() > 0 {
		t.Errorf("of %d requests %d failed, %d at the proxy: %.5q", requests, len(bad), b.failed.Load(), bad)
	}
	if requests < 50 {
		t.Errorf("only %d requests: too little to tell", requests)
	}
	var mottos int
	if err := db.QueryRow("select count(*) from growers where motto = ''").Scan(&mottos); err != nil || mottos != growers {
		t.Errorf("the migration did not run: %d, %v", mottos, err)
	}
	t.Logf("measured: instances: %d requests while a later version with a migration took over from two instances, %d failed", requests, len(bad))
}

// retire stops an instance that the proxy hands nothing to any more.
func (i *instance) retire(t *testing.T) {
	t.Helper()
	time.Sleep(200 * time.Millisecond) // what was handed to it has arrived
	if err := i.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := i.Wait(); err != nil {
		t.Errorf("the retired instance ended with %v: %s", err, i.stderr)
	}
}

// laterVersion builds the command as a later version: with one more migration,
// which adds. Nothing is written into the source tree.
func laterVersion(t *testing.T) (program string) {
	t.Helper()
	dir := t.TempDir()
	store, err := filepath.Abs("../../calendar/store/migrations/postgres/9999_mottos.sql")
	if err != nil {
		t.Fatal(err)
	}
	migration := filepath.Join(dir, "mottos.sql")
	writeFile(t, migration, `-- +goose Up
alter table growers add column motto text collate "C" not null default '';
alter table sessions add column device text collate "C";
create index growers_by_motto on growers (motto);
create table mottos (grower text collate "C" primary key references growers (id) deferrable, words text collate "C" not null);
`)
	overlay, err := json.Marshal(map[string]map[string]string{"Replace": {store: migration}})
	if err != nil {
		t.Fatal(err)
	}
	writeFile(t, filepath.Join(dir, "overlay.json"), string(overlay))
	program = filepath.Join(dir, "later")
	build := exec.Command("go", "build", "-overlay", filepath.Join(dir, "overlay.json"), "-o", program, ".")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build a later version: %v\n%s", err, out)
	}
	return program
}

var formToken = regexp.MustCompile(`name="_csrf"[^>]*value="([^"]+)"`)

// sameForAll signs in at one instance and goes on at the other.
func sameForAll(t *testing.T, b *balancer, addrs []string, key, token string) {
	t.Helper()
	jar, _ := cookiejar.New(nil)
	client := &http.Client{Jar: jar}
	for range 4 {
		resp, body := get(t, client, b.URL+"/enter/"+key)
		if resp.StatusCode != http.StatusOK || !strings.Contains(body, "maple") {
			t.Fatalf("sign-in: %s %.300s", resp.Status, body)
		}
		for range 4 {
			if resp, body := get(t, client, b.URL+"/"); resp.StatusCode != http.StatusOK || !strings.Contains(body, "maple") {
				t.Fatalf("signed in on one, and not on the other: %s %.300s", resp.Status, body)
			}
		}
	}
	var bodies, tags []string
	for _, addr := range addrs {
		resp, body := get(t, http.DefaultClient, "http://"+addr+"/f/"+token+".ics")
		if resp.StatusCode != http.StatusOK || !strings.Contains(body, "BEGIN:VEVENT") {
			t.Fatalf("feed of %s: %s %.200s", addr, resp.Status, body)
		}
		bodies, tags = append(bodies, body), append(tags, resp.Header.Get("ETag"))
	}
	if bodies[0] != bodies[1] || tags[0] != tags[1] {
		t.Errorf("the two serve other bytes: %d and %d of them, tags %v", len(bodies[0]), len(bodies[1]), tags)
	}

	// Revoked on one, gone on the other at once; so is the session.
	post := func(addr, path string, form url.Values) *http.Response {
		t.Helper()
		_, page := get(t, client, b.URL+"/")
		found := formToken.FindStringSubmatch(page)
		if found == nil {
			t.Fatalf("no form on the page: %.500s", page)
		}
		form.Set("_csrf", found[1])
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "http://"+addr+path, strings.NewReader(form.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		proxy, _ := url.Parse(b.URL)
		req.Host = proxy.Host
		for _, c := range jar.Cookies(proxy) {
			req.AddCookie(c)
		}
		resp, err := http.DefaultTransport.RoundTrip(req)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		return resp
	}
	if resp := post(addrs[0], "/feeds/f/revoke", url.Values{}); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("revoke: %s", resp.Status)
	}
	if _, body := get(t, http.DefaultClient, "http://"+addrs[1]+"/f/"+token+".ics"); !strings.Contains(body, "was withdrawn") || strings.Contains(body, "maple") {
		t.Errorf("withdrawn on one, and on the other %s", body)
	}
	if resp := post(addrs[1], "/leave", url.Values{}); resp.StatusCode != http.StatusSeeOther {
		t.Fatalf("leave: %s", resp.Status)
	}
	req, _ := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+addrs[0]+"/", nil)
	proxy, _ := url.Parse(b.URL)
	for _, c := range jar.Cookies(proxy) {
		req.AddCookie(c)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	var page bytes.Buffer
	page.ReadFrom(resp.Body)
	if strings.Contains(page.String(), "maple") {
		t.Error("signed out on one, and still in on the other")
	}
}

// load signs in and reads all the time, until stop is called, which
// returns how many requests there were and what failed.
func load(t *testing.T, b *balancer, key, feed string) (stop func() (int, []string)) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	var wait sync.WaitGroup
	var n atomic.Int32
	var mu sync.Mutex
	var bad []string
	for range 3 {
		wait.Go(func() {
			jar, _ := cookiejar.New(nil)
			client := &http.Client{Jar: jar}
			for ctx.Err() == nil {
				for _, path := range []string{"/enter/" + key, "/account", "/healthz", "/account", "/f/" + feed + ".ics", "/account"} {
					resp, err := client.Get(b.URL + path)
					n.Add(1)
					if err == nil {
						resp.Body.Close()
						if resp.StatusCode == http.StatusOK {
							continue
						}
						err = fmt.Errorf("%s", resp.Status)
					}
					mu.Lock()
					bad = append(bad, path+": "+err.Error())
					mu.Unlock()
				}
			}
		})
	}
	return func() (int, []string) {
		cancel()
		wait.Wait()
		return int(n.Load()), bad
	}
}
