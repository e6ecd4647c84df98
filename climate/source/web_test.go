package source

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"budswell/climate"
)

var (
	bench = climate.Site{Name: "bench", Lat: 47.123456, Lon: 8.654321, Elevation: 500, Zone: "Europe/Zurich"}
	noon  = time.Date(2026, 3, 20, 12, 0, 0, 0, time.UTC)
)

// serving returns a way to ask a server that answers with h.
func serving(t *testing.T, h http.HandlerFunc) (Web, string) {
	t.Helper()
	s := httptest.NewServer(h)
	t.Cleanup(s.Close)
	return Web{Client: &http.Client{Timeout: 500 * time.Millisecond, Transport: s.Client().Transport}, Agent: "budswell/1 keeper@trees.example"}, s.URL
}

func plain(h http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		h(w, r)
	}
}

func answers(body string) http.HandlerFunc {
	return plain(func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, body) })
}

func packed(t testing.TB, text []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if _, err := z.Write(text); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// What any web service may do wrong, with what is to be told of it.
func TestWebServicesThatMisbehave(t *testing.T) {
	late, done := make(chan struct{}), make(chan struct{})
	t.Cleanup(func() { close(done) })
	hang := func(r *http.Request) {
		select {
		case <-r.Context().Done():
		case <-done:
		}
	}
	for name, c := range map[string]struct {
		h    http.HandlerFunc
		says string
	}{
		"an error":                  {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(500) }, "answers 500"},
		"a page":                    {func(w http.ResponseWriter, _ *http.Request) { fmt.Fprint(w, "<html>") }, `media type "text/html; charset=utf-8": want application/json`},
		"no media type":             {func(w http.ResponseWriter, _ *http.Request) { w.Header()["Content-Type"] = nil; fmt.Fprint(w, "{}") }, `media type ""`},
		"too much":                  {answers(strings.Repeat(" ", 2000)), "more than 0 MB"},
		"too much unpacked":         {bomb(t, 1<<20), "more than 0 MB"},
		"nothing modified, unasked": {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(304) }, "answers 304"},
		"a slow answer":             {plain(func(_ http.ResponseWriter, r *http.Request) { close(late); hang(r) }), "Timeout exceeded"},
		"a slow body": {plain(func(w http.ResponseWriter, r *http.Request) {
			fmt.Fprint(w, "{")
			w.(http.Flusher).Flush()
			hang(r)
		}), "breaks off"},
		"less than announced": {plain(func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Length", "100")
			fmt.Fprint(w, "{}")
		}), "breaks off"},
		"broken gzip": {plain(func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Encoding", "gzip")
			fmt.Fprint(w, "not gzip")
		}), "breaks off"},
		"a broken line": {func(w http.ResponseWriter, _ *http.Request) {
			c, _, err := w.(http.Hijacker).Hijack()
			if err == nil {
				c.Close()
			}
		}, "EOF"},
	} {
		t.Run(name, func(t *testing.T) {
			web, url := serving(t, c.h)
			_, err := web.get(context.Background(), url+"/?lat=47.1234", noon, "", 1000, "application/json")
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Fatalf("error %v, want it to say %q", err, c.says)
			}
			if strings.Contains(err.Error(), "47.1234") {
				t.Errorf("error %q tells where the place is", err)
			}
		})
	}
	select {
	case <-late:
	default:
		t.Error("the slow one was not asked")
	}
}

func bomb(t *testing.T, size int) http.HandlerFunc {
	text := packed(t, make([]byte, size))
	return plain(func(w http.ResponseWriter, r *http.Request) {
		if !strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
			t.Error("gzip is not asked for")
		}
		w.Header().Set("Content-Encoding", "gzip")
		_, _ = w.Write(text)
	})
}

func TestWaitingAndRefusing(t *testing.T) {
	for _, c := range []struct {
		code  int
		retry string
		until time.Time
	}{
		{429, "120", noon.Add(2 * time.Minute)},
		{429, "Fri, 20 Mar 2026 15:00:00 GMT", noon.Add(3 * time.Hour)},
		{429, "", noon.Add(time.Hour)},
		{429, "soon", noon.Add(time.Hour)},
		{429, "-5", noon.Add(time.Minute)},
		{503, "0", noon.Add(time.Minute)},
		{503, "999999999", noon.Add(7 * 24 * time.Hour)},
		{429, "Fri, 20 Mar 1999 15:00:00 GMT", noon.Add(time.Minute)},
	} {
		web, url := serving(t, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", c.retry)
			w.WriteHeader(c.code)
		})
		_, err := web.get(context.Background(), url, noon, "", 10, "application/json")
		var later *climate.Later
		if !errors.As(err, &later) || !later.Until.Equal(c.until) {
			t.Errorf("%d, Retry-After %q: %v, want %v", c.code, c.retry, err, c.until)
		}
	}
	for _, code := range []int{400, 401, 403, 404, 410, 422} {
		web, url := serving(t, plain(func(w http.ResponseWriter, _ *http.Request) {
			w.WriteHeader(code)
			fmt.Fprint(w, `{"error":true,"reason":"Parameter 'x'\u001b[31m is \u0000wrong"}`)
		}))
		_, err := web.get(context.Background(), url, noon, "", 10, "application/json")
		var refused *climate.Refused
		if !errors.As(err, &refused) || !strings.HasSuffix(err.Error(), ": Parameter 'x'[31m is wrong") {
			t.Errorf("%d: %v", code, err)
		}
	}
}

func TestExpiry(t *testing.T) {
	for text, want := range map[string]time.Time{
		"Fri, 20 Mar 2026 12:31:00 GMT": noon.Add(31 * time.Minute),
		"Fri, 20 Mar 2099 12:31:00 GMT": noon.Add(48 * time.Hour),
		"Fri, 20 Mar 2026 12:00:00 GMT": {},
		"0":                             {},
		"":                              {},
	} {
		if got := expiry(http.Header{"Expires": {text}}, noon); !got.Equal(want) {
			t.Errorf("%q: %v, want %v", text, got, want)
		}
	}
}
