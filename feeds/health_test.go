package feeds

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"budswell/calendar"
	"budswell/climate"
)

func TestReady(t *testing.T) {
	b := newBed(t)
	for _, c := range []struct {
		name   string
		do     func()
		status int
		words  string
	}{
		{"at first", func() {}, 200, "ready\nstore: reachable, its schema is current\nmornings: 0 of 1 places late, 1 not yet planned\nweather: no place has a record\n"},
		{"after the morning", func() { b.must(b.store.Ran(b.ctx(), "morning ada/north", b.now())) }, 200, "0 of 1 places late, 0 not yet planned"},
		{"the next day", func() { b.set(b.now().Add(lateMorning)) }, 200, "0 of 1 places late"},
		{"a morning was missed", func() { b.set(b.now().Add(time.Second)) }, 503, "not ready\nstore: reachable, its schema is current\nmornings: 1 of 1 places late"},
		{"made up for", func() { b.must(b.store.Ran(b.ctx(), "morning ada/north", b.now())) }, 200, "0 of 1 places late"},
		{"with weather", func() {
			p, err := b.store.Place(b.ctx(), "ada", "north")
			b.must(err)
			p.Weather.Record = &climate.Record{Source: "s", First: climate.DateOf(b.now()) - 9, Days: make([]climate.Day, 5)}
			b.must(b.store.PutPlace(b.ctx(), p))
		}, 200, "weather: 1 of 1 places have a record; the oldest goes up to 2027-02-25, 5 days ago"},
		{"the store is gone", func() { b.must(b.store.(io.Closer).Close()) }, 503, "not ready\nstore: cannot be used; the log says why\n"},
	} {
		c.do()
		a := b.get("/readyz")
		if a.StatusCode != c.status || !strings.Contains(a.text, c.words) || a.Header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %s %q, want %d %q", c.name, a.Status, a.text, c.status, c.words)
		}
		if strings.Contains(a.text, "ada") {
			t.Errorf("%s: it names a grower", c.name)
		}
		if a := b.get("/healthz"); a.StatusCode != 200 || a.text != "ok\n" {
			t.Errorf("%s: the process is not alive: %s", c.name, a.Status)
		}
	}
}

func TestMetrics(t *testing.T) {
	b := accountBed(t)
	secret := b.addFeed("ada", "f", calendar.Filter{})
	first := b.get("/f/" + secret)
	b.get("/f/"+secret, "If-None-Match", first.Header.Get("ETag"))
	b.get("/f/" + strings.Repeat("a", 32))
	b.get("/nowhere/" + secret)
	b.send(b.newClient(), "BREW", "/", nil)
	b.signIn(b.newClient(), "ada@example.org", another)
	_, err := b.store.Decide(b.ctx(), []calendar.Nudge{{ID: "n", Grower: "ada", Deliveries: []calendar.Delivery{{ID: "n mail", Channel: calendar.ByMail, To: "ada@example.org"}}, Subjects: []string{"s"}, Decided: b.now()}})
	b.must(err)
	failing := b.server.Timed("morning", func(context.Context, string, []calendar.Place, time.Time) error { return errors.New("no") })
	if failing(b.ctx(), "ada", nil, b.now()) == nil {
		t.Error("a failure is swallowed")
	}
	b.must(b.server.Timed("morning", b.server.Morning)(b.ctx(), "ada", nil, b.now()))

	w := httptest.NewRecorder()
	b.server.Metrics().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/", nil))
	got := w.Body.String()
	for _, want := range []string{
		`budswell_feed_answers_total{how="sent"} 1`,
		`budswell_feed_answers_total{how="unchanged"} 1`,
		`budswell_feed_answers_total{how="404"} 1`,
		`budswell_http_requests_total{code="304",host="",method="GET",url="/f/:token"} 1`,
		`method="other"`,
		`budswell_outbox_waiting 1`,
		`budswell_weather_records 0`,
		`budswell_store_up 1`,
		`budswell_secrets_refused_total 1`,
		`budswell_job_seconds_count{job="morning",outcome="done"} 1`,
		`budswell_job_seconds_count{job="morning",outcome="failed"} 1`,
		`budswell_plan_seconds_count`,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("metrics lack %s", want)
		}
	}
	for _, never := range []string{secret, "BREW", "nowhere", "ada@"} {
		if strings.Contains(got, never) {
			t.Errorf("metrics hold %q", never)
		}
	}
	if a := b.get("/metrics"); a.StatusCode != http.StatusNotFound {
		t.Errorf("the public address shows metrics: %s", a.Status)
	}
}

// TestEveryLineOfARequestHasItsID, also those that are logged deep inside.
func TestEveryLineOfARequestHasItsID(t *testing.T) {
	b := accountBed(t)
	b.server.echo.GET("/fails", func(c echo.Context) error {
		b.server.cfg.Log.WarnContext(c.Request().Context(), "deep inside")
		panic("on purpose")
	})
	b.send(b.newClient(), http.MethodGet, "/fails", nil, "X-Request-Id", "seen-outside")
	b.send(b.newClient(), http.MethodPost, "/sign-in", map[string][]string{"mail": {"ada@example.org"}, "password": {another}},
		"Sec-Fetch-Site", "same-origin", "X-Request-Id", "second")
	lines := strings.Split(strings.TrimSpace(b.log.String()), "\n")
	if len(lines) != 5 {
		t.Errorf("%d lines, want 5:\n%s", len(lines), &b.log)
	}
	for i, line := range lines {
		want := "id=seen-outside"
		if i >= 3 {
			want = "id=second"
		}
		if strings.Count(line, " id=") != 1 || !strings.Contains(line, want) {
			t.Errorf("line %d lacks %s: %s", i, want, line)
		}
	}
}

// So do those that planning and publishing log.
func TestLinesOfPlanningHaveTheRequestsID(t *testing.T) {
	b := newBed(t)
	feed := "/f/" + b.addFeed("ada", "f", calendar.Filter{})
	b.get(feed)
	b.open()
	b.fail.Store(true)
	b.set(b.now().Add(24 * time.Hour))
	for path, words := range map[string]string{feed: "the last one is served", "/": "the last one is shown"} {
		b.log.Reset()
		b.send(b.client, http.MethodGet, path, nil, "X-Request-Id", "asked")
		found := false
		for _, line := range strings.Split(b.log.String(), "\n") {
			found = found || strings.Contains(line, words) && strings.Contains(line, "id=asked")
		}
		if !found {
			t.Errorf("%s: no line with %q and the id in\n%s", path, words, &b.log)
		}
	}
}

func TestErrorsTellNothingOfTheInside(t *testing.T) {
	b := newBed(t)
	b.must(b.store.(io.Closer).Close())
	a := b.get("/f/" + strings.Repeat("a", 32))
	if a.StatusCode != http.StatusInternalServerError || regexp.MustCompile(`(?i)sql|database|closed|goroutine|\.go`).MatchString(a.text) {
		t.Errorf("%s: %s", a.Status, a.text)
	}
}

// sharedLog may be written to while it is read.
type sharedLog struct {
	mu sync.Mutex
	b  strings.Builder
}

func (l *sharedLog) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *sharedLog) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

// serveBed serves a bed as the command does, until stop.
func serveBed(t *testing.T, b *bed) (address string, stop func() time.Duration) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	b.must(err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- b.server.Serve(ctx, l) }()
	return l.Addr().String(), func() time.Duration {
		began := time.Now()
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("Serve: %v", err)
		}
		return time.Since(began)
	}
}

// TestStopLetsRequestsFinishAndCutsOffTheRest: one that is quick gets its answer, a stream that
// never ends and a reader that takes nothing are cut off in time.
func TestStopLetsRequestsFinishAndCutsOffTheRest(t *testing.T) {
	log := &sharedLog{}
	b := newBed(t, func(c *Config) { c.Log = slog.New(slog.NewTextHandler(log, nil)) })
	b.server.stopTime = 300 * time.Millisecond
	began := make(chan string, 3)
	b.server.echo.GET("/quick", func(c echo.Context) error {
		began <- "quick"
		time.Sleep(100 * time.Millisecond)
		return c.String(http.StatusOK, "all of it")
	})
	b.server.echo.GET("/stream", func(c echo.Context) error {
		c.Response().Header().Set("Content-Type", "text/event-stream")
		began <- "stream"
		for {
			if _, err := fmt.Fprint(c.Response(), "data: x\n\n"); err != nil {
				return err
			}
			c.Response().Flush()
			time.Sleep(5 * time.Millisecond)
		}
	})
	b.server.echo.GET("/large", func(c echo.Context) error {
		began <- "large"
		return c.Blob(http.StatusOK, "text/plain", make([]byte, 64<<20))
	})
	address, stop := serveBed(t, b)
	answers := make(chan string, 1)
	for _, path := range []string{"/quick", "/stream", "/large"} {
		conn, err := net.Dial("tcp", address)
		b.must(err)
		t.Cleanup(func() { _ = conn.Close() })
		_, err = fmt.Fprintf(conn, "GET %s HTTP/1.1\r\nHost: x\r\n\r\n", path)
		b.must(err)
		if path == "/quick" {
			go func() {
				resp, err := http.ReadResponse(bufio.NewReader(conn), nil)
				if err != nil {
					answers <- err.Error()
					return
				}
				text, _ := io.ReadAll(resp.Body)
				answers <- string(text)
			}()
		}
	}
	for range 3 {
		<-began
	}
	if took := stop(); took > 5*time.Second {
		t.Errorf("stopping took %v", took)
	}
	if got := <-answers; got != "all of it" {
		t.Errorf("the quick request got %q", got)
	}
	if !strings.Contains(log.String(), "requests were cut off") {
		t.Errorf("the log does not say so: %s", log)
	}
}
